"""The least of a quantity at which a wall passes, for every combination of some others.

Owns the search, which brackets all combinations side by side, and what the engine's numerical
error does to the answer.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from hygro.decide.axis import Axis, axis_of
from hygro.decide.dimension import Dimension
from hygro.decide.plan import Plan, at_points
from hygro.decide.point import PointResult, point_results
from hygro.decide.runner import Pool, Progress, run_plan
from hygro.decide.study import Study
from hygro.declare import plain
from hygro.errors import InputError
from hygro.study.certainty import finer
from hygro.types import Data, Plain

FIRST = 6
"""Values over the whole range that are tried first."""
FINENESS = 64
"""Parts of the range, one of which is the width at which the least value counts as found."""
ROUNDS = 12
"""How often brackets are halved at most."""


class Least(NamedTuple):
    """The least value for one combination.

    Attributes
    ----------
    at : dict
        The combination.
    value : float or None
        Least value tried at and above which the wall passes at every value tried; None where it
        passes nowhere up to the end of the range. [unit of the axis]
    fails : float or None
        Greatest value tried at which it does not pass; None where it passes at the lowest too.
    blamed : str
        What decides there.
    uncertainty : float or None
        How far the value may move when every cell is halved: change of the margin over its slope.
        [unit of the axis]
    tried : int
        Values.
    error : str
        Why a run could not be done.
    """

    at: Data
    value: float | None
    fails: float | None
    blamed: str
    uncertainty: float | None
    tried: int
    error: str


@dataclass(frozen=True)
class LeastValues:
    """The least values of all combinations, as they are told.

    Attributes
    ----------
    along : Axis
        What is least.
    others : tuple of Axis
        What the combinations are of, in their order.
    rows : tuple of Least
        One a combination.
    within : float
        Width at which a value counts as found. [unit of the axis]
    """

    along: Axis
    others: tuple[Axis, ...]
    rows: tuple[Least, ...]
    within: float


@dataclass(frozen=True)
class LeastResult(LeastValues):
    """Least values with the plan of all points that were tried."""

    plan: Plan


Tried = dict[float, PointResult]


def find_least(
    study: Study,
    *,
    within: float | None = None,
    check: bool = True,
    processes: int | None = None,
    pool: Pool | None = None,
    progress: Callable[[Progress], None] | None = None,
) -> LeastResult:
    """Find the least value of the one range of a study, for every combination of its other values.

    Parameters
    ----------
    study : Study
        One range of numbers, such as `outboard_R`; lists for the rest: climates, rooms, claddings.
    within : float, optional
        Width of the bracket; left out: one of `FINENESS` parts of the range. [unit of the axis]
    check : bool
        Run once more with every cell halved where the wall just passes.
    processes, pool, progress
        See `run_plan`.

    Raises
    ------
    InputError
        Not exactly one range, or a width that is none.
    """
    along, place = _one_range(study)
    low, high = float(along.values[0]), float(along.values[-1])
    width = (high - low) / FINENESS if within is None else within
    if not width > 0.0:
        raise InputError(f"within = {within}: must be above 0")
    others = [d for d in study.plan.dimensions if d is not along]
    combinations = list(itertools.product(*(d.values for d in others)))
    runner = _Runner(study, place, combinations, processes, pool, progress)
    first = [float(f"{x:.6g}") for x in np.linspace(low, high, FIRST)]
    wanted = [(k, x) for k in range(len(combinations)) for x in first]
    for _ in range(ROUNDS):
        runner.run(wanted)
        wanted = [
            (k, middle) for k, tried in enumerate(runner.tried) for middle in _middle(tried, width)
        ]
        if not wanted:
            break
    found = [_least(dict(zip([d.name for d in others], c, strict=True)), runner.tried[k])
             for k, c in enumerate(combinations)]  # fmt: skip
    if check:
        found = runner.checked(found)
    axes = tuple(axis_of(d) for d in others)
    return LeastResult(axis_of(along), axes, tuple(found), width, runner.plan)


def _one_range(study: Study) -> tuple[Dimension, int]:
    ranges = [
        k
        for k, d in enumerate(study.plan.dimensions)
        if d.name in study.ranges and isinstance(d.values[0], float)
    ]
    if len(ranges) != 1:
        raise InputError(
            f"least of study '{study.name}': needs one range of numbers, of which the least is "
            f"sought, and lists for the rest; it has {len(ranges)} ranges"
        )
    return study.plan.dimensions[ranges[0]], ranges[0]


class _Runner:
    """Runs values for combinations; all of them are one plan."""

    def __init__(
        self,
        study: Study,
        place: int,
        combinations: list[tuple[Plain, ...]],
        processes: int | None,
        pool: Pool | None,
        progress: Callable[[Progress], None] | None,
    ) -> None:
        self._study, self._place, self._combinations = study, place, combinations
        self._how: Data = {"processes": processes, "pool": pool, "progress": progress}
        self._points: list[tuple[int, float]] = []
        self.plan = study.plan
        self.tried: list[Tried] = [{} for _ in combinations]

    def run(self, wanted: list[tuple[int, float]]) -> None:
        """Try values, each for a combination by its number."""
        self._points += wanted
        self.plan = self._at(self._study.plan, self._points)
        self._study.ask(self.plan)
        run_plan(self.plan, self._study.store, **self._how)
        for (k, x), result in zip(self._points, self._results(self.plan), strict=True):
            self.tried[k][x] = result

    def _at(self, plan: Plan, points: list[tuple[int, float]]) -> Plan:
        rows = [list(self._combinations[k]) for k, _ in points]
        for row, (_, x) in zip(rows, points, strict=True):
            row.insert(self._place, x)
        return at_points(plan, list(zip(*rows, strict=True)))

    def _results(self, plan: Plan) -> list[PointResult]:
        return point_results(plan, self._study.store.rows(plan.distinct))

    def checked(self, found: list[Least]) -> list[Least]:
        """Run again with every cell halved where the wall just passes."""
        places = [k for k, least in enumerate(found) if None not in (least.value, least.fails)]
        if not places:
            return found
        base = self._study.base
        settings = finer(base.settings)
        tables = {**base.tables, "settings": plain(settings)}
        other = replace(self.plan, base=replace(base, settings=settings, tables=tables))
        points = [(k, float(found[k].value or 0.0)) for k in places]
        plan = self._at(other, points)
        self._study.store.put_beside(self._study.name, plan, self._study.plan)
        run_plan(plan, self._study.store, **self._how)
        told = list(found)
        for k, fine in zip(places, self._results(plan), strict=True):
            told[k] = told[k]._replace(uncertainty=_moved(told[k], self.tried[k], fine))
        return told


def _middle(tried: Tried, width: float) -> list[float]:
    """The middle of the bracket of a combination, while it is wide."""
    value, fails = _bracket(tried)
    if value is None or fails is None or value - fails <= width:
        return []
    return [float(f"{0.5 * (value + fails):.6g}")]


def _bracket(tried: Tried) -> tuple[float | None, float | None]:
    """Least value from which on all tried pass, and the greatest that does not."""
    values = sorted(tried)
    wrong = [x for x in values if tried[x].passed is not True]
    fails = max(wrong, default=None)
    rest = [x for x in values if fails is None or x > fails]
    return (rest[0] if rest else None), fails


def _least(at: Data, tried: Tried) -> Least:
    value, fails = _bracket(tried)
    blamed = "" if fails is None else f"{tried[fails].decides} ({tried[fails].scenario})"
    error = "" if fails is None else tried[fails].error
    return Least(at, value, fails, blamed, None, len(tried), error)


def _moved(least: Least, tried: Tried, fine: PointResult) -> float | None:
    """Change of the margin over its slope between the two ends of the bracket."""
    assert least.value is not None
    assert least.fails is not None
    inside, outside = tried[least.value].margin, tried[least.fails].margin
    slope = (inside - outside) / (least.value - least.fails)
    change = abs(fine.margin - inside)
    return float(change / slope) if np.isfinite(change) and slope > 0.0 else None
