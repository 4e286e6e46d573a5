"""Whole errors of space, time and place, as `python -m benchmarks.total_error` recorded them."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from statistics import median
from typing import Any

from measured.files import read, table

FILE = Path(__file__).parents[2] / "benchmarks" / "total_error.json"
QUANTITIES = {
    "T_inner": ("temperature, r.m.s.", "K", 3),
    "rh_inner": ("relative humidity, r.m.s.", "", 4),
    "mc_largest": ("moisture content, its largest error in any hour", "% by mass", 2),
    "mc_peak": ("highest 30-day mean of the moisture content", "% by mass", 2),
    "index": ("mould index", "of 6", 2),
    "condensate": ("condensate formed in two years", "kg/m²", 3),
}
"""Words, unit and digits of each."""


@cache
def stored() -> Any:
    """Return the whole file."""
    return json.loads(FILE.read_text(encoding="utf-8"))


def recorded() -> list[dict[str, Any]]:
    """Return every wall at every accuracy."""
    found: list[dict[str, Any]] = stored()["rows"]
    return found


def at(accuracy: str, key: str) -> list[float]:
    """Magnitudes of an error over the walls."""
    return [abs(row[key]) for row in recorded() if row["accuracy"] == accuracy]


def error_summary() -> str:
    """Median and largest error over the walls, at every accuracy."""
    names = ("draft", "normal", "fine")
    head = ["", *(f"{name}: median, largest" for name in names)]
    rows = [
        [f"{words} [{unit or '1'}]"]
        + [f"{median(at(a, key)):.{n}f}, {max(at(a, key)):.{n}f}" for a in names]
        for key, (words, unit, n) in QUANTITIES.items()
    ]
    return table(head, rows)


def error_walls() -> str:
    """Return every wall at the default accuracy."""
    head = ["wall", *(f"{words} [{unit or '1'}]" for words, unit, _ in QUANTITIES.values())]
    rows = [
        [row["wall"], *(f"{row[key]:.{n}f}" for key, (_, _, n) in QUANTITIES.items())]
        for row in recorded()
        if row["accuracy"] == "normal"
    ]
    return table([*head, "cells"], [[*row, str(c)] for row, c in zip(rows, _cells(), strict=True)])


def _cells() -> list[int]:
    return [row["cells"] for row in recorded() if row["accuracy"] == "normal"]


def exact(solution: str, key: str, digits: int) -> str:
    """Return what the default grid leaves open against an exact or published solution."""
    return f"{stored()['exact'][solution][key]:.{digits}f}"


def cold_cavity() -> str:
    """Return the highest 30-day mean of the coldest wall on finer and finer grids."""
    return ", ".join(f"{x:.1f}" for x in stored()["exact"]["cold_cavity"].values())


def shown_and_true() -> str:
    """What `--check` shows and the whole error, of the numbers that decide."""
    digits = {"mc_peak": 3, "index": 3, "condensate": 4}
    words = ("30-day peak [%]", "index", "condensate [kg/m²]")
    heads = [f"{word}: {kind}" for word in words for kind in ("shown", "true")]
    rows = [
        [name, *(_plain(row[kind][key], n) for key, n in digits.items() for kind in row)]
        for name, row in read("check_error")["walls"].items()
    ]
    return table(["wall", *heads], rows)


def _plain(value: float, digits: int) -> str:
    """A number without the sign of a zero."""
    return f"{round(value, digits) + 0.0:.{digits}f}"
