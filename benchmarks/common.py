"""What the benchmarks share: the clock, tables, figures, files of results. Measures nothing.

Times are processor times of this process, the best of some repeats, because machines are shared.
"""

from __future__ import annotations

import gc
import json
import os
import platform
import sys
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from time import process_time
from typing import Any

import matplotlib

matplotlib.use("Agg")
from matplotlib.figure import Figure

FOLDER = Path("results") / "benchmarks"
RECORDED = Path(__file__).parents[1] / "docs" / "results"
"""Where the pages take their numbers from; see `docs/make_numbers.py`."""
PACKAGES = ("hygro", "numpy", "numba", "scipy")
YEAR = 8760
"""Hours of a year."""


def best_of(repeats: int, call: Callable[[], Any]) -> tuple[float, Any]:
    """Least processor time of some calls [s], and what the last one returned."""
    times, result = [], None
    for _ in range(repeats):
        gc.collect()
        begin = process_time()
        result = call()
        times.append(process_time() - begin)
    return min(times), result


def show_table(title: str, heads: Sequence[str], rows: Sequence[Sequence[object]]) -> None:
    """Print a table in columns that fit."""
    text = [[_cell(value) for value in row] for row in rows]
    widths = [max(len(row[k]) for row in [list(heads), *text]) for k in range(len(heads))]
    print(f"\n{title}")
    for row in [list(heads), *text]:
        print("  ".join(value.rjust(width) for value, width in zip(row, widths, strict=True)))


def _cell(value: object) -> str:
    return f"{value:.3g}" if isinstance(value, float) else str(value)


def save_figure(figure: Figure, name: str) -> Path:
    """Write a figure to the folder of results."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    path = FOLDER / f"{name}.png"
    figure.savefig(path, dpi=130, bbox_inches="tight")
    print(f"figure: {path}")
    return path


def machine() -> str:
    """The processor and the interpreter, for the head of a table."""
    model = platform.processor() or platform.machine()
    cpuinfo = Path("/proc/cpuinfo")
    if cpuinfo.exists():
        lines = [x for x in cpuinfo.read_text().splitlines() if x.startswith("model name")]
        model = lines[0].split(":")[1].strip() if lines else model
    return f"{model}, Python {platform.python_version()}"


def circumstances() -> dict[str, object]:
    """Of a measurement: day, processor, cores and their load.

    `load` is the mean number of processes that wanted the processor in the last minute: where it is
    above the number of cores, times by the clock are too long.
    """
    return {
        "day": datetime.now(UTC).date().isoformat(),
        "machine": machine(),
        "cores": os.cpu_count(),
        "load": round(os.getloadavg()[0], 1),
    }


def record(name: str, numbers: dict[str, object]) -> None:
    """With `--write`, put numbers where the pages take them from, with what they were made on."""
    if "--write" not in sys.argv:
        return
    made = circumstances() | {"versions": {package: version(package) for package in PACKAGES}}
    text = json.dumps(made | numbers, indent=1, ensure_ascii=False)
    (RECORDED / f"{name}.json").write_text(text + "\n", encoding="utf-8")


def rounded(values: dict[str, float], digits: int = 4) -> dict[str, float]:
    """Numbers to some significant digits, so that a file of results can be read."""
    return {name: float(f"{value:.{digits}g}") for name, value in values.items()}
