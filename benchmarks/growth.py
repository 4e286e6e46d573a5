"""How time and memory grow with the number of cells and with the years of a run."""

from __future__ import annotations

import resource
import subprocess
import sys

import matplotlib.pyplot as plt
import numpy as np

from benchmarks.common import YEAR, best_of, machine, save_figure, show_table
from hygro.proof.trials import framed, trials
from hygro.show.style import INK, pen
from hygro.solve.march import run

CELLS = (25, 50, 100, 200, 400, 800)
YEARS = (1, 3, 10, 30)
HOURS = 720


def cells_of(total: int) -> dict[str, np.ndarray]:
    """Equal cells in each layer, shared out by thickness, at least two each."""
    layers = framed().layers
    thickness = sum(layer.thickness for layer in layers)
    found = {}
    for layer in layers:
        count = max(2, round(total * layer.thickness / thickness))
        found[layer.name] = np.full(count, layer.thickness / count)
    return found


def by_cells() -> list[list[float]]:
    """Cells, seconds per year, ns per cell and evaluation."""
    trial = trials(HOURS, first=6552)["framed"]
    rows = []
    for total in CELLS:
        cells = cells_of(total)
        seconds, got = best_of(3, lambda c=cells: run(trial.wall, trial.loads, cells=c))
        count = got.T.shape[1]
        per = 1e9 * seconds / count / got.counters["evaluations"]
        rows.append([count, seconds * YEAR / HOURS, per])
    return rows


def by_years() -> list[list[float]]:
    """Years, seconds, greatest memory of a fresh process. [MB]"""
    rows = []
    for years in YEARS:
        command = [sys.executable, "-m", "benchmarks.growth", str(years)]
        found = subprocess.run(command, check=True, capture_output=True, text=True)
        seconds, memory = (float(x) for x in found.stdout.split())
        rows.append([years, seconds, memory])
    return rows


def one(years: int) -> None:
    """Run in a process of its own: a framed wall for some years, all states kept in memory."""
    from hygro.proof.trials import ROOM, season
    from hygro.wall.loads import build_loads, repeat_loads

    wall = framed()
    loads = repeat_loads(build_loads(wall, season(0, YEAR), ROOM), years)
    run(wall, trials(48)["framed"].loads)
    seconds, _ = best_of(1, lambda: run(wall, loads))
    print(seconds, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)


def main() -> None:
    print(machine())
    cells, years = by_cells(), by_years()
    show_table("framed wall, cells", ["cells", "s/year", "ns per cell and Newton iteration"], cells)
    show_table("framed wall, years", ["years", "s", "memory MB"], years)
    figure, (left, right) = plt.subplots(1, 2, figsize=(9, 3.6))
    left.loglog([r[0] for r in cells], [r[1] for r in cells], "o-", color=INK)
    left.set_xlabel("cells")
    left.set_ylabel("s per simulated year")
    left.yaxis.set_major_formatter("{x:g}")
    right.loglog([r[0] for r in years], [r[1] for r in years], "o-", color=INK, label="time [s]")
    right.loglog(
        [r[0] for r in years], [r[2] for r in years], "s--", color=pen(1).color, label="memory [MB]"
    )
    right.set_xlabel("years in one run")
    right.legend()
    for field, ticks in ((left, CELLS), (right, YEARS)):
        field.set_xticks(ticks, [str(x) for x in ticks])
        field.minorticks_off()
        field.grid(alpha=0.3)
    save_figure(figure, "growth")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        one(int(sys.argv[1]))
    else:
        main()
