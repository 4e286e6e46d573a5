"""Reads TMY3 and TMY2 files into the canonical dataset; the only module that knows these formats.

Formats: Wilcox & Marion 2008, NREL/TP-581-43156 (TMY3); Marion & Urban 1995 (TMY2), from memory.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Generic, NamedTuple, TypeVar

import numpy as np
import xarray as xr

from weather.arrays import Array, Flags
from weather.canonical import SNOW_BELOW, Place, build, origin_of
from weather.columns import NUMBER, Rows, numbers, read_rows, split
from weather.constants import ZERO_CELSIUS
from weather.errors import WeatherError, fault
from weather.files import read_text, require_file
from weather.stamps import LeapDay, settle

_Source = TypeVar("_Source", str, slice)
"""Head of a TMY3 column, or place of a TMY2 column in its line."""


class _Field(NamedTuple, Generic[_Source]):
    """A column; SI = value·scale + shift."""

    source: _Source
    missing: float
    scale: float = 1.0
    shift: float = 0.0


_TMY3: dict[str, _Field[str]] = {
    "temperature": _Field("Dry-bulb (C)", 9999.0, 1.0, ZERO_CELSIUS),
    "dew_point": _Field("Dew-point (C)", 9999.0, 1.0, ZERO_CELSIUS),
    "relative_humidity": _Field("RHum (%)", 9999.0, 0.01),
    "pressure": _Field("Pressure (mbar)", 9999.0, 100.0),
    "global_horizontal": _Field("GHI (W/m^2)", 9999.0),
    "direct_normal": _Field("DNI (W/m^2)", 9999.0),
    "diffuse_horizontal": _Field("DHI (W/m^2)", 9999.0),
    "wind_direction": _Field("Wdir (degrees)", 990.0),
    "wind_speed": _Field("Wspd (m/s)", 990.0),
    "cloud_cover": _Field("OpqCld (tenths)", 99.0, 0.1),
    "precipitation": _Field("Lprecip depth (mm)", 9999.0),
}
_MOMENT = re.compile(r"(\d+)/(\d+)/(\d+) (\d+):\d+", re.ASCII)
_TMY3_MISSING = -900.0
"""TMY3 marks a missing value by -9900 and the like; nothing else is that low."""

# Slices of a TMY2 line counted from 0.
_TMY2: dict[str, _Field[slice]] = {
    "global_horizontal": _Field(slice(17, 21), 9999.0),
    "direct_normal": _Field(slice(23, 27), 9999.0),
    "diffuse_horizontal": _Field(slice(29, 33), 9999.0),
    "cloud_cover": _Field(slice(63, 65), 99.0, 0.1),
    "temperature": _Field(slice(67, 71), 9999.0, 0.1, ZERO_CELSIUS),
    "dew_point": _Field(slice(73, 77), 9999.0, 0.1, ZERO_CELSIUS),
    "relative_humidity": _Field(slice(79, 82), 999.0, 0.01),
    "pressure": _Field(slice(84, 88), 9999.0, 100.0),
    "wind_direction": _Field(slice(90, 93), 999.0),
    "wind_speed": _Field(slice(95, 98), 999.0, 0.1),
}
_TMY2_LENGTH = 142
_TMY2_DATE = {
    "year": slice(1, 3),
    "month": slice(3, 5),
    "day": slice(5, 7),
    "hour": slice(7, 9),
}


def read_tmy3(
    path: str | Path, *, leap_day: LeapDay = "drop", snow_below: float = SNOW_BELOW
) -> xr.Dataset:
    """Read a TMY3 file (CSV of NREL, 2008 and the 2015 update).

    Liquid precipitation is often missing, given as sums over 6 or 24 hours, or in tenths of a
    millimetre although headed mm; only sums over one hour are taken, and `weather.inspect` and
    `weather.require_rain` judge the annual sum.

    Raises
    ------
    WeatherError
        On a missing, truncated or malformed file; names row and column.
    """
    found = require_file(path)
    lines = read_text(found, lossy=True).splitlines()
    place = _tmy3_place(lines[:1], found.name)
    table = read_rows(lines[1:], found.name, first=2)
    stamps = settle(*_tmy3_date(table), place=found.name, leap_day=leap_day)
    notes = list(stamps.notes)
    columns = {name: _tmy3_column(table, field)[stamps.keep] for name, field in _TMY3.items()}
    _settle_accumulation(columns, table, stamps.keep, notes)
    origin = origin_of(found, "typical year" if stamps.typical else "measured")
    return build(columns, stamps.time, place, origin, notes, snow_below=snow_below)


def read_tmy2(
    path: str | Path, *, leap_day: LeapDay = "drop", snow_below: float = SNOW_BELOW
) -> xr.Dataset:
    """Read a TMY2 file (fixed columns of NREL, 1995). The format holds no precipitation.

    Parsed here and not by pvlib, whose reader splits the header at blanks and so refuses every
    station whose name has two words.

    Raises
    ------
    WeatherError
        On a missing, truncated or malformed file; names line and field.
    """
    found = require_file(path)
    lines = read_text(found, lossy=True).splitlines()
    if len(lines) < 2:
        raise fault(found.name, f"{len(lines)} lines, no data", "is the file truncated?")
    place = _tmy2_place(lines[0], found.name)
    body = lines[1:]
    _check_lengths(body, found.name)
    date = {name: _slices(body, cut, name, found.name) for name, cut in _TMY2_DATE.items()}
    stamps = settle(
        date["year"] + 1900,
        date["month"],
        date["day"],
        date["hour"],
        place=found.name,
        leap_day=leap_day,
    )
    columns = {}
    for name, field in _TMY2.items():
        values = _slices(body, field.source, name, found.name)[stamps.keep]
        columns[name] = np.where(
            values >= field.missing, np.nan, values * field.scale + field.shift
        )
    notes = [*stamps.notes, "precipitation: the TMY2 format has none"]
    kind = origin_of(found, "typical year" if stamps.typical else "measured")
    return build(columns, stamps.time, place, kind, notes, snow_below=snow_below)


def _tmy3_place(lines: list[str], name: str) -> Place:
    where = f"{name}, line 1"
    try:
        ((_, station, state, *numbers),) = (split(line, where) for line in lines)
        zone, latitude, longitude, altitude = map(float, numbers)
        return Place(latitude, longitude, altitude, zone, f"{station}, {state}")
    except ValueError as error:
        what = f"no station, zone, latitude, longitude and altitude ({error})"
        raise fault(where, what, "not a TMY3 file?") from error


def _tmy3_date(table: Rows) -> Array:
    """Year, month, day and hour of the rows."""
    rows = []
    days, clocks = table.column("Date (MM/DD/YYYY)"), table.column("Time (HH:MM)")
    for line, day, clock in zip(table.lines, days, clocks, strict=True):
        match = _MOMENT.fullmatch(f"{day} {clock}")
        if match is None:
            where = f"{table.name}, line {line}, date"
            raise fault(where, f"'{day} {clock}': must be like 01/31/1990 24:00")
        month, date, year, hour = map(float, match.groups())
        rows.append((year, month, date, hour))
    return np.array(rows).T


def _tmy3_column(table: Rows, field: _Field[str]) -> Array:
    values = numbers(table, field.source, gaps=False)
    absent = (values >= field.missing) | (values <= _TMY3_MISSING)
    return np.where(absent, np.nan, values * field.scale + field.shift)


def _settle_accumulation(
    columns: dict[str, Array], table: Rows, keep: Flags, notes: list[str]
) -> None:
    """Keep one-hour sums only: longer ones overlap each other and belong to no single hour."""
    hours = numbers(table, "Lprecip quantity (hr)", gaps=False)[keep]
    several = (hours != 1.0) & ~np.isnan(columns["precipitation"])
    if several.any():
        columns["precipitation"] = np.where(several, np.nan, columns["precipitation"])
        notes.append(
            f"precipitation: {int(several.sum())} sums over several hours treated as missing"
        )


def _tmy2_place(line: str, name: str) -> Place:
    try:
        latitude = float(line[39:41]) + float(line[42:44]) / 60.0
        longitude = float(line[47:50]) + float(line[51:53]) / 60.0
        return Place(
            latitude if line[37] == "N" else -latitude,
            longitude if line[45] == "E" else -longitude,
            float(line[55:59]),
            float(line[33:36]),
            f"{line[7:29].strip()}, {line[30:32]}",
        )
    except (ValueError, IndexError) as error:
        raise WeatherError(f"{name}, line 1: not a TMY2 header ({error})") from error


def _check_lengths(lines: list[str], name: str) -> None:
    for number, line in enumerate(lines, start=2):
        if len(line.rstrip()) < _TMY2_LENGTH - 1:
            raise fault(
                f"{name}, line {number}",
                f"{len(line.rstrip())} characters, must be {_TMY2_LENGTH}",
                "is the file truncated?",
            )


def _slices(lines: list[str], cut: slice, field: str, name: str) -> Array:
    texts = [line[cut].strip() for line in lines]
    for number, text in enumerate(texts, start=2):
        if not NUMBER.fullmatch(text):
            where = f"{name}, line {number}"
            raise fault(where, f"{field} = '{text}': must be a number")
    return np.array(texts, dtype=float)
