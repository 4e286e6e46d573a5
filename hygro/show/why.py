"""Why walls are not within limits, and what must be known of their runs, in lines."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from hygro.show.converted import converted
from hygro.show.words import leaks_word
from hygro.solve.control import DRIFT
from hygro.study.compare import verdict_notes
from hygro.units import System

if TYPE_CHECKING:
    from hygro.assess.criteria import Finding
    from hygro.study.compare import Compared
    from hygro.study.runs import Outcome


def reasons(compared: Sequence[Compared], *, system: System = "si") -> list[str]:
    """Return, wall by wall, why it is not within limits.

    The scenario that decides gives its reasons; another one only those of criteria that the
    deciding one meets. Closing in is left out where service fails.
    """
    lines = []
    for item in compared:
        first = item.deciding
        told = {f.criterion.key for f in _blamed(first)}
        mine = [_reason(item, first, f, system) for f in _blamed(first)]
        for outcome in item.outcomes:
            more = [f for f in _blamed(outcome) if f.criterion.key not in told]
            mine += [_reason(item, outcome, f, system) for f in more]
        others = [o.run.scenario for o in item.outcomes if _blamed(o) and o is not first]
        mine += [f"  not within limits either: {', '.join(others)}"] if others else []
        lines += [item.name, *mine] if mine else []
    return lines


def _reason(item: Compared, outcome: Outcome, finding: Finding, system: System) -> str:
    return f"  {leaks_word(item, outcome)}: {converted(finding.reason, system)}"


def _blamed(outcome: Outcome) -> list[Finding]:
    """Hard findings that keep a run from being within limits; of service first."""
    found = [f for f in outcome.verdict.findings if f.hard and f.passed is not True]
    service = [f for f in found if f.criterion.question == "service"]
    return service if outcome.verdict.passed_in("service") is False else found


def notes(compared: Sequence[Compared], *, system: System = "si") -> list[str]:
    """Return what must be known beside the findings: notes on leaks, then those of the verdicts."""
    lines = []
    for names, told in leak_notes(compared, system=system).items():
        lines += [names, *(f"  {note}" for note in told)]
    return [*lines, *(converted(note, system) for note in verdict_notes(compared))]


def leak_notes(compared: Sequence[Compared], *, system: System = "si") -> dict[str, list[str]]:
    """Return the notes on leaks by the names of the walls that have them, each note once."""
    walls: dict[str, list[str]] = {}
    for item in compared:
        for note in item.leak_notes:
            walls.setdefault(converted(note, system), []).append(item.name)
    found: dict[str, list[str]] = {}
    for note, names in walls.items():
        found.setdefault(", ".join(names), []).append(note)
    return found


def run_lines(item: Compared, *, system: System = "si") -> list[str]:
    """Return what is to be said of how the runs of a wall were made, and when it was dry."""
    lines = []
    for outcome in item.outcomes:
        name = f"{item.name}, {leaks_word(item, outcome)}"
        if outcome.resumed is not None:
            lines.append(f"{name}: resumed at {outcome.resumed}")
        if outcome.recomputed:
            dates = ", ".join(outcome.recomputed)
            lines.append(f"{name}: kept years could not be read, computed again from {dates} on")
        drift = float(str(outcome.quality.get("periodic_drift", 0.0)))
        if drift > DRIFT:
            line = (
                f"{name}: not settled after {outcome.quality['periodic_rounds']} rounds, in the "
                f"last of which a layer changed by {drift:.2g} kg/m²"
            )
            lines.append(converted(line, system))
    return [*lines, *drying_lines(item)]


def drying_lines(
    item: Compared, *, named: Callable[[Compared, Outcome], str] = leaks_word
) -> list[str]:
    """Return when the wood of a wall was dry, with the scenarios in which it was so.

    `named` gives the words for a scenario.
    """
    told: dict[str, list[str]] = {}
    for outcome in item.outcomes:
        found = [f for f in outcome.verdict.of("drying") if f.hard]
        if found:
            last = max(found, key=lambda f: math.inf if f.value is None else f.value)
            told.setdefault(_dried(last), []).append(named(item, outcome))
    return [f"{item.name}, {', '.join(runs)}: {text}" for text, runs in told.items()]


def _dried(finding: Finding) -> str:
    if finding.value == 0.0:
        return finding.remark
    if not finding.passed:
        return f"wood {finding.remark}"
    remark = f", {finding.remark}" if finding.remark else ""
    return f"wood stays below 20 % after {finding.value:.0f} d{remark}"
