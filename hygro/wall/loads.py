"""From climate, room and wall to the hourly loads of the wall.

The door to all that has to do with loads; knows no grid and no solver.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property, lru_cache, partial

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from hygro.constants import STEFAN_BOLTZMANN
from hygro.errors import InputError, must_be
from hygro.material.vapour import thinner
from hygro.room.climate import indoor_climate
from hygro.room.models import A_ROOM, Room
from hygro.room.time import IndoorClimate, Outdoor
from hygro.wall.air import Hours, gap_rate_of, leak_rate
from hygro.wall.boundary import boundary
from hygro.wall.leaks import AirLeak, RainLeak, Source, Wetting
from hygro.wall.series import (
    FIRST_HOUR,
    LEWIS,
    Loads,
    SurfaceLoads,
    closed_loads,
    constant_loads,
    loads_between,
    repeat_loads,
)
from hygro.wall.wall import Wall

__all__ = [
    "LEWIS",
    "LoadMaker",
    "Loads",
    "SurfaceLoads",
    "boundary",
    "build_loads",
    "check_run",
    "closed_loads",
    "constant_loads",
    "loads_between",
    "radiation_constant",
    "repeat_loads",
]

Array = NDArray[np.float64]
SHARED = 16
"""Planes and rooms of which the hourly data are kept for the next wall."""
INDOOR_CONVECTION = 2.5
"""Convective part of the indoor coefficient, ISO 6946 (from memory). [W/(m²·K)]"""


def build_loads(wall: Wall, climate: xr.Dataset, room: Room) -> Loads:
    """Loads of a wall in a climate with a room behind it.

    The canonical climate stamps the end of each hour; the first hour starts from its own end state,
    so that N stamps give N hours.

    Parameters
    ----------
    wall : Wall
        Its orientation, site, surfaces and leaks say what of the weather acts.
    climate : Dataset
        Canonical hourly climate of the `weather` package, N hours.
    room : Room
        Indoor climate rule.

    Raises
    ------
    WeatherError
        A value of the climate is out of bounds, or one that is needed is missing.
    InputError
        What is given is no wall, no climate or no room.
    """
    check_run(wall, climate, room)
    return LoadMaker(climate).loads(wall, room)


def check_run(wall: object, climate: object, room: object) -> None:
    """Refuse what is no wall, no climate or no room; raises `InputError`."""
    must_be(wall, Wall, "wall", "a hygro.Wall")
    assert isinstance(wall, Wall)
    words = "a Dataset; read a file with hygro.read_weather"
    must_be(climate, xr.Dataset, f"wall '{wall.name}': climate or loads", words)
    if not hasattr(room, "climate"):
        raise InputError(f"wall '{wall.name}': room: is {type(room).__name__}: must be {A_ROOM}")


class LoadMaker:
    """Loads of many walls in one climate; what several have in common is computed once.

    The climate must not change meanwhile.

    Parameters
    ----------
    climate : Dataset
        Canonical hourly climate of the `weather` package.
    """

    def __init__(self, climate: xr.Dataset) -> None:
        from weather.on_plane import plane_loads

        self.climate = climate
        self._planes = lru_cache(maxsize=SHARED)(partial(plane_loads, climate))
        self._rooms = lru_cache(maxsize=SHARED)(self._indoor)

    @property
    def hours(self) -> int:
        """Length of the climate. [h]"""
        return int(self.climate.sizes["time"])

    @cached_property
    def _outdoor(self) -> Outdoor:
        from weather.canonical import require_sound

        needed = ("temperature", "vapour_pressure", "wind_speed")
        require_sound(self.climate, needed, purpose="every wall")
        time = self.climate["time"].values.astype("datetime64[ns]")
        return Outdoor(
            time=np.concatenate([[time[0] - np.timedelta64(1, "h")], time]),
            temperature=_instants(self.climate["temperature"].values),
            vapour_pressure=_instants(self.climate["vapour_pressure"].values),
        )

    def _indoor(self, room: Room) -> IndoorClimate:
        return indoor_climate(room, self._outdoor)

    def _room(self, room: Room) -> IndoorClimate:
        try:
            return self._rooms(room)  # type: ignore[arg-type]
        except TypeError:  # a room of hourly arrays
            return self._indoor(room)

    def loads(self, wall: Wall, room: Room) -> Loads:
        """Loads of a wall with a room behind it; see `build_loads`."""
        climate, outdoor = self.climate, self._outdoor
        time, indoor = outdoor.time, self._room(room)
        wind = np.asarray(climate["wind_speed"].values, dtype=float)
        at_wall = np.asarray(wall.site.wind(wind))
        pressure = wall.site.air_pressure(_altitude(climate))
        h_out = _outdoor_coefficient(wall, _instants(at_wall))
        plane = self._planes(
            azimuth=wall.azimuth,
            tilt=wall.tilt,
            albedo=wall.outside.albedo,
            rain_method=wall.outside.rain_method,
            rain_factors=wall.outside.rain_factors.of(wall.outside.rain),
        )
        radiation, rain, plane_notes = _on_the_wall(wall, climate, plane)
        outside = SurfaceLoads(
            temperature=outdoor.temperature,
            vapour_pressure=outdoor.vapour_pressure,
            heat_coefficient=h_out,
            vapour_coefficient=_vapour_coefficient(
                wall.outside.vapour_coefficient, h_out, pressure
            ),
            radiation=radiation,
            rain=rain,
        )
        inside = SurfaceLoads(
            temperature=indoor.temperature,
            vapour_pressure=indoor.vapour_pressure,
            heat_coefficient=np.full(len(time), float(wall.inside.coefficient)),
            vapour_coefficient=_vapour_coefficient(
                wall.inside.vapour_coefficient, np.full(len(time), INDOOR_CONVECTION), pressure
            ),
            radiation=np.zeros(len(wind)),
            rain=np.zeros(len(wind)),
        )
        hours = Hours(
            time=time[1:],
            outside=_at_ends(outside),
            inside=_at_ends(inside),
            wind=wind,
            direction=_direction(climate, len(wind)),
            pressure=pressure,
        )
        return Loads(
            time=time,
            outside=outside,
            inside=inside,
            gap_rate=_columns([gap_rate_of(wall, gap, hours) for gap in wall.gaps], len(wind)),
            wind=at_wall,
            source=_columns([_source(s, rain, wall, hours) for s in wall.leaks.all()], len(wind)),
            air=_air(wall, len(wind)),
            assumptions=(
                FIRST_HOUR,
                *wall.site.notes(pressure),
                *plane_notes,
                *indoor.assumptions,
                *_air_notes(wall, hours),
            ),
            pressure=pressure,
        )


def _on_the_wall(
    wall: Wall, climate: xr.Dataset, plane: xr.Dataset
) -> tuple[Array, Array, tuple[str, ...]]:
    """Absorbed sun with incoming longwave [W/m²], driving rain [kg/(m²·s)]; what they assume."""
    from weather.canonical import history

    radiation = wall.outside.absorptance * plane["solar"].values
    if wall.outside.emissivity > 0:
        radiation = radiation + wall.outside.emissivity * plane["longwave_in"].values
    rain = plane["driving_rain"].values if wall.outside.rain_method else np.zeros(len(radiation))
    return radiation, rain, tuple(history(plane)[len(history(climate)) :])


def _at_ends(surface: SurfaceLoads) -> SurfaceLoads:
    """The instants that end the hours, beside the means of the hours."""
    names = ("temperature", "vapour_pressure", "heat_coefficient", "vapour_coefficient")
    return replace(surface, **{name: getattr(surface, name)[1:] for name in names})


def _columns(series: list[Array], hours: int) -> Array:
    return np.stack(series, axis=1) if series else np.zeros((hours, 0))


def _air_notes(wall: Wall, hours: Hours) -> tuple[str, ...]:
    """What the pressures of the run mean for leaks that follow them."""
    notes = []
    for leak in wall.leaks.air:
        if leak.permeance is not None:
            rate = leak_rate(wall, leak, hours)
            notes.append(
                f"air leak at '{leak.at}': room air leaks outward in "
                f"{int(np.count_nonzero(rate > 0))} of {len(rate)} h, outdoor air inward in "
                f"{int(np.count_nonzero(rate < 0))} h; {1000 * np.abs(rate).mean():.3g} L/(s·m²) "
                "on average either way"
            )
    return tuple(notes)


def radiation_constant(wall: Wall) -> float:
    """Emissivity times Stefan-Boltzmann constant of the outdoor surface. [W/(m²·K⁴)]"""
    return wall.outside.emissivity * STEFAN_BOLTZMANN


def _instants(values: Array) -> Array:
    values = np.asarray(values, dtype=float)
    return np.concatenate([values[:1], values])


def _outdoor_coefficient(wall: Wall, wind: Array) -> Array:
    if wall.outside.convection is not None:
        return np.full(len(wind), float(wall.outside.convection))
    return 4.0 + 4.0 * wind


def _vapour_coefficient(given: float | None, convection: Array, pressure: float) -> Array:
    if given is not None:
        return np.full(len(convection), float(given))
    return LEWIS * thinner(pressure) * convection


def _altitude(climate: xr.Dataset) -> float | None:
    found = climate.attrs.get("altitude")
    return None if found is None else float(found)


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
