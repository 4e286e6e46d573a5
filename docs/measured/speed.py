"""Times, as the benchmarks recorded them with `--write`."""

from __future__ import annotations

import json
from pathlib import Path

from measured.files import read, table

FILE = Path(__file__).parents[2] / "benchmarks" / "speed.json"
WALLS = {
    "concrete": "concrete (EN 15026)",
    "framed": "framed",
    "ventilated": "ventilated, with rain",
    "brick": "brick in rain and sun",
    "outboard": "all outboard, leaking",
}


def made(name: str) -> str:
    """Say on what a file was made."""
    row = read(name)
    packages = ", ".join(f"{package} {version}" for package, version in row["versions"].items())
    load = (
        "from the printed table, load not recorded"
        if row["load"] is None
        else f"load {row['load']:g}"
    )
    return f"{row['machine']}, {row['cores']} cores, {load}, {packages}"


def over_cvode() -> str:
    """Time of CVODE over that of a whole run at equal whole error, in hourly weather."""
    walls = json.loads(FILE.read_text(encoding="utf-8"))["walls"]
    rows = [wall["whole"] for name, wall in walls.items() if name != "concrete"]
    found = [row["cvode"] / row["whole"] for row in rows if row["cvode"]]
    return f"{min(found):.0f} to {max(found):.0f}"


def years() -> str:
    """Time of a wall-year alone, and wall-years a second side by side."""
    head = ["wall", "cells", "alone [s a year]", "side by side, one core [wall-years/s]",
            "side by side, all cores, by the clock [wall-years/s]"]  # fmt: skip
    rows = [
        [WALLS[name], f"{row['cells']:.0f}", f"{1 / row['alone']:.2f}", f"{row['lanes']:.1f}",
         f"{row['all_cores']:.1f}"]
        for name, row in read("throughput")["walls"].items()
    ]  # fmt: skip
    return table(head, rows)


def alone() -> str:
    """Seconds of a wall-year alone, least and most."""
    found = [1 / row["alone"] for row in read("throughput")["walls"].values()]
    return f"{min(found):.2f} to {max(found):.2f} s"


def side_by_side() -> str:
    """Wall-years a second in lanes on one core, least and most."""
    found = [row["lanes"] for row in read("throughput")["walls"].values()]
    return f"{min(found):.0f} to {max(found):.0f}"
