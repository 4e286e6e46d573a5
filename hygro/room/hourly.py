"""A room from an hourly table: reads the file and lays its rows beside the outdoor hours.

Owns the columns, units and bounds of that table; the room itself is a `room_models.Series`.
"""

from __future__ import annotations

import csv
import dataclasses
import hashlib
import re
from pathlib import Path
from typing import Annotated, Any, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, ValidationInfo, model_validator

from hygro.declare import declared, set_once, tag
from hygro.errors import InputError, near_matches
from hygro.fields import Name, Text, counted
from hygro.problems import Problem, RefusedError
from hygro.room.models import Series
from hygro.room.time import IndoorClimate, Outdoor
from weather.moistair import saturation_pressure
from weather.table import UNITS

Array = NDArray[np.float64]
YEAR = 8760
"""Rows of a year without a leap day, which may stand for every year of the run."""


class _Kind(NamedTuple):
    """A column by its name in the case: SI unit, bounds in it, and what a value outside may be."""

    unit: str
    low: float
    high: float
    cause: str


COLUMNS = {
    "temperature": _Kind("K", 223.15, 343.15, "is the unit right (degC, degF, K)?"),
    "relative_humidity": _Kind("1", 0.0, 1.0, "is it in percent? then give the unit %"),
    "vapour_pressure": _Kind("Pa", 0.0, 12000.0, "is the unit right (Pa, hPa, kPa)?"),
}
"""Bounds of indoor air; the pressure is that of saturation near 49 °C."""


Column = Annotated[tuple[Text, ...], counted(2, 2)]
"""Name of a column and the unit of its numbers."""


class _Air(NamedTuple):
    """What the file gives: one value a row; the stamp of the first, where it has stamps."""

    temperature: Array
    vapour_pressure: Array
    first: np.datetime64 | None


