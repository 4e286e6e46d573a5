"""A map of a wall over two quantities: where it passes, and what decides. Owns which points run."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from hygro.decide.axis import Axis, axis_of
from hygro.decide.boundary import Array, Numbers, sharpened, zero_lines
from hygro.decide.dimension import Dimension
from hygro.decide.draw import Points
from hygro.decide.plan import Plan, at_points
from hygro.decide.point import PointResult, point_results
from hygro.decide.runner import Pool, Progress, run_plan
from hygro.decide.store import Store
from hygro.decide.study import Study
from hygro.errors import InputError
from hygro.types import Data

STEPS = 20
"""Points along each side of a full map."""


@dataclass(frozen=True)
class Mapped:
    """A map of a wall, as it is drawn and told.

    Attributes
    ----------
    x, y : Axis
        The quantities across and up.
    where : (n, 2) array
        The points in the unit square over both ranges.
    results : list of PointResult
        Their answers.
    lines : list of (m, 2) arrays
        Where the wall just passes, in the units of x and y.
    open : int
        Places on the line that were not brought to a pair; 0 for a full map.
    full : bool
        Every point of the grid was run; else the line alone was sharpened.
    """

    x: Axis
    y: Axis
    where: Numbers
    results: list[PointResult]
    lines: list[Numbers]
    open: int
    full: bool

    @property
    def margins(self) -> Array:
        """Signed margins of the points, the least of their hard criteria. [1]"""
        return _margins(self.results)

    def number(self, key: str) -> Array:
        """A number of the points, NaN where there is none."""
        return np.array([result.numbers.get(key, np.nan) for result in self.results])

    def scaled(self, where: Array) -> Array:
        """Points of the unit square in the units of x and y."""
        return scaled((self.x, self.y), where)

    def rows(self) -> list[Data]:
        """One plain row a point, for tables."""
        return [plain_row(result) for result in self.results]


@dataclass(frozen=True)
class MapResult(Mapped):
    """A map with the plan of all points that were tried."""

    plan: Plan


def make_map(
    study: Study,
    *,
    full: bool = False,
    processes: int | None = None,
    pool: Pool | None = None,
    progress: Callable[[Progress], None] | None = None,
) -> MapResult:
    """Run a map: a full grid, or a coarse one with the line where the wall just passes sharpened.

    Parameters
    ----------
    study : Study
        Two ranges: the first across, the second up. Its store keeps all runs.
    full : bool
        Run every point of the grid of the study; else a coarse grid and pairs of points along the
        line, 1 % of the ranges apart.
    processes, pool, progress
        See `run_plan`.

    Raises
    ------
    InputError
        Not two ranges of numbers.
    """
    x, y = _two_ranges(study)
    both = (axis_of(x), axis_of(y))
    if full:
        run_plan(study.plan, study.store, processes=processes, pool=pool, progress=progress)
        rows = study.store.rows(study.plan.distinct)
        results = point_results(study.plan, rows)
        where = unit_square((x, y), study.plan.points)
        lines = [scaled(both, line) for line in zero_lines(where, _margins(results))]
        return MapResult(*both, where, results, lines, 0, True, study.plan)
    runner = _Runner(study, both, processes, pool, progress)
    found = sharpened(runner)
    lines = [scaled(both, line) for line in found.lines]
    return MapResult(*both, found.points, runner.results, lines, found.open, False, runner.plan)


def _two_ranges(study: Study) -> tuple[Dimension, Dimension]:
    dimensions = study.plan.dimensions
    numbers = [d for d in dimensions if len(d.values) > 1 and isinstance(d.values[0], int | float)]
    if len(dimensions) != 2 or len(numbers) != 2:
        raise InputError(
            f"map of study '{study.name}': must vary two quantities over ranges of numbers; it "
            f"varies {', '.join(d.name for d in dimensions)}"
        )
    return dimensions[0], dimensions[1]


class _Runner:
    """Runs points of the unit square as they are asked for; all of them are one plan."""

    def __init__(
        self,
        study: Study,
        both: tuple[Axis, Axis],
        processes: int | None,
        pool: Pool | None,
        progress: Callable[[Progress], None] | None,
    ) -> None:
        self._study, self._both = study, both
        self._how: Data = {"processes": processes, "pool": pool, "progress": progress}
        self._where = np.empty((0, 2))
        self.plan = study.plan
        self.results: list[PointResult] = []

    def __call__(self, where: Array) -> Array:
        """Margins at points that were not asked for before."""
        self._where = np.concatenate([self._where, where])
        self.plan = at_points(self._study.plan, scaled(self._both, self._where).T.tolist())
        self._study.ask(self.plan)
        store: Store = self._study.store
        run_plan(self.plan, store, **self._how)
        self.results = point_results(self.plan, store.rows(self.plan.distinct))
        return _margins(self.results[-len(where) :])


def _margins(results: Sequence[PointResult]) -> Array:
    return np.array([result.least for result in results])


def scaled(both: Sequence[Axis], where: Array) -> Array:
    """Points of the unit square in the units of both axes, in five digits of their ranges."""
    columns = []
    for d, share in zip(both, np.asarray(where).T, strict=True):
        low, high = d.ends
        columns.append(low + np.round(share, 5) * (high - low))
    return np.stack(columns, axis=1)


def unit_square(both: Sequence[Dimension], points: Points) -> Array:
    """The points of a grid in the unit square."""
    columns = []
    for k, d in enumerate(both):
        values = np.asarray(points.values[k], dtype=float)[points.place[:, k]]
        columns.append((values - d.values[0]) / (d.values[-1] - d.values[0]))
    return np.stack(columns, axis=1)


def plain_row(result: PointResult) -> Data:
    """Return the answer at a point as one flat row."""
    keys = ("mc_30d_max", "mould_index_max", "condensate", "dew_point_hours")
    numbers = {key: result.numbers.get(key) for key in keys}
    told = {
        "passed": result.passed,
        "outcome": result.outcome,
        "margin": None if np.isnan(result.margin) else result.margin,
        "scenario": result.scenario,
        "criterion": result.criterion,
        "decides": result.decides,
    }
    return {**result.at, **told, **numbers, "error": result.error}
