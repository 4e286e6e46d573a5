"""Reads EPW weather files into the canonical dataset; the only module that knows them.

Settles missing codes, units, hour labels and mixed years. Field meanings and missing codes: the
published description of the format (from memory).
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import NamedTuple

import numpy as np
import xarray as xr

from weather.arrays import Array
from weather.canonical import SNOW_BELOW, Place, build, origin_of
from weather.columns import split
from weather.constants import ZERO_CELSIUS
from weather.errors import fault
from weather.files import read_text, require_file
from weather.stamps import LeapDay, Stamps, settle

HEADER_LINES = 8
FIELDS = 35


class _Field(NamedTuple):
    """One column: position, missing code; SI = value·scale + shift."""

    position: int
    missing: float
    scale: float = 1.0
    shift: float = 0.0


_COLUMNS = {
    "temperature": _Field(6, 99.9, 1.0, ZERO_CELSIUS),
    "dew_point": _Field(7, 99.9, 1.0, ZERO_CELSIUS),
    "relative_humidity": _Field(8, 999.0, 0.01),
    "pressure": _Field(9, 999999.0),
    "longwave_down": _Field(12, 9999.0),
    "global_horizontal": _Field(13, 9999.0),
    "direct_normal": _Field(14, 9999.0),
    "diffuse_horizontal": _Field(15, 9999.0),
    "wind_direction": _Field(20, 999.0),
    "wind_speed": _Field(21, 999.0),
    "cloud_cover": _Field(23, 99.0, 0.1),
    "snow_depth": _Field(30, 999.0, 0.01),
    "precipitation": _Field(33, 999.0),
}
_DATE = {"year": 0, "month": 1, "day": 2, "hour": 3}
_HOURS = {"hours of precipitation": 34}
"""Hours over which the precipitation was gathered; often left empty."""
_NUMERIC = _DATE | {name: field.position for name, field in _COLUMNS.items()}


def read_epw(
    path: str | Path, *, leap_day: LeapDay = "keep", snow_below: float = SNOW_BELOW
) -> xr.Dataset:
    """Read an EPW file.

    Parameters
    ----------
    path : path
        The file.
    leap_day : {"keep", "drop"}
        Whether 29 February stays; a year put together from several years must drop it.
    snow_below : float
        Air temperature below which precipitation is snow. [K]

    Raises
    ------
    WeatherError
        On a missing, truncated or malformed file; names line and field.
    """
    found = require_file(path)
    lines = read_text(found, lossy=True).splitlines()
    place = _place(lines, found.name)
    cells = _cells(lines, found.name)
    stamps = settle(
        *(cells[name] for name in _DATE),
        place=found.name,
        leap_day=leap_day,
    )
    columns = {name: _column(cells[name], field)[stamps.keep] for name, field in _COLUMNS.items()}
    notes = list(stamps.notes)
    _settle_zeros(columns, notes)
    _settle_accumulation(columns, cells, stamps, notes)
    origin = origin_of(found, "typical year" if stamps.typical else "measured")
    notes.append(f"kind '{origin.kind}' taken from the years in the file")
    return build(columns, stamps.time, place, origin, notes, snow_below=snow_below)


def _column(values: Array, field: _Field) -> Array:
    # Writers pad the codes differently (9999, 9999., 99999): at or above the code is missing.
    return np.where(values >= field.missing, np.nan, values * field.scale + field.shift)


def _settle_zeros(columns: dict[str, Array], notes: list[str]) -> None:
    """Many files hold zeros where nothing was recorded."""
    for name in ("longwave_down", "snow_depth"):
        if not np.any(columns[name] > 0.0):
            columns[name] = np.full_like(columns[name], np.nan)
            notes.append(f"{name}: zero or missing all year")


def _settle_accumulation(
    columns: dict[str, Array], cells: dict[str, Array], stamps: Stamps, notes: list[str]
) -> None:
    """Amounts gathered over several hours do not belong to one hour: treat them as missing."""
    (name,) = _HOURS
    hours = cells[name][stamps.keep]
    several = (hours > 1.0) & (hours < 99.0) & (columns["precipitation"] > 0.0)
    if several.any():
        columns["precipitation"] = np.where(several, np.nan, columns["precipitation"])
        notes.append(
            f"precipitation: {int(several.sum())} sums over several hours treated as missing"
        )
    if np.all(columns["precipitation"] == 0.0):
        notes.append("precipitation: zero all year in the file, so it holds no rain data")


def _place(lines: list[str], name: str) -> Place:
    """Site from the first line."""
    if not lines or not lines[0].startswith("LOCATION,"):
        raise fault(f"{name}, line 1", "does not start with 'LOCATION,'", "not an EPW file")
    if len(lines) <= HEADER_LINES:
        raise fault(name, f"{len(lines)} lines, no data", "is the file truncated?")
    fields = split(lines[0], f"{name}, line 1")
    if len(fields) < 10:
        raise fault(f"{name}, line 1", f"{len(fields)} fields, LOCATION has 10")
    latitude, longitude, zone, altitude = (
        _number(fields[position], f"{name}, line 1", word)
        for position, word in enumerate(("latitude", "longitude", "zone", "altitude"), start=6)
    )
    return Place(latitude, longitude, altitude, zone, ", ".join(fields[1:4]))


def _cells(lines: list[str], name: str) -> dict[str, Array]:
    """Numbers of the data lines by name, as the file gives them."""
    rows = [
        _row(line, f"{name}, line {number}")
        for number, line in enumerate(lines[HEADER_LINES:], start=HEADER_LINES + 1)
        if line.strip()
    ]
    table = np.array(rows)
    return {key: table[:, column] for column, key in enumerate((*_NUMERIC, *_HOURS))}


def _row(line: str, where: str) -> list[float]:
    fields = split(line, where)
    if len(fields) != FIELDS:
        raise fault(where, f"{len(fields)} fields, must be {FIELDS}", "is the file truncated?")
    try:
        row = [float(fields[position]) for position in _NUMERIC.values()]
        sound = math.fsum(map(abs, row)) < 1e9
    except ValueError:
        sound = False
    if not sound:
        row = [_number(fields[position], where, key) for key, position in _NUMERIC.items()]
    ((word, last),) = _HOURS.items()
    text = fields[last]
    return [*row, _number(text, where, word) if text.strip() else math.nan]


def _number(text: str, where: str, name: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not abs(value) < 1e9:
        raise fault(where, f"{name} = '{text.strip()}': must be a number")
    return value
