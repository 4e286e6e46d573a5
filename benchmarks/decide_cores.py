"""Wall-years per second over the number of workers, by the clock of an idle machine.

    python -m benchmarks.decide cores [1 2 4 8 16]

runs one study of walls alike in so many processes each, writes `results/benchmarks/cores.json` and
draws it. Needs nothing but this checkout and its libraries; the first run compiles. The load of the
machine before each run stands in the result: on one that others use the numbers say little.
"""

from __future__ import annotations

import json
import os
import platform
import tempfile
from pathlib import Path

from matplotlib.figure import Figure

from benchmarks.common import FOLDER, machine, save_figure
from benchmarks.decide_meter import CORES, Meter
from hygro.decide.study import Study
from hygro.study.varied import Range

COUNTS = (1, 2, 4, 8, 16)
RUNS = 64
"""Runs of two years a worker: eight full batches."""
START = 8
"""Runs of a study that only starts the workers."""


def cores(counts: list[int]) -> None:
    """Measure, write and draw."""
    wanted = counts or [count for count in COUNTS if count <= CORES]
    _study(START, 1)  # compiled, and in the file cache
    rows = [_row(count) for count in wanted]
    told = {"machine": f"{machine()}, {CORES} cores", "system": platform.platform(), "rows": rows}
    FOLDER.mkdir(parents=True, exist_ok=True)
    (FOLDER / "cores.json").write_text(json.dumps(told, indent=1) + "\n", "utf-8")
    save_figure(figure(rows, str(told["machine"])), "cores")


def _row(count: int) -> dict[str, float]:
    load = os.getloadavg()[0]
    start = _study(START * count, count)
    meter = _study(RUNS * count, count)
    years = 2.0 * (RUNS - START) * count
    row = {
        "workers": count,
        "load before": load,
        "start, s": start.lasted,
        "whole, s": meter.lasted,
        "wall-years/s": years / (meter.lasted - start.lasted),
        "wall-years/s with the start": 2.0 * RUNS * count / meter.lasted,
        "memory, GB": meter.memory,
        "memory, shared once, GB": meter.shared_once,
    }
    print(", ".join(f"{key} {value:.4g}" for key, value in row.items()), flush=True)
    return row


def _study(runs: int, workers: int) -> Meter:
    with tempfile.TemporaryDirectory() as folder:
        study = Study("demonstration", wall="two thirds outboard", leaks="all", name="cores",
                      vary={"winter_rh": Range("20 %", "60 %", runs)},
                      store=Path(folder) / "cores.study")  # fmt: skip
        with Meter() as meter:
            study.run(processes=workers)
        assert study.status().left == 0
        study.close()
    return meter


def figure(rows: list[dict[str, float]], where: str) -> Figure:
    """Speed over workers beside that of one times their number; marks and dashes, no colour."""
    counts = [row["workers"] for row in rows]
    speed = [row["wall-years/s"] for row in rows]
    ideal = [speed[0] * count / counts[0] for count in counts]
    drawn = Figure(figsize=(5.6, 4.2))
    axes = drawn.subplots()
    axes.plot(counts, ideal, "--", color="0.45", linewidth=1.0)
    axes.plot(counts, speed, "o-", color="0.1", linewidth=1.5, markersize=5)
    axes.annotate("one worker times their number", (counts[-1], ideal[-1]), xytext=(-6, 2),
                  textcoords="offset points", ha="right", va="bottom", fontsize=8)  # fmt: skip
    for count, value, best in zip(counts, speed, ideal, strict=True):
        axes.annotate(f"{value:.0f} ({100 * value / best:.0f} %)", (count, value), xytext=(4, -10),
                      textcoords="offset points", fontsize=8)  # fmt: skip
    axes.set_xticks(counts)  # a process is whole
    axes.set_xlabel("worker processes")
    axes.set_ylabel("wall-years per second")
    axes.set_xlim(0, 1.15 * counts[-1])
    axes.set_ylim(0, 1.1 * max(ideal))
    axes.set_title(where, fontsize=8, loc="left")
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    return drawn
