"""Error against cost on five walls: this engine, SUNDIALS CVODE and the integrators of SciPy.

All solve the same semi-discrete equations with the same compiled right-hand side (for the others
without its Jacobian), restarted each hour where the loads jump; the reference is CVODE at 1e-10.
What is compared is the way through time: method, Jacobian, linear algebra and its overhead in
Python (CVODE and SciPy call back into Python for every right-hand side, this engine does not).
"""

from __future__ import annotations

import argparse
import warnings
from collections.abc import Iterator
from typing import NamedTuple

import matplotlib.pyplot as plt
import numpy as np
from scipy.integrate import BDF, LSODA, Radau

from benchmarks.common import (
    YEAR,
    best_of,
    machine,
    record,
    rounded,
    save_figure,
    show_table,
)
from hygro.errors import SolveError
from hygro.proof.trials import Trial, trials
from hygro.proof.twin import BAND, SCALE_T, Twin, integrate, right_hand_side
from hygro.show.style import pen
from hygro.solve.march import run
from hygro.solve.settings import Settings

OURS = (10.0, 3.0, 1.0, 0.3, 0.1, 0.03, 0.01)
CVODE = (1e-3, 3e-4, 1e-4, 3e-5, 1e-5, 1e-6, 1e-7)
SCIPY = (1e-3, 1e-5)
METHODS = {"BDF": BDF, "Radau": Radau, "LSODA": LSODA}
SCIPY_HOURS = 96


class Point(NamedTuple):
    """One run: seconds per simulated year, and errors of T [K], rh [1] and MC [% by mass]."""

    method: str
    tolerance: float
    seconds: float
    rms_T: float
    max_T: float
    rms_rh: float
    max_rh: float
    rms_mc: float
    max_mc: float


def errors(trial: Trial, layer: np.ndarray, states: tuple, exact: Twin) -> tuple[float, ...]:
    """r.m.s. and largest error of temperature, humidity and moisture content of the watched layer.

    States are (T, rh, w) at the hours, as far as they go.
    """
    T, rh, w = states
    rows = len(T)
    names = [x.name for x in trial.wall.solids]
    index = names.index(trial.watch)
    cells = layer == index
    density = trial.wall.solids[index].material.density
    mc = 100.0 / density * (w - exact.w[:rows])[:, cells].mean(axis=1)
    found: list[float] = []
    for difference in (T - exact.T[:rows], rh - exact.rh[:rows], mc):
        found += [float(np.sqrt(np.mean(difference**2))), float(np.abs(difference).max())]
    return tuple(found)


def ours(trial: Trial, exact: Twin, repeats: int) -> Iterator[Point]:
    """Our march at several tolerances."""
    scale = YEAR / trial.loads.hours
    for tolerance in OURS:
        settings = Settings(tolerance=tolerance)
        seconds, got = best_of(
            repeats, lambda s=settings: run(trial.wall, trial.loads, s, cells=trial.cells)
        )
        found = errors(trial, got.grid.layer, (got.T, got.rh, got.w), exact)
        yield Point("this engine", tolerance, seconds * scale, *found)


def cvode(trial: Trial, exact: Twin, layer: np.ndarray) -> Iterator[Point]:
    """CVODE, banded, at several tolerances."""
    scale = YEAR / trial.loads.hours
    for rtol in CVODE:
        try:
            got = integrate(trial.wall, trial.loads, cells=trial.cells, rtol=rtol)
        except SolveError as error:
            print(f"{trial.wall.name}: {error}")
            continue
        found = errors(trial, layer, (got.T, got.rh, got.w), exact)
        yield Point("CVODE", rtol, got.seconds * scale, *found)


def scipy_states(trial: Trial, method: str, rtol: float, hours: int) -> tuple[np.ndarray, ...]:
    """T, rh and w at the hours by an integrator of SciPy."""
    rhs, y = right_hand_side(trial.wall, trial.loads, cells=trial.cells)
    options = {"lband": BAND, "uband": BAND} if method == "LSODA" else {"jac_sparsity": _band(y)}
    states = [y]
    for hour in range(hours):
        rhs.hour = hour
        solver = METHODS[method](
            lambda x, y: _rates(rhs, x, y), 0.0, y, 1.0, rtol=rtol, atol=rtol, **options
        )
        while solver.status == "running":
            solver.step()
        if solver.status != "finished":
            raise SolveError(f"{trial.wall.name}: {method} at {rtol:g} stopped in hour {hour}")
        y = solver.y
        states.append(y)
    return curves(rhs, np.array(states))


def _rates(rhs, x: float, y: np.ndarray) -> np.ndarray:
    out = np.empty_like(y)
    rhs(x, y, out)
    return out


def _band(y: np.ndarray) -> np.ndarray:
    rows = np.arange(len(y))
    return (np.abs(rows[:, None] - rows[None, :]) <= BAND).astype(float)


def curves(rhs, states: np.ndarray) -> tuple[np.ndarray, ...]:
    """T, rh, w from scaled unknowns."""
    from hygro.proof.twin import _curves

    T, _, rh, w = _curves(rhs, states)
    return T, rh, w


