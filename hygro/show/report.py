"""What a command shows after its runs, piece by piece: tables and lines in their order.

Owns that order; prints nothing and computes nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from hygro.assess.verdict import Verdict
from hygro.show import by_hand, by_scenario, findings, refined, side_by_side, why, words
from hygro.show.converted import converted
from hygro.study.certainty import Certainty
from hygro.study.compare import Compared
from hygro.study.plan import SERVICE
from hygro.study.runs import Failure
from hygro.types import Data
from hygro.units import System

Attrs = Mapping[str, Any]


def wall(
    item: Compared,
    climate: Attrs,
    *,
    system: System,
    checks: Sequence[Certainty] = (),
    every: bool = False,
) -> Iterator[RenderableType]:
    """Give what is shown of one wall: verdict, findings, reasons, hand numbers, cautions.

    With `every` also the findings far within their limits, the layers and the sources of limits.
    """
    yield Text(by_scenario.sentence(item, system=system), style="bold")
    yield Text(words.circumstances(item.outcomes))
    yield by_scenario.table(item, system=system, every=every)
    yield from _indented(by_scenario.other_reasons(item, system=system))
    yield from _indented(why.notes((item,), system=system))
    yield from (Text(line) for line in why.run_lines(item, system=system))
    if checks:
        yield refined.certainty(checks, system=system)
        yield from (Text(line) for line in refined.certainty_lines(checks))
    yield Text()
    yield Text("By hand", style="bold")
    yield from _indented(by_hand.hand_lines(item.tight.hand, system=system))
    if every:
        yield by_hand.hand(item.tight.hand, system=system)
        yield Text("Where the limits that decide come from", style="bold")
        yield from _indented(findings.sources(item.deciding.verdict))
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
        yield from side_by_side.comparison(compared, system=system)
        yield Text()
        yield side_by_side.walls(compared, system=system)
        yield from (Text(line) for line in side_by_side.legend(compared, system=system))
        yield Text()
        if any(item.reserve is not None and item.reserve.whole for item in compared):
            yield side_by_side.reserves(compared, system=system)
            yield from (Text(line) for line in side_by_side.reserve_lines(compared))
            yield Text()
    lines = why.reasons(compared, system=system)
    if lines:
        yield Text("Why", style="bold")
    yield from _indented(lines)
    beside = why.notes(compared, system=system)
    if beside:
        yield Text()
        yield Text("To know", style="bold")
    yield from _indented(beside)
    told = [line for item in compared for line in why.run_lines(item, system=system)]
    yield from (Text(line) for line in told)
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


def stored(
    attrs: Attrs, verdict: Verdict, *, system: System, file: Path, rules: str | None = None
) -> Iterator[RenderableType]:
    """Give what is shown of a saved record: its wall and leaks, findings, reasons, cautions."""
    facts = record_facts(attrs, rules=rules)
    part = _part_of(attrs, file)
    alone = f"{part} alone" if part else ""
    title = ", ".join(x for x in (facts["wall"], _scenario_words(attrs), alone) if x)
    yield Text(f"{title}: {verdict.outcome}", style="bold")
    parts = [
        *(f"{key}: {facts[key]}" for key in ("case", "room") if facts[key]),
        verdict.span,
        f"criteria: {facts['criteria']}",
    ]
    yield Text("; ".join(parts))
    yield from (Text(line) for line in part_lines(attrs, file))
    yield from findings.findings(verdict, system=system)
    hard = [f for f in verdict.findings if f.hard and f.passed is not True]
    yield from _indented([converted(f.reason, system) for f in hard])
    yield from _indented([converted(note, system) for note in verdict.notes])
    yield Text()
    yield _bullets(facts["cautions"])


def part_lines(attrs: Attrs, file: Path) -> list[str]:
    """Return which of two records of a run this is, and where the other one lies."""
    part = _part_of(attrs, file)
    if part == "closing in":
        other = file.with_stem(file.stem + SERVICE)
        what = "the closing in alone: how the wall dries in the first year from its start"
        asked = "the year in service, which decides more,"
    elif part == "service":
        other = file.with_stem(file.stem.removesuffix(SERVICE))
        what = "the year in service alone: the weather repeated until the wall repeats itself"
        asked = "the closing in"
    else:
        return []
    lies = "is in" if other.is_file() else "would be in"
    missing = "" if other.is_file() else ", which is not there: run the case with --out"
    return [f"This record holds {what}; {asked} {lies} {other.name}{missing}."]


def _part_of(attrs: Attrs, file: Path) -> str:
    """The question that a record answers alone where another one answers the other."""
    if attrs.get("question") == "closing in":
        return "closing in"
    beside = "periodic_rounds" in attrs and file.stem.endswith(SERVICE)
    return "service" if beside else ""


def _scenario_words(attrs: Attrs) -> str:
    return words.SCENARIOS.get(str(attrs.get("scenario")), "")


def _criteria(attrs: Attrs, rules: str | None) -> str:
    if rules is not None:
        return f"of the rules '{rules}'"
    return "of the stored case" if attrs.get("case_text") else "default, no case stored"


def record_facts(attrs: Attrs, *, rules: str | None = None) -> Data:
    """Return what a record says of itself and what must be said beside it, as plain values."""
    weather = {str(key).removeprefix("climate_"): value for key, value in attrs.items()}
    tight = attrs.get("leaks") == "off"
    lines = [
        *words.weather_cautions(weather),
        *([words.LEAKS_OFF] if tight else []),
        *([words.ONE_SCENARIO] if _scenario_words(attrs) else []),
        *words.CAUTIONS,
    ]
    return {
        "wall": str(attrs.get("title", "")),
        "scenario": str(attrs.get("scenario", "")),
        "leaks": str(attrs.get("leaks", "not stated")),
        "case": str(attrs.get("case", "")),
        "room": str(attrs.get("room_name", "")),
        "criteria": _criteria(attrs, rules),
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
