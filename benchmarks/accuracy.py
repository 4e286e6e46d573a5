"""Error against cost on five walls: this engine, SUNDIALS CVODE driven from C, SciPy's integrators.

All solve the same semi-discrete equations with the same compiled formulas. CVODE gets the exact
banded Jacobian, two choices of unknowns and several policies of beginning anew; the best of them
counts, for each wall and error by itself. It is charged with its steps alone, the engine with its
march and with a whole run. Errors are of time alone (against CVODE as tight as it gets through, on
the same grid) and in all (against eight times as many cells). `--write` records `speed.json` and
`docs/integrators.md`.

Every point is kept in `results/benchmarks/accuracy`: the same command goes on where it was stopped.
Times are of the processor, so that `--jobs 5` measures the walls side by side where there are as
many idle cores. Needs gcc and the scikit-sundae wheel.
"""

from __future__ import annotations

import argparse
import json
import warnings
from collections.abc import Mapping
from concurrent.futures import ProcessPoolExecutor
from functools import cached_property, partial
from multiprocessing import get_context
from pathlib import Path
from time import process_time
from typing import NamedTuple

import matplotlib.pyplot as plt
import numpy as np

import hygro.solve.march as engine
from benchmarks import scipy_integrators, speed_page
from benchmarks.common import YEAR, circumstances, save_figure, show_table
from benchmarks.cvode import Anchor, Marched, Policy
from benchmarks.kept_points import KeptPoints, state
from hygro.errors import SolveError
from hygro.proof.report import versions
from hygro.proof.trials import Trial, trials
from hygro.show.style import pen
from hygro.solve import turn
from hygro.solve.settings import Settings
from hygro.wall.grid import build_grid, split

RESULTS = Path(__file__).with_name("speed.json")
OURS = (10.0, 5.0, 3.0, 2.0, 1.0, 0.9, 0.85, 0.8, 0.7, 0.5, 0.3, 0.1, 0.03)
CVODE = (3e-2, 1e-2, 3e-3, 1e-3, 5e-4, 3e-4, 2e-4, 1e-4, 5e-5, 3e-5, 1e-5, 3e-6, 1e-6)
EXACT = (1e-10, 1e-9, 1e-8, 1e-7)
"""Tolerances of the reference in time: CVODE may give up at a kink, then the next is asked."""
PARTS, EXACT_TOLERANCE = 8, 0.05
"""Cells and step tolerance of the reference in all."""
SLACK = 1.05
"""How far above that of the engine's default, or of the grid alone where that is more, the whole
error of a run may be to count as equal."""
STATE, CONTENTS = Policy(contents=False), Policy()
POLICIES = {
    "T, u; every hour": STATE,
    "T, u; every hour, Jacobian by differences": STATE._replace(exact=False),
    "T, u; every hour, first step 36 s": STATE._replace(first=0.01),
    "T, u; jumps above 1 K": STATE._replace(jump=1.0),
    "T, u; jumps above 5 K": STATE._replace(jump=5.0),
    "T, u; never": STATE._replace(jump=np.inf),
    "T, u; never, order 2": STATE._replace(jump=np.inf, order=2),
    "T, u; never, over hours": STATE._replace(jump=np.inf, free=True),
    "contents; every hour": CONTENTS,
    "contents; jumps above 5 K": CONTENTS._replace(jump=5.0),
    "contents; never": CONTENTS._replace(jump=np.inf),
    "contents; never, over hours": CONTENTS._replace(jump=np.inf, free=True),
}
LEVELS = (
    ("rms_T", 0.02), ("rms_T", 0.01), ("rms_T", 0.005), ("rms_T", 0.001), ("rms_rh", 5e-4),
    ("rms_rh", 2e-4), ("rms_rh", 5e-5),
)  # fmt: skip
ENGINE, GRID = "this engine", "exact in time"
States = tuple[np.ndarray, ...]


class Point(NamedTuple):
    """One run: seconds a simulated year of its steps and of all of it; errors of time over all
    cells [K], [1]; whole errors of the mean of the watched layer [K], [% by mass].
    """

    method: str
    tolerance: float
    seconds: float
    whole: float
    rms_T: float
    rms_rh: float
    total_T: float
    total_mc: float


