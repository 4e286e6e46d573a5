"""How far a number may go from its mild end: the search, which asks for trials.

Owns which values are tried and in which run of the wall; runs nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from typing import NamedTuple

from hygro.study.plan import Scenario
from hygro.study.reserve import Bound
from hygro.study.trials import Ask, Trial
from hygro.study.vary import Variant

POINTS = 8
"""Values a round, as many as run side by side; two rounds."""

Search = Generator[Ask, list[Trial], "Found"]
"""Asks for trials until it has found an edge."""
Between = Callable[[float, float, float], float]
"""Value between two others by its share of the way."""


class Found(NamedTuple):
    """The last value that passes on the way from the mild end, and the first that does not."""

    value: float | None
    beyond: Trial | None

    def told(self, present: float, reached: Callable[[float], float]) -> Bound:
        """The bound that this is; `reached` gives the number that a value stands for."""
        value = None if self.value is None else reached(self.value)
        if self.beyond is None:
            return Bound(present, value, None)
        return Bound(present, value, reached(self.beyond.value), self.beyond.blamed)


def furthest(
    variant: Variant,
    values: Sequence[float],
    between: Between,
    only: Scenario,
) -> Search:
    """Search the furthest value within limits.

    In one scenario; where another fails at what is found, between there and the mild end in that.

    Parameters
    ----------
    variant : Variant
        Wall and room at a value.
    values : sequence of float
        From the mild end on.
    between : callable
        See `Between`.
    only : str
        The scenario to begin with.
    """
    found = yield from _in_rounds(variant, values, between, only)
    while found.value is not None:
        (trial,) = yield Ask(variant, (found.value,))
        if trial.passed:
            break
        only = trial.scenarios[0]
        before = [x for x in values if abs(x - values[0]) < abs(found.value - values[0])]
        found = yield from _in_rounds(variant, [*before, found.value], between, only)
    return found


def _in_rounds(
    variant: Variant, values: Sequence[float], between: Between, only: Scenario
) -> Search:
    """Try values from the mild end on, then as many between the last good and the first bad one."""
    found = _first_failure((yield Ask(variant, tuple(values), only)))
    if found.value is None or found.beyond is None:
        return found
    a, b = found.value, found.beyond.value
    inner = tuple(between(a, b, i / POINTS) for i in range(1, POINTS))
    finer = _first_failure((yield Ask(variant, inner, only)))
    return Found(
        found.value if finer.value is None else finer.value,
        found.beyond if finer.beyond is None else finer.beyond,
    )


def _first_failure(trials: Sequence[Trial]) -> Found:
    last = None
    for trial in trials:
        if not trial.passed:
            return Found(last, trial)
        last = trial.value
    return Found(last, None)


def even(a: float, b: float, x: float) -> float:
    """`Between` by equal differences."""
    return a + (b - a) * x


def ratio(a: float, b: float, x: float) -> float:
    """`Between` by equal ratios."""
    return float(a * (b / a) ** x)


def ratios(low: float, high: float) -> list[float]:
    """`POINTS` values of equal ratios."""
    return [ratio(low, high, i / (POINTS - 1)) for i in range(POINTS)]
