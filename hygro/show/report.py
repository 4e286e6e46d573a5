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
    yield tables.hand(hand, system=system)
    yield from _indented(tables.hand_lines(hand, system=system))
    for outcome in item.outcomes:
        yield Text()
        yield Text(f"{item.name}, {words.SCENARIOS[outcome.run.scenario]}", style="bold")
        yield tables.findings(outcome.verdict)
    yield Text("Where the limits that decide come from", style="bold")
    yield from _indented(tables.sources(item.deciding.verdict))
    yield Text()
    yield tables.comparison((item,), system=system)
    yield from _indented(tables.reasons((item,)))
    yield from _indented(tables.notes((item,)))
    yield from (Text(line) for line in tables.run_lines(item))
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
        yield tables.comparison(compared, system=system)
        yield from (Text(line) for line in tables.legend(compared, system=system))
        yield Text()
    lines = tables.reasons(compared)
    if lines:
        yield Text("Why", style="bold")
    yield from _indented(lines)
    beside = tables.notes(compared)
    if beside:
        yield Text()
        yield Text("To know", style="bold")
    yield from _indented(beside)
    yield from (Text(line) for item in compared for line in tables.run_lines(item))
    if failed:
        yield Text()
        yield Text("Not computed, and not ranked", style="bold")
        yield from _indented(failure_lines(failed))
    yield from cautions(climate, compared)


def failure_lines(failed: Sequence[Failure]) -> list[str]:
    """Return a line for every run that could not be done."""
    return [
        f"{item.run.name}, {words.SCENARIOS[item.run.scenario]}: {item.error}" for item in failed
    ]


def stored(attrs: Attrs, verdict: Verdict) -> Iterator[RenderableType]:
    """Give what is shown of a saved record: its wall and leaks, findings, reasons, cautions."""
    scenario = words.SCENARIOS.get(str(attrs.get("scenario")), "")
    title = ", ".join(part for part in (str(attrs.get("title", "")), scenario) if part)
    yield Text(f"{title}: {verdict.outcome}", style="bold")
    yield tables.findings(verdict)
    yield from _indented([finding.reason for finding in verdict.failed])
    yield from _indented(verdict.notes)
    weather = {key.removeprefix("climate_"): value for key, value in attrs.items()}
    alone = [words.ONE_SCENARIO] if scenario else []
    yield Text()
    yield _bullets([*words.weather_cautions(weather), *alone, *words.CAUTIONS])


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
