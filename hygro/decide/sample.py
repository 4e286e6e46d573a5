"""How sure: a wall whose numbers are drawn, the probability that it fails, and what matters most.

Owns the draws' order and when they are enough. A draw is one house: one value of everything that
varies, run with its leaks.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy import stats

from hygro.decide.axis import Axis, axis_of
from hygro.decide.boundary import Array
from hygro.decide.plan import Plan, at_points
from hygro.decide.point import PointResult, point_results
from hygro.decide.rate import Row
from hygro.decide.runner import Pool, Progress, run_plan
from hygro.decide.sensitivity import Sensitivity, sensitivities
from hygro.decide.study import Study
from hygro.errors import InputError
from hygro.types import Data

FIRST = 32
"""Draws after which it is first asked whether they are enough; then twice as many (our choice)."""
TAILS = 20
"""Draws from which one in twenty is told: fewer have none beyond it (our choice). [1]"""
LEVEL = 0.95
"""Of the confidence intervals. [1]"""
OUTPUTS = ("mc_30d_max", "mould_index_max")
"""Numbers of which the distribution is told."""


class Probability(NamedTuple):
    """How often something happened, and the interval that holds its probability.

    `low` and `high` are Wilson's score interval at 95 %, as if the draws were independent: those
    of a Latin hypercube or of Sobol points spread more evenly, so that it is on the safe side.
    """

    failed: int
    of: int
    value: float
    low: float
    high: float


class Stage(NamedTuple):
    """How far the answer was after some draws.

    Attributes
    ----------
    draws : int
        So far.
    failing : Probability
        Of any hard criterion.
    means : dict
        Mean and 95th percentile of each of `OUTPUTS`.
    """

    draws: int
    failing: Probability
    means: dict[str, tuple[float, float]]


@dataclass(frozen=True)
class Sampled:
    """What a sample says, as it is drawn and told.

    Attributes
    ----------
    axes : tuple of Axis
        What was drawn, with its distribution.
    results : list of PointResult
        One a draw.
    failing : Probability
        That any hard criterion fails.
    criteria : dict
        The same of each hard criterion, by its key.
    ranked : dict
        Sensitivities by output, the strongest first.
    stages : list of Stage
        How the answer settled.
    enough : bool
        The interval became as narrow as asked.
    """

    axes: tuple[Axis, ...]
    results: list[PointResult]
    failing: Probability
    criteria: dict[str, Probability]
    ranked: dict[str, list[Sensitivity]]
    stages: list[Stage]
    enough: bool

    def says(self, name: str) -> str:
        """What was drawn, in words."""
        return next((axis.says for axis in self.axes if axis.name == name), name)

    def number(self, key: str) -> Array:
        """A number of the draws that were computed."""
        found = np.array([result.numbers.get(key, np.nan) for result in self.results])
        return found[np.isfinite(found)]


@dataclass(frozen=True)
class SampleResult(Sampled):
    """A sample with the plan of the draws that were run."""

    plan: Plan


def make_sample(
    study: Study,
    *,
    within: float | None = None,
    processes: int | None = None,
    pool: Pool | None = None,
    progress: Callable[[Progress], None] | None = None,
) -> SampleResult:
    """Draw, run, and say how often the wall fails and what that depends on.

    Parameters
    ----------
    study : Study
        Everything in it varies by a distribution, or has one value.
    within : float, optional
        Stop as soon as half the width of the interval of the failure probability is no more than
        that; needs Sobol points, whose first ones are a sample of their own. [1]
    processes, pool, progress
        See `run_plan`.

    Raises
    ------
    InputError
        A range or several values among what varies, or `within` with a Latin hypercube.
    """
    _check(study, within)
    total = len(study.plan.points)
    stages: list[Stage] = []
    plan, results, rows = study.plan, list[PointResult](), dict[str, Row]()
    enough = within is None
    for count in _counts(total) if within is not None else [total]:
        plan = first_points(study.plan, count)
        study.ask(plan)
        run_plan(plan, study.store, processes=processes, pool=pool, progress=progress)
        rows = study.store.rows(plan.distinct)
        results = point_results(plan, rows)
        stages.append(_stage(results))
        failing = stages[-1].failing
        if within is not None and 0.5 * (failing.high - failing.low) <= within:
            enough = True
            break
    if len(stages) == 1:
        stages = [_stage(results[:n]) for n in _counts(len(results))]
    return SampleResult(
        tuple(axis_of(d) for d in plan.dimensions),
        results,
        stages[-1].failing,
        _by_criterion(plan, rows),
        _ranked(plan, results),
        stages,
        enough,
        plan,
    )


def _check(study: Study, within: float | None) -> None:
    wide = [d.name for d in study.plan.dimensions if d.distribution is None and len(d.values) > 1]
    drawn = [d for d in study.plan.dimensions if d.distribution is not None]
    if wide or not drawn:
        told = ", ".join(wide) if wide else "nothing"
        raise InputError(
            f"sample of study '{study.name}': everything must vary by a distribution or have one "
            f"value; {told} {'has several values' if wide else 'varies by a distribution'}"
        )
    if within is not None and study.entry.method != "sobol":
        raise InputError(
            "sample: stopping early needs method = 'sobol'; a Latin hypercube is whole"
        )
    if within is not None and not 0.0 < within < 0.5:
        raise InputError(f"within = {within:g}: must be above 0 and below 0.5")


def _counts(total: int) -> Iterator[int]:
    """Draws after which to look: 32, 64, ... and all."""
    count = FIRST
    while count < total:
        yield count
        count *= 2
    yield total


def first_points(plan: Plan, count: int) -> Plan:
    """Return the plan of the first points of another."""
    columns = [[plan.points.at(k)[d] for k in range(count)] for d in range(len(plan.dimensions))]
    return at_points(plan, columns)


def _stage(results: Sequence[PointResult]) -> Stage:
    judged = [result.passed for result in results if result.passed is not None]
    means = {}
    for key in OUTPUTS:
        values = [r.numbers[key] for r in results if key in r.numbers]
        if values:
            means[key] = (float(np.mean(values)), float(np.quantile(values, 0.95)))
    return Stage(len(results), probability(judged.count(False), len(judged)), means)


def probability(failed: int, of: int) -> Probability:
    """Return a share with Wilson's interval; NaN where nothing was judged."""
    if of == 0:
        return Probability(0, 0, np.nan, 0.0, 1.0)
    ends = stats.binomtest(failed, of).proportion_ci(LEVEL, method="wilson")
    return Probability(failed, of, failed / of, float(ends.low), float(ends.high))


