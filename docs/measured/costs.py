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
    """Plan, store, lanes bare and as a study, a map."""
    found = decide()
    plan, pool, drawn = found["plan"], found["pool"], found["map"]
    rows = [
        ("plan of 100 000 runs made, hashed and stored",
         f"{plan['made, s of a core']:.0f} s of a core"),
        ("the same found again", f"{plan['resumed, s of a core']:.0f} s of a core"),
        ("two-year runs in full lanes, without a study",
         f"{pool['bare, wall-years/s of a core']:.1f} wall-years/s of a core"),
        ("the same runs as a study",
         f"{pool['study, wall-years/s of a core']:.1f} wall-years/s of a core"),
        ("full map, 20 × 20 points, one leaky run of two years each", f"{drawn['clock, s']:.0f} s"),
        ("memory of that, two processes and the one that asks", f"{drawn['memory, GB']:.1f} GB"),
    ]  # fmt: skip
    return table(["what", "cost"], rows)


def machine() -> str:
    """On what they were measured."""
    return str(decide()["machine"])


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
