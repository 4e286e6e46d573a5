"""Reads CSV files of named columns with units into checked arrays; knows no variable by name."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np

from weather.arrays import Array, Times
from weather.errors import WeatherError, fault
from weather.files import read_text, require_file
from weather.stamps import check_hourly, nanoseconds
from weather.units import UNITS, plain


class Column(NamedTuple):
    """Which column of a table holds a quantity, and in which unit."""

    name: str
    """Header of the column, without its unit."""
    unit: str
    """As in a header, such as "degC"."""


class Quantity(NamedTuple):
    """What a column may hold: canonical unit, bounds in it, and the likely cause outside them."""

    units: str
    """Canonical unit."""
    lower: float
    """Least value, in that unit."""
    upper: float
    """Greatest value, in that unit."""
    cause: str = ""
    """What a message asks about a value outside."""


class Columns(NamedTuple):
    """What `read_columns` found."""

    values: dict[str, Array]
    """By quantity, in canonical units; NaN where missing."""
    time: Times | None
    """Stamps, where the file has them."""
    lines: list[int]
    """Line of the file of each row."""
    heads: list[str]
    """All columns of the file, as written."""


def read_columns(
    path: str | Path,
    quantities: Mapping[str, Quantity],
    *,
    columns: Mapping[str, Column | Sequence[str]] | None = None,
    time: str | None = None,
    gaps: bool = False,
    missing: float | None = None,
) -> Columns:
    """Read the hourly columns of a CSV file, each in the unit that its header or the caller says.

    Lines that begin with # are comments. A quantity is found by a header like `temperature [degC]`,
    or under the name and unit of `columns`; one that is nowhere is left out.

    Parameters
    ----------
    path : path
        The file, UTF-8, with commas and decimal points.
    quantities : mapping of name to Quantity
        What is looked for, with bounds.
    columns : mapping of name to Column or (name, unit), optional
        Columns whose header does not say what they are.
    time : str, optional
        Column of ISO 8601 stamps without zone, one hour apart; `time` where the file has that.
    gaps : bool
        Whether empty cells become NaN; they are refused otherwise.
    missing : float, optional
        Code for a missing value, in the unit of the file; for files that may have gaps.

    Raises
    ------
    WeatherError
        With a line for each faulty column: file, line, value, bound, likely cause.
    """
    found = require_file(path)
    table = read_rows(read_text(found).splitlines(), found.name)
    given = columns or {}
    values: dict[str, Array] = {}
    faults: list[str] = []
    for name, quantity in quantities.items():
        try:
            column = _column(table, name, given.get(name))
            if column is not None:
                values[name] = _values(table, name, quantity, column, gaps, missing)
        except WeatherError as error:
            faults.append(str(error))
    stamps = None
    try:
        if time is not None or "time" in table.heads:
            stamps = _stamps(table, time or "time")
    except WeatherError as error:
        faults.append(str(error))
    if faults:
        raise WeatherError("\n".join(faults))
    return Columns(values, stamps, table.lines, table.heads)


class Rows(NamedTuple):
    """A table as text, with the line of each row."""

    name: str
    heads: list[str]
    cells: list[list[str]]
    lines: list[int]

    def column(self, name: str) -> list[str]:
        """Cells of a column; empty where a row is too short."""
        if self.heads.count(name) > 1:
            raise fault(self.name, f"column '{name}' stands there twice", "rename one of them")
        if name not in self.heads:
            listed = ", ".join(self.heads)
            raise fault(f"{self.name}, {name}", "no such column", f"columns are {listed}")
        number = self.heads.index(name)
        return [row[number].strip() if number < len(row) else "" for row in self.cells]


def read_rows(lines: Sequence[str], name: str, *, first: int = 1) -> Rows:
    """Split lines of CSV text into head and rows; they begin at line `first` of the file."""
    heads: list[str] = []
    table = Rows(name, heads, [], [])
    for number, line in enumerate(lines, start=first):
        if not line.strip() or line.startswith("#"):
            continue
        cells = split(line, f"{name}, line {number}")
        if not heads:
            heads += [cell.strip() for cell in cells]
            continue
        if len(cells) > len(heads):
            what = f"{len(cells)} cells under {len(heads)} heads"
            cause = "a decimal comma, or semicolons between columns?"
            raise fault(f"{name}, line {number}", what, cause)
        table.cells.append(cells)
        table.lines.append(number)
    if not table.cells:
        raise fault(name, "has no rows: a header and hourly values are needed", "truncated?")
    return table


def split(line: str, where: str) -> list[str]:
    """Split a line at its commas; quoted cells end within their line."""
    if '"' not in line:
        return line.split(",")
    try:
        return next(csv.reader([line], skipinitialspace=True, strict=True))
    except csv.Error as error:
        raise fault(where, f"cannot be split ({error})", "a quote not closed?") from error


def numbers(table: Rows, column: str, *, gaps: bool, words: str = "") -> Array:
    """Cells of a column as floats, NaN where empty if there may be gaps.

    Raises
    ------
    WeatherError
        At the first cell that is no finite number, or empty where gaps are not allowed.
    """
    texts = table.column(column)
    result = np.empty(len(texts))
    for row, text in enumerate(texts):
        if NUMBER.fullmatch(text):
            result[row] = float(text)
        elif gaps and text.lower() in _EMPTY:
            result[row] = np.nan
        else:
            place = f"{table.name}, line {table.lines[row]}, {words or column}"
            raise _no_number(place, text)
    if np.isinf(result).any():
        row = int(np.flatnonzero(np.isinf(result))[0])
        place = f"{table.name}, line {table.lines[row]}, {words or column}"
        raise _no_number(place, texts[row])
    return result


NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", re.ASCII)
"""A number as files write it; float() takes more, such as 1_0 and digits of other scripts."""
_EMPTY = ("", "nan", "na", "n/a", "null")
_HEAD = re.compile(r"(.*?)\s*\[(.*)\]")
_STAMP = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d(:\d\d){0,2}", re.ASCII)


def _no_number(place: str, text: str) -> WeatherError:
    if not text:
        return fault(place, "is empty", "is the file truncated?")
    if text.lower() in _EMPTY:
        return fault(place, f"'{text}': must be a finite number", "fill the gap")
    cause = "a decimal comma?" if re.fullmatch(r"[+-]?\d+,\d+", text) else ""
    return fault(place, f"'{text[:40]}': must be a finite number", cause)


def _column(table: Rows, name: str, given: Column | Sequence[str] | None) -> Column | None:
    """Name and unit of the column of a quantity, None where the file has none."""
    if given is not None:
        return Column(*given)
    for head in table.heads:
        match = _HEAD.fullmatch(head)
        word = match.group(1) if match else head
        if word.strip().lower().replace(" ", "_") == name:
            if match is None:
                raise fault(table.name, f"column '{head}' has no unit", f"write '{head} [...]'")
            return Column(head, match.group(2))
    return None


def _values(
    table: Rows, name: str, quantity: Quantity, column: Column, gaps: bool, missing: float | None
) -> Array:
    known = UNITS[quantity.units]
    unit = plain(column.unit)
    if unit not in known:
        place = f"{table.name}, {column.name}"
        raise fault(place, f"unit '{column.unit}' of {name}", f"known: {', '.join(known)}")
    words = name if column.name.startswith(f"{name} [") else f"{column.name} ({name})"
    raw = numbers(table, column.name, gaps=gaps, words=words)
    if missing is not None:
        raw = np.where(raw == missing, np.nan, raw)
    values = raw * known[unit].scale + known[unit].shift
    bad = np.flatnonzero((values < quantity.lower) | (values > quantity.upper))
    if len(bad):
        row = int(bad[0])
        bound = "as a fraction" if quantity.units == "1" else quantity.units
        raise fault(
            f"{table.name}, line {table.lines[row]}, {words}",
            f"{raw[row]:g} {column.unit}: must be {quantity.lower:g} to {quantity.upper:g} {bound}",
            quantity.cause,
        )
    return values


def _stamps(table: Rows, column: str) -> Times:
    """Stamps of a column, one hour apart."""
    texts = table.column(column)
    for row, text in enumerate(texts):
        if not _STAMP.fullmatch(text):
            raise _no_stamp(f"{table.name}, line {table.lines[row]}, {column}", text)
    try:
        seconds = np.array(texts, dtype="datetime64[s]")
    except ValueError as error:
        raise fault(f"{table.name}, {column}", f"no date: {error}", "no such day?") from error
    stamps = nanoseconds(seconds, place=table.name)
    check_hourly(stamps, place=table.name, lines=table.lines)
    return stamps


def _no_stamp(place: str, text: str) -> WeatherError:
    if not text:
        return fault(place, "no stamp", "is the file truncated?")
    cause = "write ISO 8601, as 2001-01-01T01:00"
    if re.fullmatch(r".*\d\d:\d\d.*(Z|[+-]\d\d:?\d\d)", text):
        return fault(
            place, f"'{text}' carries a zone", f"give local standard time, no zone; {cause}"
        )
    return fault(place, f"'{text[:40]}' is no stamp", cause)
