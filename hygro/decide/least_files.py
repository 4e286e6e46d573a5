"""The least values as a table: on the terminal, in Markdown, CSV and JSON. Owns their words."""

from __future__ import annotations

from pathlib import Path

from rich.console import RenderableType
from rich.table import Table

from hygro.atomic import write_text
from hygro.decide.engine import engine_name
from hygro.decide.files import kind_of, write_plain, write_table
from hygro.decide.least import Least, LeastResult, LeastValues
from hygro.types import Data, Plain
from hygro.units import convert

ENDINGS = (".md", ".csv", ".json")
CAUTION = "comparative design aid, no proof of compliance; the code path and its edition decide"


def write_least(found: LeastResult, folder: Path, name: str) -> tuple[Path, ...]:
    """Write the table and return the paths; raises `InputError` where a file cannot be written."""
    page, listed, told = files = tuple(folder / f"{name}{end}" for end in ENDINGS)
    rows = [plain_row(found, row) for row in found.rows]
    plain: Data = {
        "case": found.plan.base.name,
        "wall": found.plan.base.wall.name,
        "least": found.along.name,
        "unit": found.along.unit or "SI",
        "within": found.within,
        "rows": rows,
        "engine": engine_name(),
        "plan_sha256": found.plan.sha256,
        "caution": CAUTION,
    }
    write_plain(told, plain)
    write_text(page, markdown(found), kind_of(plain["case"], plain["wall"]))
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
        "unit": found.along.unit or "SI",
    }


def said(found: LeastValues, row: Least) -> str:
    """A value as the table prints it."""
    unit = found.along.unit
    low, high = found.along.ends
    if row.error:
        return "not computed"
    if row.value is None:
        return f"> {high:g}"
    if row.fails is None:
        return f"≤ {low:g}"
    sure = max(found.within, row.uncertainty or 0.0)
    text = f"{row.value:.2f} ± {sure:.2f}"
    if found.along.quantity == "thermal resistance" and not unit:
        text += f" (R-{convert(row.value, 'thermal resistance', 'R'):.0f})"
    return text


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


def named(values: tuple[Plain, ...]) -> str:
    """Values of a combination in a line."""
    return ", ".join(str(value) for value in values)


def markdown(found: LeastResult) -> str:
    """Return the table in Markdown, with what it rests on below."""
    heads, rest = columns(found)
    names = [d.says for d in found.others]
    lines = [
        f"**{found.plan.base.name}: {title(found)}**",
        "",
        f"| {names[0] if names else ''} | " + " | ".join(named(r) or "least" for r in rest) + " |",
        "|---|" + "---|" * len(rest),
    ]
    for head in heads:
        cells = " | ".join(cell(found, head, r) for r in rest)
        lines.append(f"| {named(head)} | {cells} |")
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
        rows.add_column(named(column) or "least", justify="right")
    for head in heads:
        rows.add_row(named(head), *(cell(found, head, column) for column in rest))
    below = [f"  {line}" for line in blamed(found)]
    return [title(found), rows, "what fails just below:", *below[:12], *notes(found)]


def blamed(found: LeastValues) -> list[str]:
    """What fails just below the least value of each combination."""
    told = ((named(tuple(row.at.values())), row.blamed) for row in found.rows if row.blamed)
    return list(dict.fromkeys(": ".join(x for x in pair if x) for pair in told))
