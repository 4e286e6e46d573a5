"""What commands cost: import, compilation with an empty cache, one wall, all of the demonstration.

Processor time of a fresh process with all that it starts: others on the machine matter little.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile

import matplotlib.pyplot as plt

from benchmarks.common import machine, record, rounded, save_figure, show_table
from hygro.show.style import pen

IMPORT = "import hygro.record"
RUN = """
from hygro.proof.trials import trials
from hygro.record import simulate_loads
trial = trials(48)["framed"]
simulate_loads(trial.wall, trial.loads)
"""


def seconds(code: str, cache: str) -> float:
    """Processor time of a fresh process and its children. [s]"""
    begin = spent()
    subprocess.run(
        [sys.executable, "-c", code], check=True, env={**os.environ, "NUMBA_CACHE_DIR": cache},
        stdout=subprocess.DEVNULL,
    )  # fmt: skip
    return spent() - begin


def spent() -> float:
    """Processor time of all processes that have ended here. [s]"""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


COMMAND = """
import sys
sys.argv = ["hygro", *{}]
from hygro.cli import app
app()
"""
ALL = ("compare", "demonstration", "--out")
ONE = COMMAND.format(["run", "demonstration", "--wall", "all outboard"])


def measure() -> dict[str, float]:
    """The best of three, but for the empty cache, which is met once, and the whole comparison."""
    with tempfile.TemporaryDirectory() as cache:
        empty = seconds(RUN, cache)
        return {
            "interpreter": min(seconds("pass", cache) for _ in range(3)),
            "import": min(seconds(IMPORT, cache) for _ in range(3)),
            "first run, warm cache": min(seconds(RUN, cache) for _ in range(3)),
            "first run, empty cache": empty,
            "hygro run, second start": min(seconds(ONE, cache) for _ in range(4)),
            "hygro compare": seconds(COMMAND.format([*ALL, f"{cache}/out"]), cache),
        }


def main() -> None:
    print(machine())
    found = measure()
    show_table("processor time of a fresh process", ["what", "s"], list(found.items()))
    record("start", {"seconds": rounded(found, 3)})
    figure, field = plt.subplots(figsize=(6, 2.4))
    bars = field.barh(list(found), list(found.values()), color=pen(1).color)
    field.bar_label(bars, [f"{value:.2g} s" for value in found.values()], padding=3, fontsize=8)
    field.margins(x=0.15)
    field.set_xlabel("s")
    save_figure(figure, "start")


if __name__ == "__main__":
    main()
