"""How fast one wall runs, and how fast many do: wall-years per second, arithmetic per cell.

The ensemble is one wall in 32 stretches of a year that start at different seasons: what lanes have
in common is the wall, not the weather. Set-up and results are in the times.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time

import matplotlib.pyplot as plt

from benchmarks.common import (
    YEAR,
    best_of,
    machine,
    record,
    rounded,
    save_figure,
    show_table,
)
from hygro.proof.trials import trials
from hygro.show.style import INK, pen
from hygro.solve.ensemble import run_many
from hygro.solve.lanes import WIDTH
from hygro.solve.march import run
from hygro.solve.setup import Run

HOURS = 2190
STARTS = (0, 400, 900, 1500, 2190, 3000, 4380, 6000)
TIMES = 4
WALLS = ("framed", "ventilated", "brick", "outboard")


def alone(name: str) -> list[float]:
    """Cells, wall-years per second, ns per cell and Newton iteration, iterations per hour."""
    trial = trials(HOURS, first=6552)[name]
    seconds, got = best_of(5, lambda: run(trial.wall, trial.loads))
    count, evaluations = got.T.shape[1], got.counters["evaluations"]
    return [
        count,
        HOURS / YEAR / seconds,
        1e9 * seconds / count / evaluations,
        evaluations / HOURS,
    ]


def together(name: str) -> list[float]:
    """Wall-years per second of processor, ns per cell and iteration; by the clock on all cores."""
    starts = [trials(HOURS, first=first)[name] for first in STARTS]
    cases = [(trial.wall, trial.loads) for trial in starts]

    def many(times: int, threads: int | None) -> int:
        ran = [got for _, got in run_many(cases * times, threads=threads)]
        counted = (r.T.shape[1] * r.counters["evaluations"] for r in ran if isinstance(r, Run))
        return sum(counted)

    seconds, work = best_of(3, lambda: many(1, 1))
    begin = time.perf_counter()
    many(TIMES, None)
    clock = time.perf_counter() - begin
    years = len(cases) * HOURS / YEAR
    return [years / seconds, 1e9 * seconds / work, TIMES * years / clock]


def counted() -> dict[str, float]:
    """Floating-point operations, counted by running the kernels uncompiled on counting numbers."""
    found = subprocess.run(
        [sys.executable, "-m", "benchmarks.arithmetic"],
        check=True, capture_output=True, text=True, env={**os.environ, "NUMBA_DISABLE_JIT": "1"},
    )  # fmt: skip
    return json.loads(found.stdout)


def main() -> None:
    print(machine())
    cores = os.cpu_count() or 1
    rows = [[name, *alone(name), *together(name)] for name in WALLS]
    heads = [
        "wall", "cells", "alone: wall-years/s", "ns per cell and iteration", "iterations per hour",
        f"in {WIDTH} lanes: wall-years/s", "ns per cell and iteration",
        f"lanes on {cores} cores, by the clock",
    ]  # fmt: skip
    show_table("throughput", heads, rows)
    keys = ("cells", "alone", "alone_ns", "iterations", "lanes", "lanes_ns", "all_cores")
    record(
        "throughput", {"walls": {r[0]: rounded(dict(zip(keys, r[1:], strict=True))) for r in rows}}
    )
    work = counted()
    show_table("arithmetic per cell and Newton iteration, framed wall", list(work), [work.values()])
    for kind, column in (("alone", 3), ("in lanes", 6)):
        rate = work["operations"] / rows[0][column]
        print(f"{rate:.2f} floating-point operations per ns on the framed wall {kind}")
    figure, field = plt.subplots(figsize=(6.5, 3))
    places = range(len(rows))
    kinds = (
        (2, "one wall, one core"),
        (5, f"{WIDTH} lanes, one core"),
        (7, f"lanes, {cores} cores"),
    )
    for k, (column, label) in enumerate(kinds):
        field.bar(
            [p + 0.27 * (k - 1) for p in places], [r[column] for r in rows], 0.25, label=label,
            color=pen(k).color, edgecolor=INK, hatch=("", "//", "..")[k],
        )  # fmt: skip
    field.set_xticks(list(places), [f"{r[0]}\n{r[1]} cells" for r in rows])
    field.set_ylabel("wall-years per second")
    field.legend(fontsize=7)
    save_figure(figure, "throughput")


if __name__ == "__main__":
    main()
