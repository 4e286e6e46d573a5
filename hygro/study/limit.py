"""How far one number of a wall may go: the windows of a range in which the wall is within limits.

Owns the search and its words; ready-made parameters are in `vary`. A run is a pure function, so
every trial starts from the same initial state.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from itertools import pairwise
from typing import NamedTuple

import xarray as xr

from hygro.errors import InputError
from hygro.quantities import BEFORE
from hygro.solve.settings import Settings
from hygro.study.plan import Repeat
from hygro.study.runs import Judging
from hygro.study.trials import Ask, Judge, Trial, Trials
from hygro.study.vary import Variant
from hygro.units import with_unit

SAMPLES = 8
"""Values over the whole range that are tried first; as many as run side by side."""
STEEP = 20.0
"""From this ratio of the ends on the first values are spaced by equal ratios. [1]"""
FINENESS = 64
"""Parts of the range, one of which is the width at which an edge counts as found."""


class Edge(NamedTuple):
    """Where the verdict turns: the last value within limits, the first one not, and why."""

    inside: float
    outside: float
    blamed: tuple[str, ...]
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Window:
    """Values next to each other at which the wall is within limits.

    Attributes
    ----------
    low, high : Edge or None
        Where it ends; None where the range ends first.
    first, last : float
        Lowest and highest value tried in it.
    """

    first: float
    last: float
    low: Edge | None
    high: Edge | None


@dataclass(frozen=True, repr=False)
class Limit:
    """What a search found: all trials by value, and the windows that pass.

    Attributes
    ----------
    what, unit : str
        What the number is called, and its unit: one of `hygro.units`, or empty.
    """

    trials: tuple[Trial, ...]
    what: str = "value"
    unit: str = ""

    def __repr__(self) -> str:
        """`lines`, one below the other."""
        return "\n".join(self.lines())

    def at(self, wall: str, path: str, unit: str) -> Limit:
        """Return this as the limit of the number at a path of a wall."""
        return replace(self, what=f"{wall}, {path}", unit=unit)

    @property
    def windows(self) -> tuple[Window, ...]:
        """Windows from low to high."""
        found, start = [], None
        for i, trial in enumerate(self.trials):
            start = i if trial.passed and start is None else start
            ends = i + 1 == len(self.trials) or not self.trials[i + 1].passed
            if start is not None and trial.passed and ends:
                low, high = self._edge(start, start - 1), self._edge(i, i + 1)
                found.append(Window(self.trials[start].value, trial.value, low, high))
                start = None
        return tuple(found)

    def _edge(self, inside: int, outside: int) -> Edge | None:
        if not 0 <= outside < len(self.trials):
            return None
        turned = self.trials[outside]
        return Edge(self.trials[inside].value, turned.value, turned.blamed, turned.reasons)

    @property
    def lowest(self) -> Edge | None:
        """Lower edge of the lowest window."""
        return self.windows[0].low if self.windows else None

    @property
    def highest(self) -> Edge | None:
        """Upper edge of the highest window."""
        return self.windows[-1].high if self.windows else None

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON."""
        return {
            "windows": [asdict_of(window) for window in self.windows],
            "trials": [trial._asdict() for trial in self.trials],
        }

    def lines(self) -> list[str]:
        """Say the result in words."""
        unit = self.unit
        ends = f"{_said(self.trials[0].value, unit)} to {_said(self.trials[-1].value, unit)}"
        head = f"{self.what}: tried {ends}, {len(self.trials)} values"
        if not self.windows:
            worst = self.trials[-1].reasons
            return [head, "beyond limits at every value tried; at the highest:", *_listed(worst)]
        told = [head]
        for window in self.windows:
            told.append(_passes(window, unit))
            told += _turn("below", window.low, unit) + _turn("above", window.high, unit)
        if len(self.windows) > 1:
            told.append("more than one window: between them the wall is above its limits")
        return told


def asdict_of(window: Window) -> dict[str, object]:
    """Return a window as plain values, its edges as tables."""
    edges = {k: None if e is None else e._asdict() for k, e in _edges(window).items()}
    return {**asdict(replace(window, low=None, high=None)), **edges}


def _edges(window: Window) -> dict[str, Edge | None]:
    return {"low": window.low, "high": window.high}


