"""Hourly loads of a wall as named series, and what is done with whole loads.

Instantaneous quantities stand at N+1 instants and are linear in between; hourly means stand for N
hours. Knows neither where loads come from nor a grid.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from operator import attrgetter

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from hygro.constants import STANDARD_PRESSURE
from hygro.errors import InputError
from hygro.variable import when
from hygro.wall.load_variables import INSTANT, LOADS

Array = NDArray[np.float64]
LEWIS = 7e-9
"""Vapour over heat transfer coefficient in air, EN 15026 (from memory). [kg·K/(J·Pa)]"""
LOWEST_PRESSURE, HIGHEST_PRESSURE = 3.0e4, 1.1e5
"""From above the highest dwellings to below the lowest. [Pa]"""
FIRST_HOUR = "the first hour starts from the outdoor state at its end"


@dataclass(frozen=True)
class SurfaceLoads:
    """What acts on one surface.

    Attributes
    ----------
    temperature, vapour_pressure : (N+1,) air. [K], [Pa]
    heat_coefficient : (N+1,) heat transfer. [W/(m²·K)]
    vapour_coefficient : (N+1,) vapour transfer. [kg/(m²·s·Pa)]
    radiation : (N,) absorbed radiation. [W/m²]
    rain : (N,) rain that strikes the surface. [kg/(m²·s)]
    """

    temperature: Array
    vapour_pressure: Array
    heat_coefficient: Array
    vapour_coefficient: Array
    radiation: Array
    rain: Array


@dataclass(frozen=True)
class Loads:
    """Loads over N hours; the units stand in `LOADS`.

    Attributes
    ----------
    time : (N+1,) datetime64
    outside, inside : the two surfaces
    gap_rate : (N, gaps) air exchange. [m³/(s·m²)]
    wind : (N,) wind speed. [m/s]
    source : (N, sources) rain leaks and wettings [kg/(m²·s)], air leaks [m³/(s·m²)], in the order
        of `Wall.places`
    air : (N,) through flow. [m³/(s·m²)]
    assumptions : what was assumed on the way
    pressure : of the air at the site, one number for the run [Pa]
    """

    time: NDArray[np.datetime64]
    outside: SurfaceLoads
    inside: SurfaceLoads
    gap_rate: Array
    wind: Array
    source: Array
    air: Array
    assumptions: tuple[str, ...] = ()
    pressure: float = STANDARD_PRESSURE

    def __post_init__(self) -> None:
        """Refuse missing values, wrong lengths, a wrong pressure; raises `InputError`."""
        if not LOWEST_PRESSURE <= self.pressure <= HIGHEST_PRESSURE:
            raise InputError(
                f"loads: pressure = {self.pressure:g} Pa of the air: must be {LOWEST_PRESSURE:g} "
                f"to {HIGHEST_PRESSURE:g} Pa; is it in hPa or kPa?"
            )
        for path, row in LOADS.items():
            values = np.asarray(attrgetter(path)(self))
            count = len(self.time) - int(row.first_is_nan)
            if values.ndim != len(row.dims) or len(values) != count:
                raise InputError(
                    f"loads: '{path}' has the shape {values.shape}: must be {count} "
                    f"{'hours' if row.first_is_nan else 'instants'} along {row.dims}, for "
                    f"{len(self.time)} instants"
                )
            if not np.isfinite(values).all():
                hour = int(np.argwhere(~np.isfinite(values))[0][0])
                raise InputError(
                    f"loads: '{path}' has a missing value at hour {hour} "
                    f"({when(self.time[hour])}); fill the gap in the climate first"
                )

    def check_bounds(self) -> None:
        """Refuse values out of the bounds of `LOADS`: names series, hour, value, bound and cause.

        Raises
        ------
        InputError
        """
        arrays = stored_arrays(self)
        faults = (
            row.fault(arrays[row.name], {"time": self.time})
            for row in LOADS.values()
            if row.name in arrays
        )
        for fault in faults:
            if fault is not None:
                raise InputError(f"loads: {fault}")

    @property
    def hours(self) -> int:
        """Number of hours."""
        return len(self.wind)

    def to_dataset(self) -> xr.Dataset:
        """The loads by the names of `LOADS`; means stand at the end of their hour.

        The first instant of a mean is not-a-number. `hygro.wall.loads.boundary` reads it back.
        """
        rows = {row.name: row for row in LOADS.values()}
        arrays = stored_arrays(self)
        return xr.Dataset(
            {name: (rows[name].dims, values, rows[name].attrs) for name, values in arrays.items()},
            coords={"time": ("time", self.time, INSTANT.attrs)},
            attrs={
                "assumptions": json.dumps(list(self.assumptions), ensure_ascii=False),
                "air_pressure": self.pressure,
            },
        )


def series_of(loads: Loads) -> dict[str, Array]:
    """Every series by where it stands in the loads."""
    return {path: attrgetter(path)(loads) for path in LOADS}


def loads_of(
    time: NDArray[np.datetime64],
    series: Mapping[str, Array],
    assumptions: tuple[str, ...] = (),
    pressure: float = STANDARD_PRESSURE,
) -> Loads:
    """The loads of which these are the series; see `series_of`."""
    parts: dict[str, dict[str, Array]] = {"": {}, "outside": {}, "inside": {}}
    for path in LOADS:
        side, _, name = path.rpartition(".")
        parts[side][name] = series[path]
    return Loads(
        time=time,
        outside=SurfaceLoads(**parts["outside"]),
        inside=SurfaceLoads(**parts["inside"]),
        **parts[""],
        assumptions=assumptions,
        pressure=pressure,
    )


def stored_arrays(loads: Loads) -> dict[str, Array]:
    """All series on the N+1 instants by their stored names; empty optional ones left out."""
    return {
        row.name: at_hour_ends(values) if row.first_is_nan else values
        for (path, row), values in zip(LOADS.items(), series_of(loads).values(), strict=True)
        if not row.optional or values.shape[1]
    }


def loads_of_arrays(
    time: NDArray[np.datetime64],
    arrays: Mapping[str, Array],
    assumptions: tuple[str, ...] = (),
    pressure: float = STANDARD_PRESSURE,
) -> Loads:
    """The loads of which these are the `stored_arrays`; absent optional ones have no columns."""
    none = np.empty((len(time), 0))
    series = {}
    for path, row in LOADS.items():
        values = arrays.get(row.name, none) if row.optional else arrays[row.name]
        series[path] = values[1:] if row.first_is_nan else values
    return loads_of(time, series, assumptions, pressure)


def at_hour_ends(values: Array) -> Array:
    """Hour means stand at the end of their hour; the first instant has none."""
    return np.concatenate([np.full_like(values[:1], np.nan), values])


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

    def side(*values: float) -> SurfaceLoads:
        points = (np.full(hours + 1, float(value)) for value in values)
        return SurfaceLoads(*points, *np.zeros((2, hours)))

    return Loads(
        time=np.datetime64("2001-01-01T00", "ns") + np.arange(hours + 1) * np.timedelta64(1, "h"),
        outside=side(*outdoor, *outdoor_coefficients),
        inside=side(*indoor, *indoor_coefficients),
        gap_rate=np.zeros((hours, gaps)),
        wind=np.zeros(hours),
        source=np.zeros((hours, sources)),
        air=np.zeros(hours),
    )


def loads_between(loads: Loads, first: int, last: int) -> Loads:
    """The hours first..last-1 of some loads."""
    return _changed(
        loads,
        time=loads.time[first : last + 1],
        points=lambda values: values[first : last + 1],
        means=lambda values: values[first:last],
    )


def repeat_loads(loads: Loads, times: int) -> Loads:
    """The same hours again and again; the last instant of a round is the first of the next."""

    def again(values: Array) -> Array:
        return np.tile(values, (times, *[1] * (values.ndim - 1)))

    return _changed(
        loads,
        time=loads.time[0] + np.arange(times * loads.hours + 1) * np.timedelta64(1, "h"),
        points=lambda values: np.concatenate([values[:1], again(values[1:])]),
        means=again,
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
    closed = _changed(
        loads,
        time=loads.time,
        points=lambda values: np.concatenate([values[-1:], values[1:]]),
        means=lambda values: values,
    )
    note = "the years are repeated: their last hour comes before their first"
    kept = (text for text in loads.assumptions if text != FIRST_HOUR)
    return replace(closed, assumptions=(*kept, note))


def _changed(
    loads: Loads,
    *,
    time: NDArray[np.datetime64],
    points: Callable[[Array], Array],
    means: Callable[[Array], Array],
) -> Loads:
    """Loads of other hours: one function for the instants, one for the means."""
    series = {
        path: means(values) if LOADS[path].first_is_nan else points(values)
        for path, values in series_of(loads).items()
    }
    return loads_of(time, series, loads.assumptions, loads.pressure)
