"""What a command shows after its runs, piece by piece: tables and lines in their order.

Owns that order; prints nothing and computes nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from hygro.assess.verdict import Verdict
from hygro.show import tables, words
from hygro.show.converted import converted
from hygro.study.certainty import Certainty
from hygro.study.compare import Compared
from hygro.study.runs import Failure
from hygro.units import System

Attrs = Mapping[Any, Any]


def wall(
    item: Compared, climate: Attrs, *, system: System, checks: Sequence[Certainty] = ()
) -> Iterator[RenderableType]:
    """Give what is shown of one wall: hand numbers, findings of its runs, reasons, cautions."""
    hand = item.tight.hand
    yield Text(words.circumstances(item.outcomes))
    yield tables.hand(hand, system=system)
    yield from _indented(tables.hand_lines(hand, system=system))
    for outcome in item.outcomes:
        yield Text()
        word = "with leaks" if outcome.run.leaks else "without leaks"
        yield Text(f"{item.name}, {word}", style="bold")
        yield from tables.findings(outcome.verdict, system=system)
    yield tables.comparison((item,))
    yield from _indented(tables.reasons((item,), system=system))
    yield from (Text(line) for line in tables.run_lines(item, system=system))
    if checks:
        yield tables.certainty(checks)
        yield from (Text(line) for line in tables.certainty_lines(checks))
    yield from cautions(climate, (item,))


def comparison(
    name: str,
    note: str,
    compared: Sequence[Compared],
    failed: Sequence[Failure],
    climate: Attrs,
    *,
    system: System,
) -> Iterator[RenderableType]:
    """Give what is shown of a comparison: ranking, reasons, what could not be run, cautions."""
    yield Text(name, style="bold")
    if note:
        yield Text(note)
    if compared:
        yield Text(words.circumstances([o for item in compared for o in item.outcomes]))
        yield tables.comparison(compared)
        yield tables.walls(compared, system=system)
        yield from (Text(line) for line in tables.legend(compared, system=system))
        yield Text()
    lines = tables.reasons(compared, system=system)
    if lines:
        yield Text("Why", style="bold")
    yield from _indented(lines)
    told = [line for item in compared for line in tables.run_lines(item, system=system)]
    yield from (Text(line) for line in told)
    if failed:
        yield Text()
        yield Text("Not computed, and not ranked", style="bold")
        yield from _indented(failure_lines(failed))
    yield from cautions(climate, compared)


def failure_lines(failed: Sequence[Failure]) -> list[str]:
    """Return a line for every run that could not be done."""
    return [
        f"{item.run.name}, leaks {'on' if item.run.leaks else 'off'}: {item.error}"
        for item in failed
    ]


def record(
    found: Verdict, attrs: Attrs, source: str, *, system: System
) -> Iterator[RenderableType]:
    """Give what is shown of a stored run: what it is, findings, reasons, cautions."""
    facts = record_facts(attrs, source)
    yield Text(f"{facts['wall']}, {_leaks_words(facts['leaks'])}", style="bold")
    of_case = f"case: {facts['case']}; " if facts["case"] else ""
    room = f"; room: {facts['room']}" if facts["room"] else ""
    yield Text(f"{of_case}{found.start[:10]} to {found.end[:10]}{room}; {source}")
    yield from tables.findings(found, system=system)
    hard = [f for f in found.findings if f.hard and f.passed is not True]
    yield from _indented([converted(f.reason, system) for f in hard])
    yield Text()
    yield _bullets([str(line) for line in facts["cautions"]])


def _leaks_words(leaks: object) -> str:
    return {"on": "with leaks", "off": "without leaks"}.get(str(leaks), "leaks as in its record")


def record_facts(attrs: Attrs, source: str) -> dict[str, Any]:
    """Return what a record says of itself and what must be said beside it, as plain values."""
    leaks = str(attrs.get("leaks", "not stated"))
    lines = [
        *words.weather_cautions({"kind": attrs.get("climate_kind", "")}),
        *([words.LEAKS_OFF] if leaks == "off" else []),
        *words.CAUTIONS,
    ]
    return {
        "wall": str(attrs.get("title", "")),
        "leaks": leaks,
        "case": str(attrs.get("case", "")),
        "room": str(attrs.get("room_name", "")),
        "criteria": source,
        "cautions": lines,
    }


def cautions(climate: Attrs, compared: Sequence[Compared]) -> Iterator[RenderableType]:
    """Give what must stand beside these results, after an empty line."""
    lines = [*words.weather_cautions(dict(climate))]
    if compared:
        bare = [f"'{item.name}'" for item in compared if item.leaky is None]
        lines += [words.NO_LEAKS.format(walls=", ".join(bare))] if bare else []
        lines += [words.LEAKS_DECIDE] if len(bare) < len(compared) else []
        lines += words.CAUTIONS
    if lines:
        yield Text()
        yield _bullets(lines)


def _bullets(lines: Sequence[str]) -> RenderableType:
    """Lines behind points, wrapped beside them."""
    grid = Table.grid()
    for line in lines:
        grid.add_row("· ", Text(line), style="dim")
    return grid


def _indented(lines: Sequence[str]) -> Iterator[RenderableType]:
    """Lines two columns in; what is wrapped stays under the beginning of its line."""
    for line in lines:
        text = line.lstrip()
        yield Padding(Text(text), (0, 0, 0, 2 + len(line) - len(text)), expand=False)