def scipy(trial: Trial, exact: Twin, layer: np.ndarray) -> Iterator[Point]:
    """BDF, Radau and LSODA over the first days only: they are slow."""
    hours = min(SCIPY_HOURS, trial.loads.hours)
    for method in METHODS:
        for rtol in SCIPY:
            try:
                seconds, got = best_of(1, lambda m=method, r=rtol: scipy_states(trial, m, r, hours))
            except SolveError as error:
                print(error)
                continue
            found = errors(trial, layer, got, exact)
            yield Point(f"SciPy {method}", rtol, seconds * YEAR / hours, *found)


def at_most(points: list[Point], error: float, name: str) -> float:
    """Seconds per year of the cheapest run with at most that error; not a number if none."""
    return min((p.seconds for p in points if getattr(p, name) <= error), default=float("nan"))


def measure(trial: Trial, *, repeats: int, with_scipy: bool) -> list[Point]:
    """All methods on one wall."""
    exact = integrate(trial.wall, trial.loads, cells=trial.cells, rtol=1e-10)
    layer = run(trial.wall, trial.loads, cells=trial.cells).grid.layer
    points = [*ours(trial, exact, repeats), *cvode(trial, exact, layer)]
    return [*points, *scipy(trial, exact, layer)] if with_scipy else points


def ratio(points: list[Point], error: float, name: str) -> float:
    """CVODE's time over ours for at most that error."""
    mine = [p for p in points if p.method == "this engine"]
    theirs = [p for p in points if p.method == "CVODE"]
    return at_most(theirs, error, name) / at_most(mine, error, name)


def draw(results: dict[str, list[Point]]) -> None:
    """Time over error, one field per wall."""
    figure, fields = plt.subplots(2, len(results), figsize=(3.2 * len(results), 6), sharey=True)
    for column, (wall, points) in zip(fields.T, results.items(), strict=True):
        for field, key, unit in zip(column, ("rms_T", "rms_rh"), ("K", "-"), strict=True):
            for number, method in enumerate(dict.fromkeys(p.method for p in points)):
                chosen = [p for p in points if p.method == method]
                drawn = pen(number)
                field.loglog(
                    [getattr(p, key) for p in chosen], [p.seconds for p in chosen],
                    color=drawn.color, marker=drawn.mark, ms=4, label=method,
                    linestyle="-" if method in ("this engine", "CVODE") else "none",
                )  # fmt: skip
            field.set_xlabel(f"r.m.s. error of {key[4:]} [{unit}]")
            field.grid(alpha=0.3)
        column[0].set_title(wall, fontsize=10)
    for field in fields[:, 0]:
        field.set_ylabel("s per simulated year")
    fields[0, 0].legend(fontsize=7)
    figure.tight_layout()
    save_figure(figure, "accuracy")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=int, default=2190, help="length of the runs")
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--no-scipy", action="store_true")
    parser.add_argument("--write", action="store_true", help="record the numbers for the pages")
    given = parser.parse_args()
    if given.write and given.no_scipy:
        parser.error("--write: the pages tell SciPy's times too; leave --no-scipy out")
    warnings.simplefilter("ignore")
    print(machine())
    results = {
        name: measure(trial, repeats=given.repeats, with_scipy=not given.no_scipy)
        for name, trial in trials(given.hours, first=6552).items()
    }
    heads = ["method", "tol", "s/year", "rms T", "max T", "rms rh", "max rh", "rms MC", "max MC"]
    for name, points in results.items():
        show_table(f"{name}: K, 1, % by mass; scale of T {SCALE_T:g} K", heads, points)
    levels = (
        ("rms_T", 0.02),
        ("rms_T", 0.01),
        ("rms_T", 0.005),
        ("rms_T", 0.001),
        ("rms_rh", 2e-4),
        ("rms_rh", 5e-5),
    )
    rows = [[n, *(ratio(p, e, k) for k, e in levels)] for n, p in results.items()]
    show_table(
        "time of CVODE over time of this engine, each the cheapest run with at most that error",
        ["wall", *(f"{k} {e:g}" for k, e in levels)], rows,
    )  # fmt: skip
    names = [f"{key} {error:g}" for key, error in levels]
    record("accuracy", {
        "ratios": {n: rounded(dict(zip(names, found, strict=True))) for n, *found in rows},
        "default": {n: at_default(points) for n, points in results.items()},
        "scipy": rounded(scipy_seconds([p for points in results.values() for p in points])),
    })  # fmt: skip
    draw(results)


def at_default(points: list[Point]) -> dict[str, float]:
    """r.m.s. errors of T [K] and rh [1] in time at the default tolerance."""
    (mine,) = (p for p in points if p.method == "this engine" and p.tolerance == 1.0)
    return rounded({"rms_T": mine.rms_T, "rms_rh": mine.rms_rh})


def scipy_seconds(points: list[Point]) -> dict[str, float]:
    """Least and most seconds a year of SciPy's methods."""
    found = {m: [p.seconds for p in points if p.method == f"SciPy {m}"] for m in METHODS}
    ends = ((m, seconds) for m, seconds in found.items() if seconds)
    return {f"{m} {word}": end(s) for m, s in ends for word, end in (("least", min), ("most", max))}


if __name__ == "__main__":
    main()