def _said(value: float, unit: str) -> str:
    return with_unit(f"{value:.4g}", unit)


def _passes(window: Window, unit: str) -> str:
    if window.low is None and window.high is None:
        return "within limits at every value tried"
    if window.first == window.last:
        return f"within limits at {_said(window.first, unit)}"
    first = _said(window.first, unit if unit in BEFORE else "")
    return f"within limits between {first} and {_said(window.last, unit)}"


def _turn(side: str, edge: Edge | None, unit: str) -> list[str]:
    if edge is None:
        return []
    return [f"{side} that, at {_said(edge.outside, unit)}:", *_listed(edge.reasons)]


def _listed(reasons: Sequence[str]) -> list[str]:
    return [f"  {reason}" for reason in reasons]


def limit(
    judge: Judge,
    low: float,
    high: float,
    *,
    within: float | None = None,
    max_trials: int = 60,
) -> Limit:
    """Find the windows of a range in which a wall is within its limits.

    `SAMPLES` values over the whole range come first, then each pair of neighbours between which
    the verdict turns is halved. A window narrower than the first spacing can be missed. A verdict
    with a hard criterion that could not be judged counts as failing.

    Parameters
    ----------
    judge : callable
        Trials at values; see `judged`.
    low, high : float
        Range, in the unit of the parameter.
    within : float, optional
        Width of the bracket at an edge, in the unit of the parameter; by default one of
        `FINENESS` parts of the range, equal ratios where the range is `STEEP`.
    max_trials : int
        Upper bound on the number of values.

    Raises
    ------
    InputError
        Empty range or non-positive width, or more values needed than `max_trials`.
    """
    if not (low < high and (within is None or within > 0.0)):
        raise InputError(
            f"limit: low = {low:g}, high = {high:g}, within = {within}: need low < high and "
            "within > 0; are low and high swapped?"
        )
    scale = _Scale(low, high)
    trials = {trial.value: trial for trial in judge(scale.values(SAMPLES))}
    while middles := _between(trials, scale, within):
        if len(trials) + len(middles) > max_trials:
            raise InputError(f"limit: {max_trials} values were not enough; choose a wider 'within'")
        trials |= {trial.value: trial for trial in judge(middles)}
    return Limit(tuple(trials[value] for value in sorted(trials)))


class _Scale(NamedTuple):
    """The range, spaced evenly or, where it is steep, by equal ratios."""

    low: float
    high: float

    @property
    def steep(self) -> bool:
        return self.low > 0.0 and self.high / self.low > STEEP

    def to(self, value: float) -> float:
        return math.log(value) if self.steep else value

    def values(self, count: int) -> list[float]:
        a, b = self.to(self.low), self.to(self.high)
        inner = [self.back(a + (b - a) * i / (count - 1)) for i in range(1, count - 1)]
        return [self.low, *inner, self.high]

    def back(self, place: float) -> float:
        """Value at a place, in four digits, so that what is said is what was run."""
        return float(f"{math.exp(place) if self.steep else place:.4g}")

    def narrow(self, a: float, b: float, within: float | None) -> bool:
        if within is not None:
            return b - a <= within
        return self.to(b) - self.to(a) <= (self.to(self.high) - self.to(self.low)) / FINENESS

    def middle(self, a: float, b: float) -> float:
        exact = 0.5 * (self.to(a) + self.to(b))
        value = self.back(exact)
        return value if a < value < b else 0.5 * (a + b)


def _between(trials: dict[float, Trial], scale: _Scale, within: float | None) -> list[float]:
    """Middles of the neighbours between which the verdict turns and that are not yet near."""
    return [
        scale.middle(a, b)
        for a, b in pairwise(sorted(trials))
        if trials[a].passed is not trials[b].passed and not scale.narrow(a, b, within)
    ]


def judged(
    variant: Variant,
    climate: xr.Dataset,
    *,
    settings: Settings | None = None,
    judging: Judging | None = None,
    repeat: Repeat = "as needed",
) -> Judge:
    """Return trials as a function of a parameter: the runs of a comparison, judged as there.

    See `Trials`, whose errors it raises.
    """
    trials = Trials(climate, settings=settings, judging=judging, repeat=repeat)
    return lambda values: trials.of([Ask(variant, tuple(values))])[0]
