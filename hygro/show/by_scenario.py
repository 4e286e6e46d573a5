"""One wall's findings, its scenarios side by side. Owns which of them are worth a row."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from rich.console import JustifyMethod
from rich.table import Table

from hygro.assess.verdict import short_place
from hygro.show import tables, why
from hygro.show.converted import converted
from hygro.units import System

if TYPE_CHECKING:
    from hygro.assess.criteria import Finding
    from hygro.study.compare import Compared

MANY = 6
"""Columns above which they are narrower, so that 80 letters hold them all."""
CLOSE = 0.25
"""Share of a limit that must be left where a finding is worth no row (our choice). [1]"""


def sentence(item: Compared, *, system: System = "si") -> str:
    """Return the verdict on a wall: its class, and the finding that decides."""
    return converted(f"{item.name}: {item.outcome}; {item.nearest}", system)


def other_reasons(item: Compared, *, system: System = "si") -> list[str]:
    """Return why the wall is not within limits, without what `sentence` says."""
    worst = item.deciding.verdict.worst
    said = "" if worst is None else converted(worst.reason, system)
    return [line for line in why.reasons((item,), system=system)[1:] if said not in line]


def table(item: Compared, *, system: System = "si", every: bool = False) -> Table:
    """Return a row for every finding that is beyond, near or without its limit, or for all."""
    found = tables.listed("Findings", *_headings(item))
    many = len(found.columns) > MANY
    for k, column in enumerate(found.columns):
        column.min_width = (11 if many else 13) if k < 2 else (6 if many else 7)
    found.columns[-1].min_width = 7
    rows = _rows(item)
    shown = {key: row for key, row in rows.items() if every or _speaks(item, row)}
    for hard in (True, False):
        mine = [row for row in shown.values() if _first(row).hard is hard]
        if mine and not hard:
            found.add_section()
            found.add_row("advisory:", style="dim")
        for line in _lines(mine, system):
            found.add_row(*line[0], style="bold" if line[1] else "")
    hidden = len(rows) - len(shown)
    found.caption = "! beyond its limit" + (f"; {hidden} more are within: --all" if hidden else "")
    found.caption_justify = "left"
    return found


def _headings(item: Compared) -> list[tuple[str, JustifyMethod]]:
    names = ["value"] if item.leaky is None else [o.run.scenario for o in item.outcomes]
    return [("Criterion", "left"), ("Place", "left"), *((n, "right") for n in (*names, "Limit"))]


Row = tuple["Finding | None", ...]
"""The findings of one criterion at one place, scenario by scenario."""


def _rows(item: Compared) -> dict[tuple[str, str], Row]:
    found = [{(f.criterion.key, f.place): f for f in o.verdict.findings} for o in item.outcomes]
    keys = dict.fromkeys(key for one in found for key in one)
    return {key: tuple(one.get(key) for one in found) for key in keys}


def _first(row: Row) -> Finding:
    return next(f for f in row if f is not None)


def _speaks(item: Compared, row: Row) -> bool:
    there = [f for f in row if f is not None]
    if not _first(row).hard:
        return any(f.passed is False for f in there)
    near = any(f.margin is not None and f.margin < CLOSE for f in there)
    return near or any(f.passed is not True for f in there) or item.deciding.verdict.worst in there


def _lines(rows: list[Row], system: System) -> Iterator[tuple[tuple[str, ...], bool]]:
    last = ""
    for row in rows:
        first = _first(row)
        quantity = converted(first.criterion.short or first.criterion.quantity, system)
        values = ("–" if f is None else _value(f, system) for f in row)
        limit = converted(first.criterion.worded(first.limit), system)
        beyond = any(f is not None and f.hard and f.passed is False for f in row)
        yield (
            ("" if quantity == last else quantity, short_place(first.place), *values, limit),
            beyond,
        )
        last = quantity


def _value(finding: Finding, system: System) -> str:
    """A value without its unit, which stands at the limit; marked where it is beyond."""
    if finding.value is None:
        return "not judged"
    text = converted(finding.criterion.shown(finding.value), system)
    number = re.match(r"[<>]? ?[-−]?[\d.,e+-]+", text)
    return (number[0] if number else text) + ("!" if finding.passed is False else "")
