"""Reads CSV and netCDF tables by a column map; knows no fixed format."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Literal, NamedTuple

import numpy as np
import xarray as xr

from weather.canonical import (
    SNOW_BELOW,
    Kind,
    Place,
    build,
    check_bounds,
    origin_of,
    require_file,
)
from weather.errors import fault
from weather.stamps import HOUR, check_hourly
from weather.variables import MEAN, READABLE, SUM, TABLE

Stamp = Literal["hour-ending", "hour-beginning"]


class Column(NamedTuple):
    """Which column of the table holds a variable, and in which unit."""

    name: str
    unit: str


_Converter = Callable[[np.ndarray], np.ndarray]


def _linear(scale: float, shift: float = 0.0) -> _Converter:
    return lambda values: values * scale + shift


# Unit of the table -> canonical unit of the variable that is measured in it.
UNITS: dict[str, dict[str, _Converter]] = {
    "K": {
        "K": _linear(1.0),
        "degC": _linear(1.0, 273.15),
        "degF": _linear(5.0 / 9.0, 459.67 * 5.0 / 9.0),
    },
    "1": {"1": _linear(1.0), "%": _linear(0.01), "tenths": _linear(0.1), "octas": _linear(0.125)},
    "Pa": {"Pa": _linear(1.0), "hPa": _linear(100.0), "mbar": _linear(100.0), "kPa": _linear(1e3)},
    "m/s": {
        "m/s": _linear(1.0),
        "km/h": _linear(1.0 / 3.6),
        "knot": _linear(1852.0 / 3600.0),
        "mph": _linear(0.44704),
    },
    "degree": {"degree": _linear(1.0), "rad": _linear(180.0 / np.pi)},
    "W/m2": {"W/m2": _linear(1.0), "kJ/(m2 h)": _linear(1.0 / 3.6), "Wh/m2": _linear(1.0)},
    "kg/m2": {
        "kg/m2": _linear(1.0),
        "mm": _linear(1.0),
        "0.1 mm": _linear(0.1),
        "in": _linear(25.4),
        "kg/(m2 s)": _linear(3600.0),
        "m": _linear(1000.0),
    },
}
"""Converters from table units to canonical units."""


def read_table(
    path: str | Path,
    columns: Mapping[str, Column | tuple[str, str]],
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
    columns : mapping of canonical name to Column or (name, unit)
        Where each variable stands and in which unit (`weather.table.UNITS`).
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
    frame = _open(found)
    stamps = _stamps(frame, time, found.name)
    check_hourly(stamps, place=found.name)
    values: dict[str, np.ndarray] = {}
    for name, column in columns.items():
        values[name] = _convert(frame, name, Column(*column), missing, found.name)
        check_bounds(name, values[name], stamps, place=found.name)
    notes = [f"stamps taken as {stamp}"]
    if stamp == "hour-beginning":
        stamps, values = _shift(stamps, values, cyclic=kind != "measured")
        notes.append("means and sums moved to the end of their hour")
    return build(values, stamps, place, origin_of(found, kind), notes, snow_below=snow_below)


def read_canonical(path: str | Path) -> xr.Dataset:
    """Open a canonical dataset saved with `Dataset.to_netcdf` and check it again.

    Raises
    ------
    WeatherError
        When the file is no canonical dataset, or its values are out of bounds.
    """
    found = require_file(path)
    dataset = _load_netcdf(found)
    for key in ("latitude", "longitude", "altitude", "utc_offset_hours", "history", "kind"):
        if key not in dataset.attrs:
            raise fault(found.name, f"attribute '{key}' is missing", "use weather.read_table")
    time = dataset["time"].values.astype("datetime64[ns]")
    check_hourly(time, place=found.name)
    for name in dataset.data_vars:
        if name not in TABLE:
            raise fault(f"{found.name}, {name}", "no canonical variable", "use weather.read_table")
        check_bounds(str(name), dataset[name].values, time, place=found.name)
    return dataset.assign_coords(time=("time", time, dataset["time"].attrs))


def _open(path: Path) -> Any:
    """Return something indexable by column name."""
    if path.suffix == ".nc":
        return _load_netcdf(path)
    import pandas as pd

    try:
        return pd.read_csv(path, comment="#", skipinitialspace=True)
    except (ValueError, UnicodeDecodeError) as error:
        raise fault(path.name, f"cannot be read as CSV: {error}", "is the file damaged?") from error


def _load_netcdf(path: Path) -> xr.Dataset:
    try:
        with xr.open_dataset(path) as dataset:
            return dataset.load()
    except (OSError, ValueError) as error:
        words = str(error).strip().splitlines() or [type(error).__name__]
        raise fault(
            path.name, f"cannot be read as netCDF: {words[0][:120]}", "damaged, or another format?"
        ) from error


def _stamps(frame: Any, column: str, name: str) -> np.ndarray:
    import pandas as pd

    if column not in frame:
        raise fault(name, f"no column '{column}'", f"columns are {', '.join(map(str, frame))}")
    raw = np.asarray(frame[column])
    try:
        index = pd.DatetimeIndex(pd.to_datetime(raw))
    except (ValueError, TypeError) as error:
        told = str(error).splitlines()[0].split(". You might")[0]
        raise fault(f"{name}, {column}", f"no date: {told}", "write ISO 8601 stamps") from error
    if index.tz is not None:
        raise fault(f"{name}, {column}", "stamps carry a zone", "give local standard time, no zone")
    if index.hasnans:
        row = int(np.flatnonzero(index.isna())[0])
        raise fault(f"{name}, row {row + 1}", f"no stamp in '{column}'", "is the file truncated?")
    return index.to_numpy().astype("datetime64[ns]")


def _convert(
    frame: Any, variable: str, column: Column, missing: float | None, name: str
) -> np.ndarray:
    where = f"{name}, {column.name}"
    if variable not in READABLE:
        raise fault(where, f"'{variable}' is not read", f"choose from {', '.join(READABLE)}")
    if column.name not in frame:
        raise fault(where, "no such column", f"columns are {', '.join(map(str, frame))}")
    known = UNITS[TABLE[variable].units]
    if column.unit not in known:
        raise fault(where, f"unit '{column.unit}' of {variable}", f"known: {', '.join(known)}")
    values = _numbers(np.asarray(frame[column.name]), where)
    if missing is not None:
        values = np.where(values == missing, np.nan, values)
    return known[column.unit](values)


def _numbers(raw: np.ndarray, where: str) -> np.ndarray:
    try:
        values = raw.astype(float)
    except (ValueError, TypeError):
        for row, item in enumerate(raw, start=1):
            try:
                float(item)
            except (ValueError, TypeError):
                raise fault(f"{where}, row {row}", f"'{item}': must be a number") from None
        raise
    if np.isinf(values).any():
        row = int(np.flatnonzero(np.isinf(values))[0]) + 1
        raise fault(f"{where}, row {row}", "infinite value: must be a number")
    return values


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
