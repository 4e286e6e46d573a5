"""What studies cost, as `python -m benchmarks.decide` has recorded it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from measured.files import read, table

FILE = Path(__file__).parents[2] / "benchmarks" / "decide.json"


def decide() -> Any:
    """Return what the benchmark of studies has recorded."""
    return json.loads(FILE.read_text(encoding="utf-8"))


def studies() -> str:
    """Plan, store, lanes bare and as a study, maps, a sample."""
    found = decide()
    plan, pool, drawn, refined = found["plan"], found["pool"], found["map"], found["refined"]
    shared = pool["of bare on all cores, pool with its workers' start"]
    rows = [
        ("plan of 100 000 runs made, hashed and stored",
         f"{plan['made, s of a core']:.0f} s of a core"),
        ("the same found again", f"{plan['resumed, s of a core']:.0f} s of a core"),
        ("two-year runs in full lanes, without a study",
         f"{pool['bare, wall-years/s of a core']:.1f} wall-years/s of a core"),
        ("the same runs as a study",
         f"{pool['study, wall-years/s of a core']:.1f} wall-years/s of a core"),
        ("in a process for each core, over full lanes on all cores", f"{100.0 * shared:.0f} %"),
        ("full map, 20 × 20 points, one leaky run of two years each", f"{drawn['clock, s']:.0f} s"),
        ("memory of that, two processes and the one that asks",
         f"{drawn['memory, GB']:.1f} GB, {drawn['memory, shared once, GB']:.1f} GB with what they "
         "share counted once"),
        (f"the same map along its line, four runs a point, {refined['wall-years']:.0f} wall-years",
         f"{refined['clock, s']:.0f} s"),
        ("2000 draws of one year", f"{found['sample']['clock, s']:.0f} s"),
    ]  # fmt: skip
    return table(["what", f"cost ({found['machine']})"], rows)


def bare() -> str:
    """Wall-years a second of a core in full lanes, without a study."""
    return f"{decide()['pool']['bare, wall-years/s of a core']:.0f}"


def cores() -> str:
    """Wall-years a second over the workers."""
    found = read("cores")
    workers = [f"{row['workers']:.0f}" for row in found["rows"]]
    rates = [f"{row['wall-years/s']:.1f}" for row in found["rows"]]
    return (
        f"{_listed(workers)} workers made {_listed(rates)} wall-years a second ({found['machine']})"
    )


def _listed(words: list[str]) -> str:
    return f"{', '.join(words[:-1])} and {words[-1]}"
