"""How fast on one core and on all: wall-years per second, time per cell, arithmetic per cell."""

from __future__ import annotations

import json
import multiprocessing
import os
import subprocess
import sys
import time

import matplotlib.pyplot as plt

from benchmarks.common import YEAR, best_of, machine, save_figure, show_table
from hygro.proof.trials import Trial, trials
from hygro.solve.march import run

HOURS = 2190
WALLS = ("framed", "ventilated", "brick", "outboard")


def one(name: str) -> list[float]:
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


def _many(trial: Trial, times: int) -> None:
    for _ in range(times):
        run(trial.wall, trial.loads)


def by_clock(name: str, cores: int, times: int = 20) -> float:
    """Wall-years per second by the clock with so many processes; others' load counts against it."""
    trial = trials(HOURS, first=6552)[name]
    context = multiprocessing.get_context("fork")
    workers = [context.Process(target=_many, args=(trial, times)) for _ in range(cores)]
    begin = time.perf_counter()
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    return cores * times * HOURS / YEAR / (time.perf_counter() - begin)


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
    rows = [[name, *one(name), by_clock(name, 1), by_clock(name, cores)] for name in WALLS]
    heads = [
        "wall", "cells", "wall-years/s of processor", "ns per cell and Newton iteration",
        "iterations per hour", "by clock, 1 process", f"by clock, {cores} processes",
    ]  # fmt: skip
    show_table("throughput", heads, rows)
    work = counted()
    show_table("arithmetic per cell and Newton iteration, framed wall", list(work), [work.values()])
    rate = work["operations"] / rows[0][3]
    print(f"{rate:.2f} floating-point operations per ns on the framed wall")
    figure, field = plt.subplots(figsize=(6, 3))
    field.bar([f"{r[0]}\n{r[1]} cells" for r in rows], [r[2] for r in rows], label="processor time")
    field.plot(range(len(rows)), [r[5] for r in rows], "k_", label="clock, 1 process")
    field.plot(range(len(rows)), [r[6] for r in rows], "ks", label=f"clock, {cores} processes")
    field.set_ylabel("wall-years per second")
    field.legend()
    save_figure(figure, "throughput")


if __name__ == "__main__":
    main()