@declared
class HourlyRoom:
    """Hourly indoor air from a CSV file; a row stands for the end of its hour.

    A header like `temperature [degC]`, `relative_humidity [%]` or `vapour_pressure [Pa]` says what
    a column is; other headers are named here: `temperature = ["T", "degC"]`. The rows are a year
    of 8760 hours from 1 January on, repeated, or all hours of the run; where there is a column
    `time` of ISO 8601 stamps they are found by their stamps.

    Parameters
    ----------
    file : str
        The CSV file, in a case beside the case.
    temperature, relative_humidity, vapour_pressure : list of two texts, optional
        Name of the column and its unit; left out: found by its header.
    time : str, optional
        Name of the column of stamps; left out: "time" where there is one.
    """

    file: Name
    temperature: Column | None = None
    relative_humidity: Column | None = None
    vapour_pressure: Column | None = None
    time: Text | None = None
    sha256: Annotated[str, Field(exclude=True)] = dataclasses.field(default="", kw_only=True)
    kind: Literal["file"] = tag(default="file", kw_only=True)

    @model_validator(mode="after")
    def _read(self, info: ValidationInfo) -> HourlyRoom:
        """Read the file at once, so that what is wrong with it is told with the rest."""
        path = Path((info.context or {}).get("folder", "."), self.file)
        object.__setattr__(self, "_air", _read_air(self, path))
        set_once(self, "sha256", hashlib.sha256(path.read_bytes()).hexdigest())
        return self

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Return the rows that belong to the outdoor instants.

        Raises
        ------
        InputError
            The file is neither a year nor as long as the run.
        """
        air: _Air = self._air  # type: ignore[attr-defined]
        rows, words = _rows_of(air, outdoor.time)
        source = f"{self.file} (sha256 {self.sha256}); {words}"
        return Series(air.temperature[rows], air.vapour_pressure[rows], source).climate(outdoor)


def _rows_of(air: _Air, time: NDArray[np.datetime64]) -> tuple[NDArray[np.int64], str]:
    hours, count = len(time) - 1, len(air.temperature)
    if air.first is not None:
        row = ((time - air.first) // np.timedelta64(1, "h")).astype(np.int64)
        if row[1] >= 0 and row[-1] < count:
            return np.maximum(row, 0), "hours found by their stamps"
    if count == YEAR:
        return _calendar(air.first, time), "its year stands for every year of the run"
    if count == hours and air.first is None:
        return np.maximum(np.arange(hours + 1) - 1, 0), "hours in the order of the weather"
    span = "" if air.first is None else f" from {air.first.astype('datetime64[h]')} on"
    raise InputError(
        f"{count} rows{span}: must be {YEAR} (a year, which is repeated) or the {hours} hours "
        f"of the run, {time[1].astype('datetime64[h]')} to {time[-1].astype('datetime64[h]')}"
        + ("; a leap year has 8784: drop 29 February" if count == YEAR + 24 else "")
    )


def _calendar(first: np.datetime64 | None, time: NDArray[np.datetime64]) -> NDArray[np.int64]:
    """Rows by month, day and hour; 29 February repeats the day before."""
    start = 1 if first is None else int(_hour_of_year(np.array([first]))[0])
    return (_hour_of_year(time) - start) % YEAR


def _hour_of_year(time: NDArray[np.datetime64]) -> NDArray[np.int64]:
    """Hours since 1 January of a year of 365 days."""
    year = time.astype("datetime64[Y]")
    hour = ((time - year.astype("datetime64[h]")) // np.timedelta64(1, "h")).astype(np.int64)
    length = (year + 1).astype("datetime64[D]") - year.astype("datetime64[D]")
    return np.where((length.astype(int) == 366) & (hour >= 59 * 24), hour - 24, hour)


def _read_air(entry: HourlyRoom, path: Path) -> _Air:
    """Read the table of a room; raises `RefusedError` with every fault of it."""
    rows = _table(path, entry.file)
    values, problems = _columns(entry, rows)
    time = entry.time or ("time" if "time" in rows.heads else None)
    first = None if time is None else _first_stamp(rows, time, problems)
    if not problems:
        problems += _saturated(values)
    if problems:
        raise RefusedError("", [Problem("file", f"{entry.file}, {text}") for text in problems])
    T = values["temperature"]
    p = values.get("vapour_pressure")
    if p is None:
        p = values["relative_humidity"] * saturation_pressure(T, over="water")
    return _Air(T, p, first)


class _Rows(NamedTuple):
    """A table as text, with the line numbers of its rows."""

    heads: list[str]
    cells: list[list[str]]
    lines: list[int]


def _table(path: Path, name: str) -> _Rows:
    fault = None
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            read = csv.reader(file, skipinitialspace=True)
            kept = [(read.line_num, row) for row in read if row and not row[0].startswith("#")]
    except FileNotFoundError:
        fault = f'"{name}": no such file beside the case ({path})'
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        fault = f'"{name}": cannot be read as CSV text ({error}); is the file damaged?'
    if fault is None and len(kept) < 2:
        fault = f'"{name}": has no rows; a header and hourly values are needed'
    if fault is not None:
        raise RefusedError("", [Problem("file", fault)])
    heads = [head.strip() for head in kept[0][1]]
    return _Rows(heads, [row for _, row in kept[1:]], [line for line, _ in kept[1:]])


def _columns(entry: HourlyRoom, rows: _Rows) -> tuple[dict[str, Array], list[str]]:
    found: dict[str, Array] = {}
    problems: list[str] = []
    for key in COLUMNS:
        try:
            place = _place(rows.heads, key, getattr(entry, key))
            if place is not None:
                found[key] = _values(rows, key, *place)
        except InputError as error:
            problems.append(str(error))
            found[key] = np.empty(0)
    humid = [key for key in ("relative_humidity", "vapour_pressure") if key in found]
    if "temperature" not in found:
        problems.append(f"header: no column temperature; {_offer(rows.heads)}")
    if len(humid) != 1:
        word = "both columns" if humid else "no column"
        problems.append(
            f"header: {word} relative_humidity and vapour_pressure; one of them is needed; "
            + _offer(rows.heads)
        )
    return found, problems


def _offer(heads: list[str]) -> str:
    return (
        f"columns are {', '.join(heads)}; write a header like 'temperature [degC]', or name column "
        'and unit in the case: temperature = ["T", "degC"]'
    )


_HEAD = re.compile(r"(.*?)\s*\[(.*)\]")


def _place(heads: list[str], key: str, given: tuple[str, ...] | None) -> tuple[int, str] | None:
    """Return number and unit of the column of a quantity, None where the file has none."""
    if given is not None:
        name, unit = given
        if name not in heads:
            raise InputError(f"{key}: no column '{name}'; {near_matches(name, heads)}")
        return heads.index(name), unit
    for i, head in enumerate(heads):
        match = _HEAD.fullmatch(head)
        name = (match.group(1) if match else head).strip().lower().replace(" ", "_")
        if name == key:
            if match is None:
                raise InputError(f"column '{head}': has no unit; write '{head} [...]'")
            return i, match.group(2).strip()
    return None


def _values(rows: _Rows, key: str, column: int, unit: str) -> Array:
    kind = COLUMNS[key]
    known = UNITS[kind.unit]
    if unit not in known:
        raise InputError(f"{key}: unit '{unit}': known: {', '.join(known)}")
    raw = [_number(rows, i, column, key) for i in range(len(rows.cells))]
    values = known[unit](np.array(raw))
    bad = (values < kind.low) | (values > kind.high)
    if bad.any():
        i = int(np.argmax(bad))
        raise InputError(
            f"line {rows.lines[i]}, {key}: {raw[i]:g} {unit}: must be {kind.low:g} to "
            f"{kind.high:g} {kind.unit if kind.unit != '1' else 'as a fraction'}; {kind.cause}"
        )
    if key == "relative_humidity" and values.max() <= 0.01:
        raise InputError(f"{key}: no value above 1 %: is it a fraction? then give the unit 1")
    return np.asarray(values)


def _number(rows: _Rows, row: int, column: int, key: str) -> float:
    line, cells = rows.lines[row], rows.cells[row]
    text = cells[column].strip() if column < len(cells) else ""
    if not text:
        raise InputError(f"line {line}, {key}: is empty; is the file truncated?")
    try:
        value = float(text)
    except ValueError:
        raise InputError(f"line {line}, {key}: '{text}': must be a number") from None
    if not np.isfinite(value):
        raise InputError(f"line {line}, {key}: '{text}': must be a finite number; fill the gap")
    return value


_STAMP = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d(:\d\d){0,2}")


def _first_stamp(rows: _Rows, name: str, problems: list[str]) -> np.datetime64 | None:
    if name not in rows.heads:
        problems.append(f"time: no column '{name}'; {near_matches(name, rows.heads)}")
        return None
    column = rows.heads.index(name)
    first: Any = None
    last: Any = None
    for line, cells in zip(rows.lines, rows.cells, strict=True):
        text = cells[column].strip() if column < len(cells) else ""
        try:
            if not _STAMP.fullmatch(text):
                raise ValueError
            stamp: Any = np.datetime64(text, "s")
        except ValueError:
            problems.append(
                f"line {line}, {name}: '{text}': must be local standard time, no zone, written "
                "like 2001-01-01T01:00"
            )
            return None
        if last is not None and stamp - last != np.timedelta64(3600, "s"):
            problems.append(f"line {line}, {name}: {text} does not follow by one hour")
            return None
        first, last = stamp if first is None else first, stamp
    return first


def _saturated(values: dict[str, Array]) -> list[str]:
    p = values.get("vapour_pressure")
    if p is None:
        return []
    limit = saturation_pressure(values["temperature"], over="water")
    if (p <= limit).all():
        return []
    i = int(np.argmax(p > limit))
    return [
        f"row {i + 1}, vapour_pressure: {p[i]:.0f} Pa: must be at most {limit[i]:.0f} Pa, "
        f"saturation at {values['temperature'][i]:.2f} K; {COLUMNS['vapour_pressure'].cause}"
    ]
