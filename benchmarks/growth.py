"""How time and memory grow with the number of cells and with the years of a run."""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np

from benchmarks.common import YEAR, best_of, machine, save_figure, show_table
from hygro.proof.trials import ROOM, framed, season
from hygro.record import simulate_to_file
from hygro.show.style import INK, pen
from hygro.solve.balance import layer_sums
from hygro.solve.march import chunks, run
from hygro.solve.setup import prepare
from hygro.wall.loads import Loads, build_loads, loads_between, repeat_loads
from hygro.wall.wall import Wall

CELLS = (25, 50, 100, 200, 400, 800)
YEARS = (1, 3, 10, 30)


def cells_of(total: int) -> dict[str, np.ndarray]:
    """Equal cells in each layer, shared out by thickness, at least two each."""
    layers = framed().solids
    thickness = sum(layer.thickness for layer in layers)
    found = {}
    for layer in layers:
        count = max(2, round(total * layer.thickness / thickness))
        found[layer.name] = np.full(count, layer.thickness / count)
    return found


def by_cells() -> list[list[float]]:
    """Cells, seconds per year, ns per cell and evaluation."""
    wall = framed()
    loads = build_loads(wall, season(0, YEAR), ROOM)
    rows = []
    for total in CELLS:
        cells = cells_of(total)
        seconds, got = best_of(3, lambda c=cells: run(wall, loads, cells=c))
        count = got.T.shape[1]
        per = 1e9 * seconds / count / got.counters["evaluations"]
        rows.append([count, seconds, per])
    return rows


def by_years(kind: str) -> list[list[float]]:
    """Years, seconds by the clock, greatest memory of a fresh process. [MB]"""
    rows = []
    for years in YEARS:
        command = [sys.executable, "-m", "benchmarks.growth", kind, str(years)]
        found = subprocess.run(command, check=True, capture_output=True, text=True)
        seconds, memory = (float(x) for x in found.stdout.split())
        rows.append([years, seconds, memory])
    return rows


def kept(wall: Wall, loads: Loads, _: Path) -> None:
    """All states, interfaces and fluxes in memory."""
    run(wall, loads)


def streamed(wall: Wall, loads: Loads, folder: Path) -> None:
    """The whole record in a file."""
    simulate_to_file(wall, loads, file=folder / "years.nc")


def reduced(wall: Wall, loads: Loads, _: Path) -> None:
    """Water of each layer at every hour, and nothing else."""
    setup = prepare(wall, loads)
    grid = setup.grid
    sums = [layer_sums(x.w[1:], grid.thickness, grid.layer) for x, _ in chunks(setup)]
    np.concatenate(sums)


KINDS = {"kept": kept, "streamed": streamed, "reduced": reduced}


def one(kind: str, years: int) -> None:
    """Run in a process of its own: a framed wall for some years."""
    wall = framed()
    loads = repeat_loads(build_loads(wall, season(0, YEAR), ROOM), years)
    with tempfile.TemporaryDirectory() as name:
        KINDS[kind](wall, loads_between(loads, 0, 48), Path(name))
        begin = time.perf_counter()
        KINDS[kind](wall, loads, Path(name))
        seconds = time.perf_counter() - begin
    print(seconds, most_memory())


def most_memory() -> float:
    """Greatest memory of this process; the system call also counts that of the parent. [MB]"""
    status = Path("/proc/self/status")
    if status.exists():
        peak = next(x for x in status.read_text().splitlines() if x.startswith("VmHWM"))
        return float(peak.split()[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    print(machine())
    cells, years = by_cells(), {kind: by_years(kind) for kind in KINDS}
    show_table("framed wall, cells", ["cells", "s/year", "ns per cell and Newton iteration"], cells)
    for kind, rows in years.items():
        told = (KINDS[kind].__doc__ or "").rstrip(".")
        show_table(f"framed wall, years: {told}", ["years", "s by the clock", "memory MB"], rows)
    figure, (left, right) = plt.subplots(1, 2, figsize=(9, 3.6))
    left.loglog([r[0] for r in cells], [r[1] for r in cells], "o-", color=INK)
    left.set_xlabel("cells")
    left.set_ylabel("s per simulated year")
    left.set_yticks([0.2, 0.5, 1, 2, 3], ["0.2", "0.5", "1", "2", "3"])
    for k, (kind, rows) in enumerate(years.items()):
        drawn = pen(k)
        x = [r[0] for r in rows]
        more = {"color": drawn.color, "marker": drawn.mark, "ms": 4}
        right.loglog(x, [r[1] for r in rows], "-", label=f"{kind}: time [s]", **more)
        right.loglog(x, [r[2] for r in rows], "--", label=f"{kind}: memory [MB]", **more)
    right.set_xlabel("years in one run")
    right.legend(fontsize=7)
    for field, ticks in ((left, CELLS), (right, YEARS)):
        field.set_xticks(ticks, [str(x) for x in ticks])
        field.minorticks_off()
        field.grid(alpha=0.3)
    save_figure(figure, "growth")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        one(sys.argv[1], int(sys.argv[2]))
    else:
        main()
