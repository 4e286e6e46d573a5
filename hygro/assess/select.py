"""Reads checked arrays out of a record. Owns the check that it is one; rates nothing.

Every rating goes through here, so a Dataset reopened from netCDF, one fresh from a run and a run of
which none is made are treated alike, and a missing or damaged array is refused with its name and
place.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr

from hygro.assess.hourly import Hourly, Record, cut, hourly, kept
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


def array(ds: Record, name: str) -> np.ndarray:
    """Values of one numeric array, dims in the order of the variable table, unit of the table.

    Nobody changes them: others read them too.

    Raises
    ------
    InputError
        If the array is missing, has other dimensions, or holds NaN or infinity (but for the first
        instant of a mean of the hour).
    """
    of = hourly(ds)
    if name not in of.checked:
        of.checked[name] = _numbers(of, name)
    found: np.ndarray = of.checked[name]
    return found


def _numbers(of: Hourly, name: str) -> np.ndarray:
    values = np.asarray(_find(of, name), dtype=float)
    row = VARIABLES[name]
    if not (of.sound and row.low is not None):
        checked = values[1:] if row.first_is_nan else values
        if not np.isfinite(checked).all():
            _refuse_hole(of, name, values)
    return values


def _find(of: Hourly, name: str) -> Any:
    if not isinstance(of.source, xr.Dataset):
        if name not in of.source:
            raise InputError(f"result: array '{name}' is missing")
        return of.source[name]
    check_dataset(of.source)
    # The bare variable: building a DataArray with its coordinates costs more than most ratings.
    found = of.source.variables.get(name)
    if found is None:
        close = near_matches(name, map(str, of.source.variables))
        raise InputError(f"result: array '{name}' is missing ({close})")
    dims = VARIABLES[name].dims
    if set(found.dims) != set(dims):
        raise InputError(f"result: '{name}' has dimensions {found.dims}: must be {dims}")
    return (found if found.dims == dims else found.transpose(*dims)).values


def holds(ds: Record, name: str) -> bool:
    """Say whether a record has an array."""
    source = hourly(ds).source
    return name in (source.variables if isinstance(source, xr.Dataset) else source)


def _refuse_hole(of: Hourly, name: str, values: np.ndarray) -> None:
    bad = ~np.isfinite(values)
    row = VARIABLES[name]
    if row.first_is_nan:
        bad[0] = False
    where = dict(zip(row.dims, (int(i) for i in np.argwhere(bad)[0]), strict=True))
    stamps = _find(of, "time")
    when = stamp(stamps[where.pop("time")]) if "time" in where else "every time"
    raise InputError(
        f"result: '{name}' at {when}, {where} is not a finite number "
        f"({int(bad.sum())} in all): the run did not finish or the file is damaged"
    )


def text(ds: Record, name: str) -> tuple[str, ...]:
    """Values of one text coordinate."""
    of = hourly(ds)
    return of.keep_for_all_hours(
        (text, name), lambda: tuple(str(value) for value in _find(of, name))
    )


def flags(ds: Record, name: str) -> np.ndarray:
    """Values of one integer coordinate, as integers."""
    of = hourly(ds)
    return of.keep_for_all_hours((flags, name), lambda: array(of, name).astype(int))


@kept
def times(of: Hourly) -> np.ndarray:
    """The instants of the run, checked to be hourly.

    Raises
    ------
    InputError
        If there are fewer than two instants or a step that is not one hour.
    """
    if isinstance(of.source, xr.Dataset):
        check_dataset(of.source)
    if not holds(of, "time"):
        raise InputError("result: coordinate 'time' is missing")
    stamps = np.asarray(_find(of, "time"))
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
    return str(instant.astype("datetime64[h]"))


def in_hours(days: float) -> int:
    """Whole hours of some days."""
    return round(days * HOURS_PER_DAY)


def after(ds: Record, skip_days: float) -> Record:
    """Return the part of the run that starts `skip_days` after its start.

    Raises
    ------
    InputError
        If `skip_days` is negative or leaves no hour.
    """
    hours = in_hours(skip_days)
    length = len(times(ds))
    if hours < 0 or hours > length - 2:
        raise InputError(
            f"skip_days = {skip_days}: must be between 0 and {(length - 2) / HOURS_PER_DAY:.2f} "
            "(the length of the run)"
        )
    return ds if hours == 0 else cut(ds, slice(hours, None))


def series(
    ds: Record, values: np.ndarray, *, unit: str, long_name: str, source: str = ""
) -> xr.DataArray:
    """Wrap an hourly series with time and attributes."""
    attrs = {"units": unit, "long_name": long_name}
    if source:
        attrs["source"] = source
    found = hourly(ds).source
    time = found.variables["time"] if isinstance(found, xr.Dataset) else ("time", found["time"])
    return xr.DataArray(values, dims=("time",), coords={"time": time}, attrs=attrs)
