"""Ratios of cost that hold on any machine, measured quickly; the recorded ones are in ratios.toml.

A ratio is called worse when it moves the wrong way by more than its margin: machines differ in
caches and in the cost of a call into Python, so the margins are wide.
"""

from __future__ import annotations

import tomllib
import warnings
from pathlib import Path

import numpy as np

from benchmarks.accuracy import Point, at_most, errors
from benchmarks.common import best_of, show_table
from benchmarks.growth import cells_of
from hygro.proof.trials import Trial, trials
from hygro.proof.twin import integrate
from hygro.solve.ensemble import run_many
from hygro.solve.lanes import WIDTH
from hygro.solve.march import run
from hygro.solve.settings import Settings

RECORDED = Path(__file__).with_name("ratios.toml")
HOURS = 240
ERROR = 0.01
"""r.m.s. error of temperature for the comparison with CVODE. [K]"""


def against_cvode(trial: Trial) -> float:
    """Time of CVODE over ours, each the cheapest run with at most `ERROR`."""
    exact = integrate(trial.wall, trial.loads, rtol=1e-9)
    mine, theirs = [], []
    for tolerance in (3.0, 1.0, 0.3):
        settings = Settings(tolerance=tolerance)
        seconds, got = best_of(5, lambda s=settings: run(trial.wall, trial.loads, s))
        found = errors(trial, got.grid.layer, (got.T, got.rh, got.w), exact)
        mine.append(Point("ours", tolerance, seconds, *found))
    for rtol in (3e-4, 1e-4, 3e-5, 1e-5):
        twin = integrate(trial.wall, trial.loads, rtol=rtol)
        found = errors(trial, got.grid.layer, (twin.T, twin.rh, twin.w), exact)
        theirs.append(Point("CVODE", rtol, twin.seconds, *found))
    return at_most(theirs, ERROR, "rms_T") / at_most(mine, ERROR, "rms_T")


def of_cells(trial: Trial) -> float:
    """Time per iteration of 400 cells over that of 50; 8 when it grows with the cells."""
    per = []
    for total in (50, 400):
        cells = cells_of(total)
        seconds, got = best_of(3, lambda c=cells: run(trial.wall, trial.loads, cells=c))
        per.append(seconds / got.counters["evaluations"])
    return per[1] / per[0]


def of_tolerance(trial: Trial) -> float:
    """Iterations at tolerance 0.01 over those at 1; 10 where the tolerance alone rules."""
    counts = [
        run(trial.wall, trial.loads, Settings(tolerance=x)).counters["evaluations"]
        for x in (1.0, 0.01)
    ]
    return counts[1] / counts[0]


def of_lanes(trial: Trial) -> float:
    """Time of as many walls as there are lanes, side by side, over that of one by itself."""
    cases = [(trial.wall, trial.loads)] * WIDTH
    together, _ = best_of(5, lambda: list(run_many(cases, threads=1)))
    alone, _ = best_of(5, lambda: run(trial.wall, trial.loads))
    return together / alone


def per_hour(trial: Trial) -> float:
    """Newton iterations per simulated hour at default settings."""
    return run(trial.wall, trial.loads).counters["evaluations"] / trial.loads.hours


def measure() -> dict[str, float]:
    """All ratios by name."""
    walls = trials(HOURS)
    return {
        "cvode over ours, ventilated": against_cvode(walls["ventilated"]),
        "cvode over ours, brick": against_cvode(walls["brick"]),
        "400 cells over 50": of_cells(walls["framed"]),
        "8 walls in lanes over one": of_lanes(walls["framed"]),
        "tolerance 0.01 over 1": of_tolerance(walls["ventilated"]),
        "iterations per hour, framed": per_hour(walls["framed"]),
        "iterations per hour, brick": per_hour(walls["brick"]),
    }


def recorded() -> dict[str, dict[str, object]]:
    """Recorded ratios: value, margin (a factor), and which way is better."""
    return tomllib.loads(RECORDED.read_text(encoding="utf-8"))


def worse(found: dict[str, float]) -> list[str]:
    """Ratios that are worse than recorded by more than their margin, in words."""
    lines = []
    for name, row in recorded().items():
        value, known, margin = found[name], row["value"], row["margin"]
        falls = np.isnan(value) or (
            value < known / margin if row["better"] == "more" else value > known * margin
        )
        if falls:
            lines.append(f"{name}: {value:.3g}, recorded {known:.3g}, margin {margin:g}")
    return lines


def main() -> None:
    warnings.simplefilter("ignore")
    found = measure()
    known = recorded()
    rows = [[name, value, known.get(name, {}).get("value", "-")] for name, value in found.items()]
    show_table("ratios", ["ratio", "here", "recorded"], rows)
    print("\n".join(worse(found)) or "none is worse than recorded by more than its margin")


if __name__ == "__main__":
    main()
