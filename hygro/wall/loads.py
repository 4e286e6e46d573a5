"""Hourly loads of a wall as plain arrays: both surfaces of one shape, gaps, leaks, air flow.

Owns the step from climate and room to arrays; knows no grid and no solver. Instantaneous
quantities stand at N+1 instants and are linear in between; hourly means stand for N hours.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from hygro.constants import STEFAN_BOLTZMANN
from hygro.errors import InputError
from hygro.room.climate import indoor_climate
from hygro.room.models import Room
from hygro.room.time import Outdoor
from hygro.wall.air import Hours, gap_rate_of, leak_rate
from hygro.wall.leaks import AirLeak, RainLeak, Source, Wetting
from hygro.wall.wall import Wall

Array = NDArray[np.float64]
LEWIS = 7e-9
"""Vapour over heat transfer coefficient in air, EN 15026 (from memory). [kg·K/(J·Pa)]"""
FIRST_HOUR = "the first hour starts from the outdoor state at its end"
INDOOR_CONVECTION = 2.5
"""Convective part of the indoor coefficient, ISO 6946 (from memory). [W/(m²·K)]"""


@dataclass(frozen=True)
class Loads:
    """Loads over N hours.

    Attributes
    ----------
    time : (N+1,) datetime64
    instant : (N+1, 2, 4) outdoors and indoors: temperature [K], vapour pressure [Pa], heat transfer
        coefficient [W/(m²·K)], vapour transfer coefficient [kg/(m²·s·Pa)]
    mean : (N, 2, 2) absorbed radiation [W/m²], rain striking the surface [kg/(m²·s)]
    gap_rate : (N, gaps) air exchange [m³/(s·m²)]
    wind : (N,) wind speed [m/s]
    source : (N, sources) rain leaks and wettings [kg/(m²·s)], air leaks [m³/(s·m²)], in the order
        of `Leaks.all`
    air : (N,) through flow [m³/(s·m²)]
    assumptions : what was assumed on the way
    """

    time: NDArray[np.datetime64]
    instant: Array
    mean: Array
    gap_rate: Array
    wind: Array
    source: Array
    air: Array
    assumptions: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse gaps and wrong shapes; raises `InputError`."""
        for name in ("instant", "mean", "gap_rate", "wind", "source", "air"):
            values = getattr(self, name)
            if not np.isfinite(values).all():
                hour = int(np.argwhere(~np.isfinite(values))[0][0])
                raise InputError(
                    f"loads: '{name}' has a missing value at hour {hour} ({self.time[hour]}); "
                    "fill the gap in the climate first"
                )
        if len(self.time) != len(self.instant) or len(self.mean) != len(self.time) - 1:
            raise InputError(
                f"loads: {len(self.time)} instants, {len(self.instant)} samples, {len(self.mean)} "
                "hours; need N+1, N+1, N"
            )

    @property
    def hours(self) -> int:
        """Number of hours."""
        return len(self.mean)


def build_loads(wall: Wall, climate: xr.Dataset, room: Room) -> Loads:
    """Loads of a wall in a climate with a room behind it.

    The canonical climate stamps the end of each hour; the first hour starts from its own end state,
    so that N stamps give N hours.
    """
    outdoor_T = _instants(climate["temperature"].values)
    outdoor_p = _instants(climate["vapour_pressure"].values)
    time = climate["time"].values.astype("datetime64[ns]")
    time = np.concatenate([[time[0] - np.timedelta64(1, "h")], time])
    indoor = indoor_climate(
        room, Outdoor(time=time, temperature=outdoor_T, vapour_pressure=outdoor_p)
    )
    wind = np.asarray(climate["wind_speed"].values, dtype=float)
    plane = _plane(wall, climate)
    radiation = wall.outside.absorptance * plane["solar"].values
    if wall.outside.emissivity > 0:
        radiation = radiation + wall.outside.emissivity * plane["longwave_in"].values
    rain = plane["driving_rain"].values if wall.outside.rain_method else np.zeros(len(wind))
    h_out = _outdoor_coefficient(wall, _instants(wind))
    instant = np.stack(
        [
            _surface(outdoor_T, outdoor_p, h_out, wall.outside.vapour_coefficient, h_out),
            _surface(
                indoor.temperature,
                indoor.vapour_pressure,
                np.full(len(time), wall.inside.coefficient),
                wall.inside.vapour_coefficient,
                np.full(len(time), INDOOR_CONVECTION),
            ),
        ],
        axis=1,
    )
    mean = np.zeros((len(wind), 2, 2))
    mean[:, 0, 0], mean[:, 0, 1] = radiation, rain
    hours = Hours(
        time=time[1:],
        outdoor=instant[1:, 0],
        indoor=instant[1:, 1],
        radiation=radiation,
        wind=wind,
        direction=_direction(climate, len(wind)),
    )
    gap_rate = (
        np.stack([gap_rate_of(wall, gap, hours) for gap in wall.gaps], axis=1)
        if wall.gaps
        else np.zeros((len(wind), 0))
    )
    columns = [_source(s, rain, wall, hours) for s in wall.leaks.all()]
    return Loads(
        time=time,
        instant=instant,
        mean=mean,
        gap_rate=gap_rate,
        wind=wind,
        source=np.stack(columns, axis=1) if columns else np.zeros((len(wind), 0)),
        air=_air(wall, len(wind)),
        assumptions=(
            FIRST_HOUR,
            *indoor.assumptions,
            *_air_notes(wall, hours),
        ),
    )


