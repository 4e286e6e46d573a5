"""Ratios of cost that hold on any machine, measured quickly; the recorded ones are in ratios.toml.

Counts do not depend on the machine. A ratio of times is made of the least times of interleaved
rounds, and another round is added where one seems worse: what others do on the machine only adds.
"""

from __future__ import annotations

import tomllib
import warnings
from collections.abc import Callable
from pathlib import Path
from time import process_time

import numpy as np
from numba import njit

from benchmarks.common import show_table
from benchmarks.cvode import Anchor, Policy
from benchmarks.growth import cells_of
from hygro.proof.trials import Trial, trials
from hygro.solve.ensemble import run_many
from hygro.solve.lanes import WIDTH
from hygro.solve.march import run
from hygro.solve.settings import Settings

RECORDED = Path(__file__).with_name("ratios.toml")
HOURS = 240
ROUNDS, MOST_ROUNDS = 4, 40
RTOL = 1e-3
"""At which CVODE, begun anew every hour, leaves about what the engine does: 0.01 K. [1]"""
LOOP, LOOP_CELLS = 2000, 64


@njit
def fixed_loop(count: int) -> float:
    """Work that never changes: block elimination, exponentials and look-ups, as a march does."""
    table = np.linspace(0.1, 1.0, 512)
    x = np.linspace(0.2, 0.8, LOOP_CELLS)
    total = 0.0
    for turn in range(count):
        carried = 0.3
        for i in range(LOOP_CELLS):
            k = int(x[i] * 511.0)
            a = table[k] + np.exp(-x[i]) + 0.01 * (turn % 7)
            b = table[511 - k] * x[i] + 0.5
            carried = (a * b - carried) / (2.0 + a * a + b * carried)
            total += carried
    return total


def _timed(call: Callable[[], object]) -> float:
    begin = process_time()
    call()
    return process_time() - begin


class Costs:
    """Least times of the parts of all ratios [s] so far, and the counts of runs."""

    def __init__(self) -> None:
        walls = trials(HOURS)
        self.framed, self.ventilated = walls["framed"], walls["ventilated"]
        self.brick = walls["brick"]
        self.anchors = {name: Anchor(walls[name]) for name in ("ventilated", "brick")}
        self.least: dict[str, float] = {}
        self.calls = self._calls(walls)
        for call in self.calls.values():
            call()  # compiles

    def _calls(self, walls: dict[str, Trial]) -> dict[str, Callable[[], object]]:
        state, eight = Policy(contents=False), [(self.framed.wall, self.framed.loads)] * WIDTH
        found: dict[str, Callable[[], object]] = {
            "loop": lambda: fixed_loop(LOOP),
            "lanes": lambda: list(run_many(eight, threads=1)),
        }
        for name in ("framed", "ventilated", "brick"):
            trial = walls[name]
            found[name] = lambda t=trial: run(t.wall, t.loads)
        for total in (50, 400):
            cells = cells_of(total)
            trial = self.framed
            found[f"{total} cells"] = lambda c=cells, t=trial: run(t.wall, t.loads, cells=c)
        for name, anchor in self.anchors.items():
            found[f"cvode {name}"] = lambda a=anchor: a.march(RTOL, state)
        return found

    def another(self, rounds: int = 1) -> Costs:
        """Time every part again."""
        for _ in range(rounds):
            for name, call in self.calls.items():
                self.least[name] = min(_timed(call), self.least.get(name, np.inf))
        return self

    def ratios(self) -> dict[str, float]:
        """All ratios by name."""
        t, found = self.least, {}
        for name in ("ventilated", "brick"):
            found[f"cvode over ours, {name}"] = t[f"cvode {name}"] / t[name]
        evaluations = {c: _count(self.framed, cells=cells_of(c)) for c in (50, 400)}
        per = {c: t[f"{c} cells"] / evaluations[c] for c in (50, 400)}
        found["evaluation of 50 cells over the fixed loop"] = per[50] / (t["loop"] / LOOP)
        found["400 cells over 50"] = per[400] / per[50]
        found["8 walls in lanes over one"] = t["lanes"] / t["framed"]
        tight = _count(self.ventilated, Settings(tolerance=0.01))
        found["tolerance 0.01 over 1"] = tight / _count(self.ventilated)
        found["iterations per hour, framed"] = _count(self.framed) / HOURS
        found["iterations per hour, brick"] = _count(self.brick) / HOURS
        return found


def _count(trial: Trial, settings: Settings | None = None, **options: object) -> int:
    return run(trial.wall, trial.loads, settings, **options).counters["evaluations"]


def measure() -> dict[str, float]:
    """All ratios; measured longer where one is worse than recorded."""
    costs = Costs().another(ROUNDS)
    for _ in range(ROUNDS, MOST_ROUNDS):
        if not worse(costs.ratios()):
            break
        costs.another()
    return costs.ratios()


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
    found = Costs().another(3 * ROUNDS).ratios()
    known = recorded()
    rows = [[name, value, known.get(name, {}).get("value", "-")] for name, value in found.items()]
    show_table("ratios", ["ratio", "here", "recorded"], rows)
    print("\n".join(worse(found)) or "none is worse than recorded by more than its margin")


if __name__ == "__main__":
    main()
