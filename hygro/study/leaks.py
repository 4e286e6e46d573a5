"""What is to be known of the leaks of a wall: that one dries it, never flowed, or was not tried.

Owns the comparison of scenarios; a leak on is no upper bound of wetness.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from hygro.study.plan import Scenario
    from hygro.study.runs import Outcome

FELT = 0.005
"""Change of the 30-day moisture content of the sheathing that is spoken of (our choice). [1]"""
_RAIN, _PAST, _AIR = "the rain leak", "rain past the water barrier", "the air leak"
_PAIRS: tuple[tuple[str, Scenario, Scenario], ...] = (
    (_RAIN, "tight", "rain"),
    (_PAST, "tight", "past"),
    (_AIR, "tight", "air"),
    (_AIR, "rain", "both"),
)
"""A leak, a scenario without it and the same with it."""


def leak_notes(outcomes: Mapping[Scenario, Outcome]) -> tuple[str, ...]:
    """Return a line for every leak that dried the wall, never flowed, or had nothing to leak."""
    notes = []
    for leak, without, with_it in _PAIRS:
        if without in outcomes and with_it in outcomes:
            notes += _untried(leak, outcomes[with_it]) or _drying(
                leak, outcomes[without], outcomes[with_it]
            )
    return tuple(dict.fromkeys([*notes, *_same_place(outcomes)]))


def _same_place(outcomes: Mapping[Scenario, Outcome]) -> list[str]:
    """A scenario that was asked for and is another by where the water lands."""
    rain = outcomes["rain"].run.wall.leaks.rain if "rain" in outcomes else ()
    if "past" in outcomes or not any(leak.past_barrier is not None for leak in rain):
        return []
    return [f"{_PAST} lands where {_RAIN} does: one scenario"]


def _untried(leak: str, outcome: Outcome) -> list[str]:
    numbers, wall = outcome.numbers, outcome.run.wall
    if leak != _AIR and wall.leaks.rain:
        if not numbers["rain_incident"]:
            return [f"no rain met the wall: {leak} was not tried"]
        if not numbers["leak_rain"]:
            return [f"{leak} let no water in"]
    if leak == _AIR and numbers["leak_air"] == 0.0:
        return [f"{leak} never flowed: no air leak was tried"]
    return []


def _drying(leak: str, without: Outcome, with_it: Outcome) -> list[str]:
    before, after = (o.numbers["mc_30d_max"] for o in (without, with_it))
    if not (isinstance(before, float) and isinstance(after, float) and before - after > FELT):
        return []
    return [
        f"{leak} dries the wall: highest 30-day moisture content of "
        f"'{without.verdict.sheathing}' {100 * after:.1f} % with it, {100 * before:.1f} % without "
        f"({without.run.scenario}); do not count on it"
    ]
