"""Reads EPW weather files into the canonical dataset; the only module that knows them.

pvlib does the parsing; this module settles missing codes, units, hour labels and mixed years.
Field meanings and missing codes: the published description of the format (from memory).
"""

from __future__ import annotations

import io
import math
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import xarray as xr

from weather.canonical import SNOW_BELOW, Place, build, origin_of, require_file
from weather.errors import fault
from weather.stamps import LeapDay, settle

HEADER_LINES = 8
FIELDS = 35


class _Field(NamedTuple):
    """One column: pvlib's name, position, missing code; SI = value·scale + shift."""

    source: str
    position: int
    missing: float
    scale: float = 1.0
    shift: float = 0.0


_COLUMNS = {
    "temperature": _Field("temp_air", 6, 99.9, 1.0, 273.15),
    "dew_point": _Field("temp_dew", 7, 99.9, 1.0, 273.15),
    "relative_humidity": _Field("relative_humidity", 8, 999.0, 0.01),
    "pressure": _Field("atmospheric_pressure", 9, 999999.0),
    "longwave_down": _Field("ghi_infrared", 12, 9999.0),
    "global_horizontal": _Field("ghi", 13, 9999.0),
    "direct_normal": _Field("dni", 14, 9999.0),
    "diffuse_horizontal": _Field("dhi", 15, 9999.0),
    "wind_direction": _Field("wind_direction", 20, 999.0),
    "wind_speed": _Field("wind_speed", 21, 999.0),
    "cloud_cover": _Field("opaque_sky_cover", 23, 99.0, 0.1),
    "precipitation": _Field("liquid_precipitation_depth", 33, 999.0),
}
_NUMERIC = {"year": 0, "month": 1, "day": 2, "hour": 3} | {
    name: field.position for name, field in _COLUMNS.items()
}


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
    from pvlib.iotools import read_epw as pvlib_read

    found = require_file(path)
    text = found.read_bytes().decode("utf-8", errors="replace")
    dates = _check_text(text, found.name)
    # Dates are settled before pvlib sees them: it fails on bad ones without saying where.
    stamps = settle(*dates, place=found.name, leap_day=leap_day)
    # pvlib takes a buffer: the file's encoding is thus settled here, not by the platform.
    frame, meta = pvlib_read(io.StringIO(text))
    notes = list(stamps.notes)
    columns = {name: _column(frame, field)[stamps.keep] for name, field in _COLUMNS.items()}
    _settle_longwave(columns, notes)
    _settle_accumulation(columns, frame, stamps.keep, notes)
    kind = "typical year" if stamps.typical else "measured"
    notes.append(f"kind '{kind}' taken from the years in the file")
    place = Place(
        meta["latitude"],
        meta["longitude"],
        meta["altitude"],
        meta["TZ"],
        ", ".join(str(meta[key]) for key in ("city", "state-prov", "country")),
    )
    return build(
        columns,
        stamps.time,
        place,
        origin_of(found, "typical year" if stamps.typical else "measured"),
        notes,
        snow_below=snow_below,
    )


def _column(frame: Any, field: _Field) -> np.ndarray:
    values = np.asarray(frame[field.source], dtype=float)
    # Writers pad the codes differently (9999, 9999., 99999): at or above the code is missing.
    return np.where(values >= field.missing, np.nan, values * field.scale + field.shift)


def _settle_longwave(columns: dict[str, np.ndarray], notes: list[str]) -> None:
    if not np.any(columns["longwave_down"] > 0.0):
        columns["longwave_down"] = np.full_like(columns["longwave_down"], np.nan)
        notes.append("longwave_down: zero or missing all year")


def _settle_accumulation(
    columns: dict[str, np.ndarray], frame: Any, keep: np.ndarray, notes: list[str]
) -> None:
    """Amounts gathered over several hours do not belong to one hour: treat them as missing."""
    hours = np.asarray(frame["liquid_precipitation_quantity"], dtype=float)[keep]
    several = (hours > 1.0) & (hours < 99.0) & (columns["precipitation"] > 0.0)
    if several.any():
        columns["precipitation"] = np.where(several, np.nan, columns["precipitation"])
        notes.append(
            f"precipitation: {int(several.sum())} sums over several hours treated as missing"
        )
    if np.all(columns["precipitation"] == 0.0):
        notes.append("precipitation: zero all year in the file, so it holds no rain data")


def _check_text(text: str, name: str) -> np.ndarray:
    """Check header and fields; return year, month, day and hour of the lines."""
    lines = text.splitlines()
    if not lines or not lines[0].startswith("LOCATION,"):
        raise fault(f"{name}, line 1", "does not start with 'LOCATION,'", "not an EPW file")
    if len(lines) <= HEADER_LINES:
        raise fault(name, f"{len(lines)} lines, no data", "is the file truncated?")
    _check_location(lines[0], name)
    dates = []
    for number, line in enumerate(lines[HEADER_LINES:], start=HEADER_LINES + 1):
        if line.strip():
            fields = line.split(",")
            _check_line(fields, f"{name}, line {number}")
            dates.append([float(part) for part in fields[:4]])
    return np.array(dates).T


def _check_location(line: str, name: str) -> None:
    fields = line.split(",")
    if len(fields) < 10:
        raise fault(f"{name}, line 1", f"{len(fields)} fields, LOCATION has 10")
    for position in range(6, 10):
        _number(
            fields[position],
            f"{name}, line 1",
            ("latitude", "longitude", "zone", "altitude")[position - 6],
        )


def _check_line(fields: list[str], where: str) -> None:
    if len(fields) != FIELDS:
        raise fault(where, f"{len(fields)} fields, must be {FIELDS}", "is the file truncated?")
    try:
        sound = math.isfinite(sum([float(fields[position]) for position in _NUMERIC.values()]))
    except ValueError:
        sound = False
    if not sound:
        for name, position in _NUMERIC.items():
            _number(fields[position], where, name)


def _number(text: str, where: str, name: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not np.isfinite(value):
        raise fault(where, f"{name} = '{text.strip()}': must be a number")
    return value
