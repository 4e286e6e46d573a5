"""Words of the page: sentences on a wall, classes with their signs, no inner language."""

from __future__ import annotations

import re

from hygro.assess.verdict import reserve_words
from hygro.show.converted import converted
from hygro.show.words import ORIGINS, SCENARIOS
from hygro.study.certainty import Certainty
from hygro.study.compare import Compared
from hygro.units import System, show

HOUR = re.compile(r"\b(\d{4}-\d{2}-\d{2})T(\d{2})\b")
SIGNS = {
    "within limits": "within",
    "fails closing in": "closing",
    "not judged": "open",
    "fails": "fails",
}
"""Class of a verdict and the name of its sign."""

SHORT = {
    "tight": "no leaks",
    "rain": "rain leaks",
    "past": "past the barrier",
    "air": "air leaks",
    "both": "rain and air",
}
"""Scenarios for a narrow column, and at the end of a line."""


def headline(walls: tuple[Compared, ...]) -> str:
    """Which wall to build, in a sentence."""
    good = [item for item in walls if item.outcome == "within limits"]
    if len(walls) == 1:
        return f"'{walls[0].name}': {walls[0].outcome}."
    if not good:
        return f"None of the {len(walls)} walls is within its limits in every scenario."
    best = f"'{good[0].name}' {_first(good[0])}"
    if len(good) == 1:
        return (
            f"One of {len(walls)} walls is within its limits in every scenario: '{good[0].name}'."
        )
    return f"{len(good)} of {len(walls)} walls are within their limits in every scenario; {best}."


def _first(item: Compared) -> str:
    """By what a wall stands first."""
    if item.reserve is None:
        return "has most left of its limits; how humid a room each bears was not searched"
    return "stands first: it bears the most humid room"


def reserve(item: Compared) -> str:
    """The reserve of a wall in words."""
    return reserve_words(item.deciding.verdict)


def borne(item: Compared, system: System) -> str:
    """How much more a wall bears, each number by itself; empty where that was not searched."""
    found = item.reserve
    if found is None:
        return ""

    def resistance(value: float) -> str:
        shown = show(value, "thermal resistance", system=system)
        return shown if shown.startswith("R") else f"R {shown}"

    return found.all_words(resistance)


def why(item: Compared, system: System) -> str:
    """What decides a wall, with the scenario."""
    worst = item.deciding.verdict.worst
    if worst is None:
        return "no hard criterion was judged"
    leaks = "" if item.leaky is None else f", {SCENARIOS[item.deciding.run.scenario]}"
    return for_clients(converted(f"{_first_up(worst.reason)}{leaks}.", system))


def questions(item: Compared, system: System) -> str:
    """Service and closing in, each in a few words."""
    told = []
    for question in ("service", "closing in"):
        found = [
            f
            for outcome in item.outcomes
            for f in outcome.verdict.findings
            if f.hard and f.criterion.question == question
        ]
        if not found:
            told.append(f"{question}: not asked")
        elif any(f.passed is False for f in found):
            told.append(f"{question}: fails")
        elif any(f.passed is None for f in found):
            told.append(f"{question}: not judged in full")
        else:
            told.append(f"{question}: within limits")
    return converted("; ".join(told), system)


def how_sure(checks: dict[str, tuple[Certainty, ...]]) -> str:
    """The numerical error in a sentence."""
    if not checks:
        return (
            "Numerical error was not looked at in this report (--check does). Inputs, leaks and "
            "the model itself are less sure than the numbers look."
        )
    found = [c for each in checks.values() for c in each]
    turned = sum(bool(c.turned) for c in found)
    told = (
        "every criterion is judged alike"
        if not turned
        else f"a criterion is judged otherwise in {turned} of {len(found)} runs"
    )
    return (
        f"On a grid twice as fine {told}; error of the 30-day moisture content at most "
        f"{100 * _largest(found, 'mc_30d_max'):.2f} % by mass, of the mould index at most "
        f"{_largest(found, 'mould_index_max'):.2f}. Inputs, leaks and the model itself are less "
        "sure than that."
    )


def _largest(checks: list[Certainty], key: str) -> float:
    """Largest error of a number over some runs."""
    return max((abs(x.error) for c in checks for x in c.changes if x.key == key), default=0.0)


def for_clients(text: str) -> str:
    """A source or a reason as a client reads it; the hour of a day as a clock has it."""
    return HOUR.sub(r"\1 \2:00", text.replace("from memory", ORIGINS["from memory"]))


def _first_up(text: str) -> str:
    return text[:1].upper() + text[1:]
