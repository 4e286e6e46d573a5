"""Points of a curve, typed as [x, y] or read from a CSV file. Owns the axes and the reader.

A curve that takes `[[x, y], ...]` also takes `{ file = "sorption.csv" }`, a CSV file beside the
input. Its columns are found by headers that carry a unit, `rh [%]` and `water_content [kg/m3]`;
others are named: `{ file = "sorption.csv", columns = ["phi [%]", "w [kg/m3]"] }`. What a curve
holds, and a record stores, are the points.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

from pydantic import BeforeValidator, ValidationInfo, WithJsonSchema

from hygro.errors import InputError, near_matches
from hygro.material.curves import Points, points
from hygro.quantities import QUANTITIES
from hygro.units import convert, parse
from weather.columns import Rows, numbers, read_rows
from weather.errors import WeatherError
from weather.files import read_text, require_file


class Axis(NamedTuple):
    """What one number of a point is.

    Attributes
    ----------
    name : str
        Word for it, also in the header of a CSV file.
    kind : str
        A quantity of `hygro.units`; a CSV file may have any of its units.
    low, high : float
        Bounds in the unit of the point, before a logarithm is taken.
    cause : str
        Likely cause of a value outside.
    unit : str
        Unit of the point; left out: the SI unit.
    log10 : bool
        The point is the decimal logarithm; a CSV file has the quantity itself.
    """

    name: str
    kind: str
    low: float
    high: float
    cause: str
    unit: str = ""
    log10: bool = False

    @property
    def typed(self) -> str:
        """Name and unit as a point has them."""
        unit = self.unit or QUANTITIES[self.kind].si
        return f"{'log10 ' if self.log10 else ''}{self.name} [{unit}]"

    def point(self, number: float, unit: str) -> float:
        """Return the number of a point; raises `InputError` for an unknown unit or a bound."""
        value = parse(f"{number!r} {unit}", self.kind)
        value = convert(value, self.kind, self.unit) if self.unit else value
        if not self.low <= value <= self.high:
            bound = f"{self.low:g} to {self.high:g} {self.unit or QUANTITIES[self.kind].si}"
            raise InputError(f"{number:g} {unit}: must be {bound}; {self.cause}")
        return math.log10(value) if self.log10 else value


class Axes(NamedTuple):
    """The two axes of a curve; `rising` where the points must rise along the first."""

    x: Axis
    y: Axis
    rising: bool = True


RH = Axis("rh", "fraction", 0.0, 1.0, "is it in percent?")
WATER = Axis("water_content", "density", 0.0, 1000.0, "water content is in kg/m³")
SUCTION = Axis("suction", "pressure", 1e-3, 1e12, "is the unit right (Pa, kPa, MPa)?")
LOG_SUCTION = SUCTION._replace(cause="is it the suction itself? take its log10, in Pa", log10=True)
TEMPERATURE = Axis("temperature", "temperature", 200.0, 400.0, "is it in °C where K is wanted?")
FACTOR = Axis("factor", "fraction", 0.01, 100.0, "1 at the temperature of the conductivity")
PERMEABILITY = Axis("permeability", "permeability", 1e-20, 1e-9, "is the unit right?")
PERMEANCE = Axis("permeance", "permeance", 1e-6, 1e5, "is the unit right?", unit="perm")
CONDUCTIVITY = Axis("conductivity", "conductivity", 1e-3, 500.0, "is the unit right?")
LIQUID_K = Axis(
    "liquid_conductivity", "liquid conductivity", 1e-40, 1.0, "in s, not its log10", log10=True
)
DIFFUSIVITY = Axis(
    "diffusivity", "liquid diffusivity", 1e-40, 1.0, "in m²/s, not its log10", log10=True
)


def along(x: Axis, y: Axis, *, rising: bool = True) -> tuple[Axes, BeforeValidator, WithJsonSchema]:
    """Return axes, reader and schema of a field that holds points."""
    axes = Axes(x, y, rising)

    def read(value: object, info: ValidationInfo) -> Points | None:
        if not isinstance(value, Mapping):
            return value if value is None else points(value)
        return from_csv(value, axes, Path((info.context or {}).get("folder", ".")))

    row = {"type": "array", "minItems": 2, "items": {"type": "number"}}
    file = {
        "type": "object",
        "required": ["file"],
        "additionalProperties": False,
        "properties": {
            "file": {"type": "string"},
            "columns": {"type": "array", "minItems": 2, "maxItems": 2, "items": {"type": "string"}},
        },
    }
    schema = {"anyOf": [{"type": "array", "items": row}, file], "x-axes": [x.typed, y.typed]}
    return axes, BeforeValidator(read), WithJsonSchema(schema)


def from_csv(entry: Mapping[str, object], axes: Axes, folder: Path) -> Points:
    """Read the points that a table `{ file, columns }` names.

    Raises
    ------
    InputError
        At the first fault: file, line, column, value, bound, likely cause.
    """
    file, heads = _settled(entry, axes)
    try:
        table = read_rows(read_text(require_file(folder / file)).splitlines(), file)
        first, second = _column(table, axes.x, heads[0]), _column(table, axes.y, heads[1])
    except WeatherError as error:
        raise InputError(str(error)) from error
    if axes.rising:
        _require_rising(table, first, axes.x)
    return tuple(zip(first, second, strict=True))


def _settled(entry: Mapping[str, object], axes: Axes) -> tuple[str, tuple[str, str]]:
    for key in entry:
        if key not in ("file", "columns"):
            raise InputError(f"{key}: unknown key; {near_matches(key, ('file', 'columns'))}")
    file, heads = entry.get("file"), entry.get("columns", (axes.x.name, axes.y.name))
    if not isinstance(file, str) or not file:
        raise InputError(f"file: {file!r}: must be the name of a CSV file, text in quotes")
    if not (isinstance(heads, list | tuple) and [type(h) for h in heads] == [str, str]):
        example = f'["{axes.x.name} [...]", "{axes.y.name} [...]"]'
        raise InputError(f"columns: {heads!r}: must be two headers, such as {example}")
    return file, (heads[0], heads[1])


_HEAD = re.compile(r"(.*?)\s*\[(.*)\]")


def _column(table: Rows, axis: Axis, wanted: str) -> list[float]:
    """Points along one axis, from the column whose header is the text wanted or begins with it."""
    head = wanted if wanted in table.heads else _found(table, wanted)
    match = _HEAD.fullmatch(head)
    if match is None:
        unit = axis.unit or QUANTITIES[axis.kind].si
        raise InputError(f"{table.name}: column '{head}' has no unit; write '{head} [{unit}]'")
    found = []
    for line, number in zip(table.lines, numbers(table, head, gaps=False), strict=True):
        try:
            found.append(axis.point(float(number), match.group(2)))
        except InputError as error:
            raise InputError(f"{table.name}, line {line}, {head}: {error}") from error
    return found


def _found(table: Rows, wanted: str) -> str:
    for head in table.heads:
        match = _HEAD.fullmatch(head)
        if match and match.group(1) == wanted:
            return head
    shown = wanted if "[" in wanted else f"{wanted} [...]"
    raise InputError(
        f"{table.name}: no column '{shown}'; columns are {', '.join(table.heads)}; "
        'name two of them: columns = ["...", "..."]'
    )


def _require_rising(table: Rows, values: list[float], axis: Axis) -> None:
    for line, (before, after) in zip(table.lines[1:], pairwise(values), strict=True):
        if after <= before:
            raise InputError(
                f"{table.name}, line {line}: {axis.name} = {after:g} after {before:g}: must rise "
                "strictly; are the points out of order or doubled?"
            )
