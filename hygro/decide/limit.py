"""How far one number may go, its runs kept in a store: the search of `hygro.study.limit` there.

Owns the step from points of a study to trials; the search and its words stand in `study.limit`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from hygro.decide.axis import Axis, axis_of
from hygro.decide.beside import own_value
from hygro.decide.plan import Plan, PlannedRun, at_points
from hygro.decide.point import PointResult, point_results
from hygro.decide.rate import Row
from hygro.decide.runner import Pool, Progress, run_plan
from hygro.decide.study import Study
from hygro.errors import InputError, SolveError
from hygro.study.limit import Limit, limit
from hygro.study.trials import Trial
from hygro.types import Data


@dataclass(frozen=True)
class Limited:
    """Windows of one number, as they are told.

    Attributes
    ----------
    along : Axis
        What varies.
    own : float or None
        What the case has; None where it is no number. [unit of the axis]
    limit : Limit
        Trials and windows, in the unit of the axis.
    results : list of PointResult
        The answers at the same values, in rising order.
    """

    along: Axis
    own: float | None
    limit: Limit
    results: list[PointResult]


@dataclass(frozen=True)
class LimitResult(Limited):
    """Windows with the plan of all points that were tried."""

    plan: Plan


def find_limit(
    study: Study,
    *,
    within: float | None = None,
    processes: int | None = None,
    pool: Pool | None = None,
    progress: Callable[[Progress], None] | None = None,
) -> LimitResult:
    """Find the windows of the one range of a study in which its wall is within limits.

    Parameters
    ----------
    study : Study
        With one range of numbers and nothing else that varies.
    within : float, optional
        Width of the bracket at an edge; see `hygro.study.limit.limit`. [unit of the axis]
    processes, pool, progress
        See `run_plan`.

    Raises
    ------
    InputError
        Not exactly one range of numbers, or a width that is none.
    SolveError
        No run at all can be done.
    """
    dimensions = study.plan.dimensions
    if len(dimensions) != 1 or dimensions[0].name not in study.ranges:
        told = ", ".join(d.name for d in dimensions)
        raise InputError(f"limit of study '{study.name}': needs one range alone; it varies {told}")
    (d,) = dimensions
    tried = _Tried(study, {"processes": processes, "pool": pool, "progress": progress})
    found = limit(tried, float(d.values[0]), float(d.values[-1]), within=within)
    results = sorted(tried.results, key=lambda result: float(result.at[d.name]))
    return LimitResult(axis_of(d), own_value(d), found, results, tried.plan)


class _Tried:
    """Tries values; all of them are one plan."""

    def __init__(self, study: Study, how: Data) -> None:
        self._study, self._how = study, how
        self._values: list[float] = []
        self.plan = study.plan
        self.results: list[PointResult] = []

    def __call__(self, values: Sequence[float]) -> list[Trial]:
        self._values += values
        self.plan = at_points(self._study.plan, [self._values])
        store = self._study.store
        self._study.ask(self.plan)
        run_plan(self.plan, store, **self._how)
        rows = store.rows(self.plan.distinct)
        wrong = [row.error for row in rows.values() if row.state == "failed"]
        if wrong and len(wrong) == len(rows):
            raise SolveError(wrong[0])
        self.results = point_results(self.plan, rows)
        first = len(self._values) - len(values)
        runs: list[list[PlannedRun]] = [[] for _ in values]
        for run in self.plan.runs:
            if run.point >= first:
                runs[run.point - first].append(run)
        return [_trial(value, some, rows) for value, some in zip(values, runs, strict=True)]


def _trial(value: float, runs: Sequence[PlannedRun], rows: Mapping[str, Row]) -> Trial:
    """What the runs at a value add up to, told as `hygro.study.trials` tells it."""
    made = {run.scenario: rows[run.sha256] for run in runs}
    for scenario, row in made.items():
        if row.state == "failed":
            words = f"{scenario}: could not be computed: {row.error}"
            return Trial(value, False, (f"not computed, {scenario}",), (words,), (scenario,))
    blamed = [
        (f"{key} at {told['place']}, {scenario}", f"{scenario}: {told['reason']}")
        for scenario, row in made.items()
        for key, told in row.criteria.items()
        if told["hard"] and told["passed"] is not True
    ]
    return Trial(
        value,
        all(row.passed is True for row in made.values()),
        tuple(blame for blame, _ in blamed),
        tuple(reason for _, reason in blamed),
        tuple(scenario for scenario, row in made.items() if row.passed is not True),
    )
