"""Reads CSV and netCDF tables by a column map; knows no fixed format."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Literal

import numpy as np
import xarray as xr

from weather.arrays import Array, Times
from weather.canonical import SNOW_BELOW, Kind, Place, build, check_bounds, origin_of
from weather.columns import Column, read_columns
from weather.errors import fault
from weather.files import require_file
from weather.netcdf import floats, load, stamps_of
from weather.stamps import HOUR, check_hourly
from weather.units import UNITS, plain
from weather.variables import MEAN, READABLE, SUM, TABLE

Stamp = Literal["hour-ending", "hour-beginning"]


def read_table(
    path: str | Path,
    columns: Mapping[str, Column | tuple[str, str]] | None,
    place: Place,
    *,
    time: str = "time",
    stamp: Stamp = "hour-ending",
    kind: Kind = "measured",
    missing: float | None = None,
    snow_below: float = SNOW_BELOW,
) -> xr.Dataset:
    """Read an hourly CSV (.csv, .txt) or netCDF (.nc) table.

    Parameters
    ----------
    path : path
        The file; the suffix picks the format.
    columns : mapping of canonical name to Column or (name, unit), or None
        Where each variable stands and in which unit (`weather.units.UNITS`). None takes every
        column of a CSV file whose header is a canonical name with a unit, `temperature [degC]`.
    place : Place
        The site.
    time : str
        Column or variable with the stamps, ISO 8601, local standard time without zone.
    stamp : {"hour-ending", "hour-beginning"}
        Whether means and sums belong to the hour before or after the stamp. In hour-beginning
        tables point values are kept at their stamp; the last hour of measured series, which has no
        value at its end, is left out, that of other kinds ends with the first value.
    kind : {"typical year", "measured", "generated"}
        Marked on the dataset. A "typical year" wraps: its last stamp precedes its first.
    missing : float, optional
        Code for a missing value; becomes NaN.
    snow_below : float
        Air temperature below which precipitation is snow. [K]

    Raises
    ------
    WeatherError
        On a missing file, column or unit, text in a number column, a zone in the stamps, stamps
        that are not hourly, or values out of bounds.
    """
    found = require_file(path)
    given = {name: Column(*column) for name, column in (columns or {}).items()}
    for name, column in given.items():
        if name not in READABLE:
            where = f"{found.name}, {column.name}"
            raise fault(where, f"'{name}' is not read", f"choose from {', '.join(READABLE)}")
    if found.suffix == ".nc":
        stamps, values = _from_netcdf(found, given, time, missing)
    else:
        stamps, values = _from_csv(found, given, time, missing)
    notes = [f"stamps taken as {stamp}"]
    if stamp == "hour-beginning":
        stamps, values = _shift(stamps, values, cyclic=kind != "measured")
        notes.append("means and sums moved to the end of their hour")
    return build(values, stamps, place, origin_of(found, kind), notes, snow_below=snow_below)


def _from_csv(
    path: Path, given: Mapping[str, Column], time: str, missing: float | None
) -> tuple[Times, dict[str, Array]]:
    wanted = {name: TABLE[name].quantity for name in given or READABLE}
    read = read_columns(path, wanted, columns=given, time=time, gaps=True, missing=missing)
    assert read.time is not None  # the column of stamps was asked for
    return read.time, read.values


def _from_netcdf(
    path: Path, given: Mapping[str, Column], time: str, missing: float | None
) -> tuple[Times, dict[str, Array]]:
    dataset = load(path)
    stamps = stamps_of(dataset, time, path.name)
    check_hourly(stamps, place=path.name)
    values = {}
    for name, column in given.items():
        known = UNITS[TABLE[name].units]
        unit = plain(column.unit)
        if unit not in known:
            where = f"{path.name}, {column.name}"
            raise fault(where, f"unit '{column.unit}' of {name}", f"known: {', '.join(known)}")
        raw = floats(dataset, column.name, path.name)
        if missing is not None:
            raw = np.where(raw == missing, np.nan, raw)
        values[name] = raw * known[unit].scale + known[unit].shift
        check_bounds(name, values[name], stamps, place=path.name)
    return stamps, values


def _shift(
    stamps: np.ndarray, values: dict[str, np.ndarray], *, cyclic: bool
) -> tuple[np.ndarray, dict[str, np.ndarray]]:
    """Put the mean of the hour that begins at a stamp on the stamp where it ends."""
    hours = len(stamps) if cyclic else len(stamps) - 1
    moved = {
        name: array[:hours]
        if TABLE[name].cell_methods in (MEAN, SUM)
        else np.roll(array, -1)[:hours]
        for name, array in values.items()
    }
    return stamps[:hours] + HOUR, moved
