"""The least values as a table: on the terminal, in Markdown, CSV and JSON. Owns their words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

from rich.console import RenderableType
from rich.table import Table

from hygro.atomic import write_text
from hygro.decide.axis import Axis
from hygro.decide.engine import engine_name
from hygro.decide.files import kind_of, write_plain, write_table
from hygro.decide.in_units import found_in
from hygro.decide.least import Least, LeastResult, LeastValues
from hygro.types import Data, Plain
from hygro.units import System, convert

ENDINGS = (".md", ".csv", ".json")
MANY = 7
"""Digits after the point from which on a number is written with a power of ten."""
CAUTION = "comparative design aid, no proof of compliance; the code path and its edition decide"


def write_least(
    found: LeastResult, folder: Path, name: str, system: System = "si"
) -> tuple[Path, ...]:
    """Write the table and return the paths; raises `InputError` where a file cannot be written.

    The table for people is in the units of the family; CSV and JSON in that of the range.
    """
    page, listed, told = files = tuple(folder / f"{name}{end}" for end in ENDINGS)
    rows = [plain_row(found, row) for row in found.rows]
    plain: Data = {
        "case": found.plan.base.name,
        "wall": found.plan.base.wall.name,
        "least": found.along.name,
        "unit": found.along.full_unit,
        "within": found.within,
        "units": {axis.name: axis.full_unit for axis in found.others},
        "rows": rows,
        "engine": engine_name(),
        "plan_sha256": found.plan.sha256,
        "caution": CAUTION,
    }
    write_plain(told, plain)
    write_text(page, markdown(found_in(found, system)), kind_of(plain["case"], plain["wall"]))
    write_table(listed, rows, plain)
    return files


def plain_row(found: LeastResult, row: Least) -> Data:
    """One combination as plain values."""
    return {
        **row.at,
        "least": row.value,
        "fails_at": row.fails,
        "uncertainty": row.uncertainty,
        "blamed": row.blamed,
        "tried": row.tried,
        "error": row.error,
        "unit": found.along.full_unit,
    }


def said(found: LeastValues, row: Least) -> str:
    """A value as the table prints it."""
    unit = found.along.unit
    low, high = found.along.ends
    if row.error:
        return "not computed"
    if row.value is None:
        return f"> {_number(found, high)}"
    if row.fails is None:
        return f"≤ {_number(found, low)}"
    sure = max(row.value - row.fails, row.uncertainty or 0.0)
    text = f"{_number(found, row.value)} ± {_number(found, sure)}"
    if found.along.quantity == "thermal resistance" and not unit:
        text += f" (R-{convert(row.value, 'thermal resistance', 'R'):.0f})"
    return text


def _number(found: LeastValues, value: float) -> str:
    """A value to the digits that the width of the brackets has, in the whole table alike."""
    digits = max(2, -math.floor(math.log10(found.within)))
    return f"{value:.{digits}f}" if digits < MANY else f"{value:.3g}"


def columns(found: LeastValues) -> tuple[list[tuple[Plain, ...]], list[tuple[Plain, ...]]]:
    """Return heads of rows (the first of what varies) and of columns (the rest)."""
    names = [d.name for d in found.others]
    heads = list(dict.fromkeys((row.at[names[0]],) for row in found.rows)) if names else [()]
    rest = list(dict.fromkeys(tuple(row.at[n] for n in names[1:]) for row in found.rows))
    return heads, rest


def cell(found: LeastValues, head: tuple[Plain, ...], rest: tuple[Plain, ...]) -> str:
    """What stands in the table where a row and a column meet."""
    wanted = (*head, *rest)
    row = next(r for r in found.rows if tuple(r.at.values()) == wanted)
    return said(found, row)


def heading(found: LeastValues) -> str:
    """What is least, with its unit."""
    return f"least {found.along.label()}"


def title(found: LeastResult) -> str:
    """What the table is of."""
    return f"{heading(found)}, wall '{found.plan.base.wall.name}'"


def row_head(found: LeastValues, head: tuple[Plain, ...]) -> str:
    """The value that a row is for, with its unit."""
    return _named(found.others[:1], head)


def column_head(found: LeastValues, rest: tuple[Plain, ...]) -> str:
    """The values that a column is for, with their units."""
    return _named(found.others[1:], rest) or "least"


def _named(axes: Sequence[Axis], values: tuple[Plain, ...]) -> str:
    return ", ".join(axis.said(value) for axis, value in zip(axes, values, strict=True))


def markdown(found: LeastResult) -> str:
    """Return the table in Markdown, with what it rests on below."""
    heads, rest = columns(found)
    names = [d.says for d in found.others]
    lines = [
        f"**{found.plan.base.name}: {title(found)}**",
        "",
        f"| {names[0] if names else ''} | "
        + " | ".join(column_head(found, r) for r in rest)
        + " |",
        "|---|" + "---|" * len(rest),
    ]
    for head in heads:
        cells = " | ".join(cell(found, head, r) for r in rest)
        lines.append(f"| {row_head(found, head)} | {cells} |")
    return "\n".join([*lines, "", *notes(found), ""])


def notes(found: LeastValues) -> list[str]:
    """What the numbers mean, and how sure they are."""
    checked = any(row.uncertainty is not None for row in found.rows)
    error = (
        "or how far it moves when every cell is halved, the larger" if checked else
        "the engine's numerical error not checked"
    )  # fmt: skip
    return [
        "Least value from which on the wall passes, tight and with its leaks one by one; ± is the "
        f"width of the bracket, {error}.",
        f"Computed by hygro {engine_name()}; {CAUTION}.",
    ]


def least_pieces(found: LeastResult) -> list[RenderableType]:
    """Return the table for the terminal and the lines below it."""
    heads, rest = columns(found)
    rows = Table(box=None, pad_edge=False)
    rows.add_column(found.others[0].says if found.others else "")
    for column in rest:
        rows.add_column(column_head(found, column), justify="right")
    for head in heads:
        rows.add_row(row_head(found, head), *(cell(found, head, column) for column in rest))
    below = [f"  {line}" for line in blamed(found)]
    return [title(found), rows, "what fails just below:", *below[:12], *notes(found)]


def blamed(found: LeastValues) -> list[str]:
    """What fails just below the least value of each combination."""
    told = ((_named(found.others, tuple(row.at.values())), row.blamed)
            for row in found.rows if row.blamed)  # fmt: skip
    return list(dict.fromkeys(": ".join(x for x in pair if x) for pair in told))