class Judge:
    """The references of a wall, and the errors of runs against them."""

    def __init__(self, trial: Trial, anchor: Anchor) -> None:
        self.trial = trial
        self.grid = anchor.setup.grid
        self.exact = _exact(anchor)
        cells = split(trial.wall, build_grid(trial.wall, cells=trial.cells), PARTS)
        fine = engine.run(trial.wall, trial.loads, Settings(tolerance=EXACT_TOLERANCE), cells=cells)
        self.fine = self._means(fine.grid, fine.T, fine.w)

    def _means(self, grid, T: np.ndarray, w: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        k = [x.name for x in self.trial.wall.solids].index(self.trial.watch)
        mine = grid.layer == k
        share = grid.thickness[mine] / grid.thickness[mine].sum()
        return T[:, mine] @ share, 100.0 / self.trial.wall.solids[k].material.density * (
            w[:, mine] @ share
        )

    def errors(self, states: States) -> tuple[float, ...]:
        """Of (T, rh, w) at the hours, as far as they go; see `Point`."""
        T, rh, w = states
        rows = len(T)
        found = T - self.exact.T[:rows], rh - self.exact.rh[:rows]
        pairs = zip(self._means(self.grid, T, w), self.fine, strict=True)
        return tuple(_rms(x) for x in (*found, *(a - b[:rows] for a, b in pairs)))


def _exact(anchor: Anchor) -> Marched:
    """CVODE as tight as it gets through; over contents, which lose nothing, before T and u.

    Over T and u it may step past the heat of pores that freeze within 0.05 K.
    """
    for policy in (CONTENTS, STATE):
        for rtol in EXACT:
            try:
                return anchor.march(rtol, policy)
            except SolveError as error:
                print(error)
    raise SolveError(f"{anchor.trial.wall.name}: CVODE gets through at none of {EXACT}")


def _rms(values: np.ndarray) -> float:
    return float(np.sqrt(np.mean(values**2)))


def clocked(trial: Trial, settings: Settings) -> tuple[float, float, engine.Run]:
    """Processor time of the march and of the whole run [s], and the run."""
    inner, spent = turn.march, 0.0

    def march(*arguments: object) -> None:
        nonlocal spent
        begin = process_time()
        inner(*arguments)
        spent += process_time() - begin

    turn.march = march
    try:
        begin = process_time()
        got = engine.run(trial.wall, trial.loads, settings, cells=trial.cells)
        return spent, process_time() - begin, got
    finally:
        turn.march = inner


class Bench:
    """A wall, what is compared on it, and the references, which are made when first asked for."""

    def __init__(self, trial: Trial, repeats: int) -> None:
        self.trial, self.repeats = trial, repeats
        self.scale = YEAR / trial.loads.hours

    @cached_property
    def anchor(self) -> Anchor:
        """CVODE on the wall."""
        return Anchor(self.trial)

    @cached_property
    def judge(self) -> Judge:
        """The references."""
        return Judge(self.trial, self.anchor)

    def ours(self, tolerance: float) -> Point:
        """The engine at a tolerance."""
        settings = Settings(tolerance=tolerance)
        runs = [clocked(self.trial, settings) for _ in range(self.repeats)]
        march, whole = (self.scale * min(run[k] for run in runs) for k in range(2))
        got = runs[0][2]
        return Point(ENGINE, tolerance, march, whole, *self.judge.errors((got.T, got.rh, got.w)))

    def theirs(self, policy: str, rtol: float) -> Point:
        """CVODE by a policy at a tolerance."""
        runs = [self.anchor.march(rtol, POLICIES[policy]) for _ in range(self.repeats)]
        seconds, got = self.scale * min(run.seconds for run in runs), runs[0]
        return Point(policy, rtol, seconds, seconds, *self.judge.errors((got.T, got.rh, got.w)))

    def grid(self) -> Point:
        """What the grid alone leaves open."""
        exact = self.judge.exact
        found = self.judge.errors((exact.T, exact.rh, exact.w))
        return Point(GRID, 0.0, exact.seconds, exact.seconds, *found)

    def scipys(self) -> list[Point]:
        """SciPy's integrators."""
        return [
            Point(f"SciPy {method}", rtol, seconds, seconds, *self.judge.errors(states))
            for method, rtol, seconds, states in scipy_integrators.runs(self.trial)
        ]


def measure(name: str, hours: int, repeats: int, with_scipy: bool) -> list[Point]:
    """All methods on one wall; points that are kept are not measured again."""
    warnings.simplefilter("ignore")
    kept = KeptPoints("accuracy", name, state(hours, repeats))
    bench = Bench(trials(hours, first=6552)[name], repeats)
    rows = [kept.of(f"{ENGINE} {x:g}", partial(bench.ours, x)) for x in OURS]
    rows += [
        kept.of(f"{policy} {rtol:g}", partial(bench.theirs, policy, rtol))
        for policy in POLICIES
        for rtol in CVODE
    ]
    rows.append(kept.of(GRID, bench.grid))
    if with_scipy:
        rows += kept.of("SciPy", bench.scipys)
    return [Point(*row) for row in rows if row is not None]


def cheapest(points: list[Point], bounds: Mapping[str, float], by: str) -> Point | None:
    """The run that takes least of `by` with every error within its bound; None if there is none."""
    good = [p for p in points if all(getattr(p, k) <= bound for k, bound in bounds.items())]
    return min(good, key=lambda p: getattr(p, by), default=None)


def row(points: list[Point], bounds: dict[str, float]) -> dict[str, object]:
    """Seconds a year of the cheapest runs within bounds: engine, best policy of CVODE."""
    mine = [p for p in points if p.method == ENGINE]
    other = [p for p in points if p.method in POLICIES]
    march, whole = (cheapest(mine, bounds, by) for by in ("seconds", "whole"))
    best = cheapest(other, bounds, "seconds")
    return {
        "bounds": bounds,
        "march": march and march.seconds,
        "whole": whole and whole.whole,
        "cvode": best and best.seconds,
        "policy": best and best.method,
        "rtol": best and best.tolerance,
    }


def summary(points: list[Point]) -> dict[str, object]:
    """What is kept of a wall."""
    default = next(p for p in points if p.method == ENGINE and p.tolerance == 1.0)
    grid = next(p for p in points if p.method == GRID)
    equal = {k: SLACK * max(getattr(default, k), getattr(grid, k)) for k in ("total_T", "total_mc")}
    return {
        "grid": grid._asdict(),
        "default": default._asdict(),
        "time": [row(points, {key: bound}) for key, bound in LEVELS],
        "whole": row(points, equal),
    }


def draw(results: dict[str, list[Point]]) -> None:
    """Time over error of time, one field a wall: the engine, the best of CVODE."""
    figure, fields = plt.subplots(2, len(results), figsize=(3.2 * len(results), 6), sharey=True)
    for column, (wall, points) in zip(fields.T, results.items(), strict=True):
        for field, key, unit in zip(column, ("rms_T", "rms_rh"), ("K", "1"), strict=True):
            for number, (label, methods) in enumerate(((ENGINE, {ENGINE}), ("CVODE", {*POLICIES}))):
                chosen = [p for p in points if p.method in methods]
                drawn = pen(number)
                field.loglog([getattr(p, key) for p in chosen], [p.seconds for p in chosen],
                             drawn.mark, color=drawn.color, ms=3, label=label)  # fmt: skip
            field.set_xlabel(f"r.m.s. error of {key[4:]} [{unit}]")
            field.grid(alpha=0.3)
        column[0].set_title(wall, fontsize=10)
    fields[0, 0].legend(fontsize=7)
    figure.tight_layout()
    save_figure(figure, "accuracy")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=int, default=2190, help="length of the runs")
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--no-scipy", action="store_true")
    parser.add_argument(
        "--write", action="store_true", help="record speed.json, docs/integrators.md"
    )
    parser.add_argument("--jobs", type=int, default=1, help="walls side by side, a core for each")
    given = parser.parse_args()
    names = list(trials(given.hours, first=6552))
    one = partial(measure, hours=given.hours, repeats=given.repeats, with_scipy=not given.no_scipy)
    with ProcessPoolExecutor(given.jobs, mp_context=get_context("spawn")) as pool:
        results = dict(zip(names, pool.map(one, names), strict=True))
    for name, points in results.items():
        show_table(f"{name}: s a year, K, 1, K, % by mass", Point._fields, points)
    kept = circumstances() | {
        "versions": versions(),
        "hours": given.hours,
        "walls": {name: summary(points) for name, points in results.items()},
    }
    print(speed_page.page(kept))
    if given.write:
        RESULTS.write_text(json.dumps(kept, indent=1) + "\n", encoding="utf-8")
        speed_page.PAGE.write_text(speed_page.page(kept), encoding="utf-8")
    draw(results)


if __name__ == "__main__":
    main()