def _by_criterion(plan: Plan, rows: dict[str, Row]) -> dict[str, Probability]:
    """A draw fails a criterion where any of its runs does."""
    found: dict[str, dict[int, bool]] = {}
    for run in plan.runs:
        row = rows.get(run.sha256)
        if row is None or row.state != "done":
            continue
        for key, told in row.criteria.items():
            if told["hard"] and told["passed"] is not None:
                points = found.setdefault(key, {})
                points[run.point] = points.get(run.point, False) or told["passed"] is False
    return {key: probability(sum(p.values()), len(p)) for key, p in sorted(found.items())}


def _ranked(plan: Plan, results: Sequence[PointResult]) -> dict[str, list[Sensitivity]]:
    """Sensitivities of the outputs and of the reserve, over the draws that were computed."""
    drawn = [k for k, d in enumerate(plan.dimensions) if d.distribution is not None]
    names = [plan.dimensions[k].name for k in drawn]
    inputs = np.array([[plan.points.at(r.point)[k] for k in drawn] for r in results], dtype=float)
    found: dict[str, list[Sensitivity]] = {}
    values: Data = {k: [r.numbers.get(k, np.nan) for r in results] for k in OUTPUTS}
    values["margin"] = [r.margin for r in results]
    for key, row in values.items():
        output = np.asarray(row, dtype=float)
        known = np.isfinite(output)
        if known.sum() >= FIRST and np.ptp(output[known]) > 0.0:
            found[key] = sensitivities(names, inputs[known], output[known])
    return found
