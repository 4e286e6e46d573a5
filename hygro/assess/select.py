"""Reads checked arrays out of a result Dataset. Owns the check that it is one; rates nothing.

Every rating goes through here, so a Dataset reopened from netCDF and one fresh from a run are
treated alike, and a missing or damaged array is refused with its name and place.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from hygro.errors import InputError, near_matches
from hygro.record.variables import VARIABLES

HOUR = np.timedelta64(3600, "s")
HOURS_PER_DAY = 24
HOURS_PER_YEAR = 8760
SECONDS_PER_HOUR = 3600.0

_DIMS = ("time", "cell", "interface", "side", "layer")


def check_dataset(ds: xr.Dataset) -> None:
    """Refuse what is not a result Dataset.

    Raises
    ------
    InputError
        With the missing dimensions.
    """
    if not isinstance(ds, xr.Dataset):
        raise InputError(f"result: expected an xarray Dataset, got {type(ds).__name__}")
    sizes = ds.sizes
    missing = [dim for dim in _DIMS if dim not in sizes]
    if missing:
        raise InputError(
            f"result: dimensions {missing} are missing (it has {sorted(map(str, ds.sizes))}); "
            "is this the result file of a run?"
        )


def array(ds: xr.Dataset, name: str) -> np.ndarray:
    """Values of one numeric array, dims in the order of the variable table, unit of the table.

    Raises
    ------
    InputError
        If the array is missing, has other dimensions, or holds NaN or infinity (but for the first
        instant of a mean of the hour).
    """
    found = _find(ds, name)
    values = np.asarray(found.values, dtype=float)
    row = VARIABLES[name]
    checked = values[1:] if row.first_is_nan else values
    if not np.isfinite(checked).all():
        _refuse_hole(ds, name, values)
    return values


def _find(ds: xr.Dataset, name: str) -> xr.Variable:
    check_dataset(ds)
    # The bare variable: building a DataArray with its coordinates costs more than most ratings.
    found = ds.variables.get(name)
    if found is None:
        raise InputError(
            f"result: array '{name}' is missing ({near_matches(name, map(str, ds.variables))})"
        )
    dims = VARIABLES[name].dims
    if found.dims == dims:
        return found
    if set(found.dims) != set(dims):
        raise InputError(f"result: '{name}' has dimensions {found.dims}: must be {dims}")
    return found.transpose(*dims)


def _refuse_hole(ds: xr.Dataset, name: str, values: np.ndarray) -> None:
    bad = ~np.isfinite(values)
    row = VARIABLES[name]
    if row.first_is_nan:
        bad[0] = False
    where = dict(zip(row.dims, (int(i) for i in np.argwhere(bad)[0]), strict=True))
    when = stamp(ds["time"].values[where.pop("time")]) if "time" in where else "every time"
    raise InputError(
        f"result: '{name}' at {when}, {where} is not a finite number "
        f"({int(bad.sum())} in all): the run did not finish or the file is damaged"
    )


def text(ds: xr.Dataset, name: str) -> tuple[str, ...]:
    """Values of one text coordinate."""
    return tuple(str(value) for value in _find(ds, name).values)


def flags(ds: xr.Dataset, name: str) -> np.ndarray:
    """Values of one integer coordinate, as integers."""
    return array(ds, name).astype(int)


def times(ds: xr.Dataset) -> np.ndarray:
    """The instants of the run, checked to be hourly.

    Raises
    ------
    InputError
        If there are fewer than two instants or a step that is not one hour.
    """
    check_dataset(ds)
    if "time" not in ds.variables:
        raise InputError("result: coordinate 'time' is missing")
    stamps = ds.variables["time"].values
    if len(stamps) < 2:
        raise InputError(f"result: {len(stamps)} instants: a rating needs at least one hour")
    wrong = np.flatnonzero(np.diff(stamps) != HOUR)
    if len(wrong):
        raise InputError(
            f"result: the step after {stamp(stamps[wrong[0]])} is not one hour; "
            "ratings count hours, do not thin out or resample the result first"
        )
    return stamps


def stamp(instant: np.datetime64) -> str:
    """Write an instant as date and hour, ``2031-03-04T05``."""
    return str(np.datetime_as_string(instant.astype("datetime64[ns]"), unit="h"))


def after(ds: xr.Dataset, skip_days: float) -> xr.Dataset:
    """Return the part of the run that starts `skip_days` after its start.

    Raises
    ------
    InputError
        If `skip_days` is negative or leaves no hour.
    """
    hours = round(skip_days * HOURS_PER_DAY)
    length = len(times(ds))
    if hours < 0 or hours > length - 2:
        raise InputError(
            f"skip_days = {skip_days}: must be between 0 and {(length - 2) / HOURS_PER_DAY:.2f} "
            "(the length of the run)"
        )
    return ds if hours == 0 else ds.isel(time=slice(hours, None))


def series(
    ds: xr.Dataset, values: np.ndarray, *, unit: str, long_name: str, source: str = ""
) -> xr.DataArray:
    """Wrap an hourly series with time and attributes."""
    attrs = {"units": unit, "long_name": long_name}
    if source:
        attrs["source"] = source
    return xr.DataArray(values, dims=("time",), coords={"time": ds.variables["time"]}, attrs=attrs)
