"""The material listing and the data sheet as tables. Owns their columns; reads no data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich.table import Table

from hygro.material.describe import Column, Detail
from hygro.show.tables import plain

_SHOWN = {
    "layer": ("key", "name", "density", "conductivity", "permeability_dry"),
    "sheet": ("key", "name", "permeance_dry", "permeance_wet"),
}
"""Columns of the listing by kind; the rest is in the JSON and in the data sheet."""


def listings(
    rows: Sequence[Mapping[str, float | str | None]], columns: Sequence[Column]
) -> list[Table]:
    """Return a table of the layer materials and one of the sheets, as far as there are any."""
    return [
        _listing(kind, rows, columns) for kind in _SHOWN if any(r["kind"] == kind for r in rows)
    ]


def _listing(
    kind: str, rows: Sequence[Mapping[str, float | str | None]], columns: Sequence[Column]
) -> Table:
    shown = [column for column in columns if column.key in _SHOWN[kind]]
    headings = ["\n".join(part for part in (_short(c.heading), c.unit) if part) for c in shown]
    body = [[cell(row[c.key]) for c in shown] for row in rows if row["kind"] == kind]
    table = plain({"layer": "Materials", "sheet": "Sheets"}[kind], headings, body)
    for column in (table.columns[0], *table.columns[2:]):
        column.no_wrap = True
    table.columns[1].justify = "left"
    return table


def _short(heading: str) -> str:
    """A heading that fits a narrow column."""
    for long, short in (("Permeability, ", "Permeab.\n"), ("Conductivity at ", "Conduct.\n")):
        heading = heading.replace(long, short)
    return heading


def sheet(key: str, details: Sequence[Detail]) -> Table:
    """Return everything that is known of one material; each source is named once, below."""
    numbers = {source: k for k, source in enumerate(dict.fromkeys(d.source for d in details), 1)}
    table = plain(key, ("Property", "Condition", "Value", "Unit", "Source"), ())
    for column in (table.columns[1], table.columns[3], table.columns[4]):
        column.justify = "left"
    last = ""
    for d in details:
        name = "" if d.property == last else d.property
        table.add_row(name, d.condition, cell(d.value), d.unit, f"[{numbers[d.source]}]")
        last = d.property
    return table


def source_lines(details: Sequence[Detail]) -> list[str]:
    """Return the sources of a data sheet by the numbers that stand in it."""
    named = dict.fromkeys(d.source for d in details)
    return [f"[{k}] {source}" for k, source in enumerate(named, 1)]


def cell(value: float | str | None) -> str:
    """Write a value with three digits; a dash where there is none."""
    if value is None:
        return "–"
    if isinstance(value, str):
        return value
    return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.3g}"
