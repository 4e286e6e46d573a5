"""What `--check` shows beside the whole error, on the walls of `benchmarks.total_error`.

`python -m benchmarks.check_error --write` records docs/results/check_error.json; the whole errors
are those of benchmarks/total_error.json, which is to be made anew first.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np

from benchmarks.common import record, show_table
from benchmarks.error_runs import MONTH, Trace, trace
from benchmarks.error_walls import HOURS, Case, cases
from hygro.assess.series import running_mean
from hygro.solve.settings import Settings
from hygro.study.certainty import Change, finer
from hygro.wall.loads import Loads

WHOLE = Path(__file__).with_name("total_error.json")
KEYS = ("mc_peak", "index", "condensate")
"""As in `error_runs.Errors`."""


def highest(found: Trace) -> dict[str, float]:
    """Highest 30-day moisture content [% by mass], mould index [1] and condensate [kg/m²]."""
    numbers = (
        100.0 * np.nanmax(running_mean(found.mc, MONTH)),
        found.index.max(),
        found.condensate.max(),
    )
    return dict(zip(KEYS, map(float, numbers), strict=True))


def as_run_and_finer(case: Case, loads: Loads) -> tuple[dict[str, float], dict[str, float]]:
    """`highest` at the default accuracy, and of the run that `--check` sets beside it."""
    halved = finer(Settings())
    fine = Settings(tolerance=halved.tolerance)
    return (
        highest(trace(case, loads, Settings())),
        highest(trace(case, loads, fine, parts=halved.parts)),
    )


def shown(case: Case) -> dict[str, float]:
    """What `--check` shows of a wall at the default accuracy."""
    as_run, fine = as_run_and_finer(case, case.loads(HOURS))
    return {key: Change(key, as_run[key], fine[key]).error for key in KEYS}


def main() -> None:
    """Measure, print and record."""
    true = {
        row["wall"]: row
        for row in json.loads(WHOLE.read_text("utf-8"))["rows"]
        if row["accuracy"] == "normal"
    }
    found = {
        name: {"shown": shown(case), "true": {key: true[name][key] for key in KEYS}}
        for name, case in cases().items()
    }
    heads = ["wall", *(f"{key}: {word}" for key in KEYS for word in ("shown", "true"))]
    rows = [
        [name, *(row[word][key] for key in KEYS for word in ("shown", "true"))]
        for name, row in found.items()
    ]
    show_table("check_error", heads, rows)
    record("check_error", {"walls": found})


if __name__ == "__main__":
    main()
