"""Loads that a user brings: an xarray Dataset, checked against the table of loads and the wall."""

from __future__ import annotations

import json
from collections.abc import Sequence

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from hygro.constants import STANDARD_PRESSURE
from hygro.errors import InputError, near_matches
from hygro.room.models import A_ROOM
from hygro.variable import Variable, when
from hygro.wall.load_variables import LOADS
from hygro.wall.series import Loads, loads_of_arrays
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure

Array = NDArray[np.float64]
HOUR = np.timedelta64(1, "h")
SATURATED = 1.05
"""Highest relative humidity over water; what is above 1 is the round-off of formulas. [1]"""


def boundary(ds: xr.Dataset, wall: Wall) -> Loads:
    """The loads in a Dataset that holds the variables of `LOADS` for a wall.

    All variables stand on one hourly coordinate `time` of N+1 instants. Means belong to the hour
    that ends at the stamp; their first value belongs to no hour and is not read. `gap_exchange` has
    a column along `gap` for each gap of the wall, `source_rate` one along `source` for each rain
    leak, wetting and air leak; without any they are left out. `outdoor_radiation` is what the
    surface takes in, longwave too; what it emits is computed. Other variables are not read, so the
    record of a run serves as well. The attribute `air_pressure` [Pa] is that of the site; left out:
    sea level. `Loads.to_dataset` makes such a Dataset.

    Raises
    ------
    InputError
        A variable is missing or has another unit, other dimensions or another length; time is not
        hourly; a value is missing or out of bounds (with its hour, bound and likely cause); the
        columns are not those of the wall.
    """
    if not isinstance(ds, xr.Dataset):
        raise InputError(f"boundary data: must be an xarray Dataset, is a {type(ds).__name__}")
    if "global_horizontal" in ds.variables and "outdoor_temperature" not in ds.variables:
        raise InputError(f"wall '{wall.name}': room: is missing: a climate needs {A_ROOM}")
    time = _instants(ds)
    columns = {"gap": [gap.name for gap in wall.gaps], "source": [s.at for s in wall.leaks.all()]}
    for dim, names in columns.items():
        _check_columns(ds, wall, dim, names)
    rows = [row for row in LOADS.values() if all(columns.get(dim, "one") for dim in row.dims)]
    arrays = {row.name: _values(ds, row, time) for row in rows}
    for side in ("outdoor", "indoor"):
        T, p = arrays[f"{side}_temperature"], arrays[f"{side}_vapour_pressure"]
        _check_humidity(side, p / saturation_pressure(T, over="water"), time)
    told = json.loads(ds.attrs.get("assumptions", "[]"))
    return loads_of_arrays(time, arrays, tuple(told), _pressure(ds))


def _pressure(ds: xr.Dataset) -> float:
    """The attribute `air_pressure` [Pa]; sea level where there is none."""
    given = ds.attrs.get("air_pressure", STANDARD_PRESSURE)
    try:
        return float(given)
    except (TypeError, ValueError):
        raise InputError(
            f"boundary data: attribute air_pressure = {given!r}: must be a number in Pa"
        ) from None


def _instants(ds: xr.Dataset) -> NDArray[np.datetime64]:
    if "time" not in ds.variables or ds["time"].dims != ("time",):
        raise InputError("boundary data: coordinate 'time' is missing: must hold N+1 instants")
    time = ds["time"].values
    if time.dtype.kind != "M" or len(time) < 2:
        raise InputError(
            f"boundary data: 'time' holds {len(time)} values of type {time.dtype}: must be at "
            "least 2 dates, one more than there are hours"
        )
    wrong = np.flatnonzero(np.diff(time) != HOUR)
    if len(wrong):
        k = int(wrong[0])
        raise InputError(
            f"boundary data: 'time' goes from {when(time[k])} to {when(time[k + 1])}: must be one "
            "hour; is a row missing, or is there a change of the clock?"
        )
    return time


def _check_columns(ds: xr.Dataset, wall: Wall, dim: str, names: Sequence[str]) -> None:
    """As many columns as the wall has gaps or sources, in the same order where they are named."""
    (row,) = (row for row in LOADS.values() if dim in row.dims)
    place, count = f"boundary data: '{row.name}'", ds.sizes.get(dim, 0)
    if row.name not in ds.variables:
        count = 0
    if count != len(names):
        raise InputError(
            f"{place} has {count} columns along '{dim}': must be {len(names)} for wall "
            f"'{wall.name}' ({', '.join(names) or 'it has none'}); is it of another wall?"
        )
    given = [str(name) for name in ds.indexes[dim]] if dim in ds.indexes else list(names)
    if given != list(names):
        raise InputError(
            f"{place} has the columns {', '.join(given)}: must be {', '.join(names)}, outside to "
            f"inside as in wall '{wall.name}'"
        )


def _values(ds: xr.Dataset, row: Variable, time: NDArray[np.datetime64]) -> Array:
    place = f"boundary data: '{row.name}'"
    if row.name not in ds.variables:
        close = near_matches(row.name, map(str, ds.variables))
        raise InputError(f"{place} is missing; {close}")
    found = ds.variables[row.name]
    if set(found.dims) != set(row.dims):
        raise InputError(
            f"{place} has dimensions {found.dims} of length {found.shape}: must be {row.dims}, "
            f"{len(time)} instants along 'time'"
        )
    unit = found.attrs.get("units", "")
    if unit != row.unit:
        raise InputError(
            f"{place} has units = '{unit}': must be '{row.unit}' ({row.long_name}); convert the "
            "values, then set the attribute"
        )
    if found.dtype.kind not in "fiu":
        raise InputError(f"{place} holds values of type {found.dtype}: must be numbers")
    values = np.array(found.transpose(*row.dims).values, dtype=np.float64)
    if row.first_is_nan:
        values[0] = np.nan
    fault = row.fault(values, {"time": time})
    if fault is not None:
        raise InputError(f"boundary data: {fault}")
    return values


def _check_humidity(side: str, rh: Array, time: NDArray[np.datetime64]) -> None:
    wrong = np.flatnonzero(rh > SATURATED)
    if len(wrong):
        k = int(wrong[0])
        raise InputError(
            f"boundary data: '{side}_vapour_pressure' at time {when(time[k])} is a relative "
            f"humidity of {rh[k]:.3g}: must be at most {SATURATED}; is it the saturation pressure "
            "of another temperature, or made from humidity in per cent?"
        )