def _air_notes(wall: Wall, hours: Hours) -> tuple[str, ...]:
    """What the pressures of the run mean for leaks that follow them."""
    notes = []
    for leak in wall.leaks.air:
        if leak.permeance is not None:
            rate = leak_rate(wall, leak, hours)
            notes.append(
                f"air leak at '{leak.at}': room air leaks outward in "
                f"{int(np.count_nonzero(rate))} of {len(rate)} h, {1000 * rate.mean():.3g} "
                "L/(s·m²) on average"
            )
    return tuple(notes)


def radiation_constant(wall: Wall) -> float:
    """Emissivity times Stefan-Boltzmann constant of the outdoor surface. [W/(m²·K⁴)]"""
    return wall.outside.emissivity * STEFAN_BOLTZMANN


def constant_loads(
    hours: int,
    outdoor: tuple[float, float],
    indoor: tuple[float, float],
    *,
    outdoor_coefficients: tuple[float, float] = (25.0, 25.0 * LEWIS),
    indoor_coefficients: tuple[float, float] = (7.69, 2.5 * LEWIS),
    gaps: int = 0,
    sources: int = 0,
) -> Loads:
    """Loads that never change: (temperature [K], vapour pressure [Pa]) on each side."""
    time = np.datetime64("2001-01-01T00", "ns") + np.arange(hours + 1) * np.timedelta64(1, "h")
    instant = np.zeros((hours + 1, 2, 4))
    instant[:, 0] = (*outdoor, *outdoor_coefficients)
    instant[:, 1] = (*indoor, *indoor_coefficients)
    return Loads(
        time,
        instant,
        np.zeros((hours, 2, 2)),
        np.zeros((hours, gaps)),
        np.zeros(hours),
        np.zeros((hours, sources)),
        np.zeros(hours),
    )


def loads_between(loads: Loads, first: int, last: int) -> Loads:
    """The hours first..last-1 of some loads."""
    hours = slice(first, last)
    return replace(
        loads,
        time=loads.time[first : last + 1],
        instant=loads.instant[first : last + 1],
        mean=loads.mean[hours],
        gap_rate=loads.gap_rate[hours],
        wind=loads.wind[hours],
        source=loads.source[hours],
        air=loads.air[hours],
    )


def repeat_loads(loads: Loads, times: int) -> Loads:
    """The same hours again and again; the last instant of a round is the first of the next."""
    hours = loads.hours
    instant = np.concatenate([np.tile(loads.instant[1:], (times, 1, 1))])
    return replace(
        loads,
        time=loads.time[0] + np.arange(times * hours + 1) * np.timedelta64(1, "h"),
        instant=np.concatenate([loads.instant[:1], instant]),
        mean=np.tile(loads.mean, (times, 1, 1)),
        gap_rate=np.tile(loads.gap_rate, (times, 1)),
        wind=np.tile(loads.wind, times),
        source=np.tile(loads.source, (times, 1)),
        air=np.tile(loads.air, times),
    )


def closed_loads(loads: Loads) -> Loads:
    """Whole years of loads as a circle: their first instant is their last.

    Raises
    ------
    InputError
        They are not whole years of 8760 hours.
    """
    if loads.hours % 8760:
        raise InputError(f"loads: {loads.hours} hours: must be whole years of 8760 to be repeated")
    note = "the years are repeated: their last hour comes before their first"
    return replace(
        loads,
        instant=np.concatenate([loads.instant[-1:], loads.instant[1:]]),
        assumptions=(*(text for text in loads.assumptions if text != FIRST_HOUR), note),
    )


def _instants(values: Array) -> Array:
    values = np.asarray(values, dtype=float)
    return np.concatenate([values[:1], values])


def _plane(wall: Wall, climate: xr.Dataset) -> xr.Dataset:
    from weather.loads import plane_loads

    return plane_loads(
        climate,
        azimuth=wall.azimuth,
        tilt=wall.tilt,
        albedo=wall.outside.albedo,
        rain_method=wall.outside.rain_method,
        rain_factors=wall.outside.rain_factors.of(wall.outside.rain),
    )


def _outdoor_coefficient(wall: Wall, wind: Array) -> Array:
    if wall.outside.convection is not None:
        return np.full(len(wind), wall.outside.convection)
    return 4.0 + 4.0 * wind


def _surface(
    T: Array, p: Array, coefficient: Array, vapour: float | None, convection: Array
) -> Array:
    beta = np.full(len(T), vapour) if vapour is not None else LEWIS * convection
    return np.stack([T, p, coefficient, beta], axis=1)


def _direction(climate: xr.Dataset, hours: int) -> Array:
    if "wind_direction" in climate:
        return np.asarray(climate["wind_direction"].values, dtype=float)
    return np.full(hours, np.nan)


def _source(source: Source, rain: Array, wall: Wall, hours: Hours) -> Array:
    if isinstance(source, Wetting):
        series = np.zeros(len(rain))
        if not 0 <= source.hour < len(rain):
            raise InputError(
                f"wetting of '{source.at}': hour = {source.hour}: must be 0-{len(rain) - 1}"
            )
        series[source.hour] = source.mass / 3600.0
        return series
    if isinstance(source, AirLeak):
        return leak_rate(wall, source, hours)
    assert isinstance(source, RainLeak)  # the third kind
    return source.fraction * rain


def _air(wall: Wall, hours: int) -> Array:
    if wall.air_flow is None:
        return np.zeros(hours)
    rate = wall.air_flow
    if isinstance(rate, tuple):
        if len(rate) != hours:
            raise InputError(f"air flow has {len(rate)} values: must be 1 or {hours} hours")
        return np.asarray(rate)
    return np.full(hours, float(rate))
