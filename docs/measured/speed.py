"""Times, as the benchmarks recorded them with `--write`."""

from __future__ import annotations

import math

from measured.files import read, table

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
    """Time of CVODE over that of the engine at several errors."""
    ratios = read("accuracy")["ratios"]
    levels = list(next(iter(ratios.values())))
    head = ["wall", *(level.replace("rms_", "") + " K" * ("_T" in level) for level in levels)]
    rows = ([WALLS[name], *(_ratio(row[x]) for x in levels)] for name, row in ratios.items())
    return table(head, rows)


def _ratio(value: float) -> str:
    return "–" if math.isnan(value) else f"{value:.1f}"


def ratio_range() -> str:
    """Return the lowest and the highest of these ratios."""
    found = [x for row in read("accuracy")["ratios"].values() for x in row.values() if x == x]
    return f"{min(found):.0f} to {max(found):.0f}"


def in_time(key: str, digits: int) -> str:
    """Return the lowest and the highest error in time at the default tolerance."""
    found = [row[key] for row in read("accuracy")["default"].values()]
    return f"{min(found):.{digits}g} to {max(found):.{digits}g}"


def of_scipy(method: str) -> str:
    """Seconds a year of an integrator of SciPy, least and most."""
    found = read("accuracy")["scipy"]
    return f"{found[f'{method} least']:.0f} to {found[f'{method} most']:.0f} s"


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
