"""A map on a graphics card beside the processor: verdicts, speed.

`python -m benchmarks.card_maps --map 100 --full 32 --write` records docs/results/gpu_map.json;
needs `hygro[gpu]` and a card. The maps are of one wall of the demonstration, two years, tight and
with its leaks one by one, from the plan to rows in a store in memory: along the line, and full.
"""

from __future__ import annotations

import argparse
import os
import time
from importlib.metadata import version
from typing import Any

from benchmarks.common import machine, record, rounded
from hygro.decide.map import MapResult, make_map
from hygro.decide.study import Study
from hygro.solve.card import device

WALL = "all outboard"
VARY = {"winter_rh": (0.25, 0.75), "rain_leak": (0.0, 0.05)}
"""What the map varies. [1]"""
BEGUN = time.perf_counter()


def say(what: str) -> None:
    """Tell how far it is."""
    print(f"{time.perf_counter() - BEGUN:6.0f} s: {what}", flush=True)


def study_on(what: str, steps: int) -> Study:
    """All points of the map, on one of the devices."""
    vary = {name: {"low": low, "high": high, "steps": steps} for name, (low, high) in VARY.items()}
    return Study("demonstration", wall=WALL, vary=vary, device=what)


def mapped(what: str, steps: int, *, full: bool) -> tuple[dict[str, Any], MapResult]:
    """The map of the command, along its line or full: what it took, and what it says."""
    begun = time.perf_counter()
    study = study_on(what, steps)
    found = make_map(study, full=full, processes=os.cpu_count())
    clock = time.perf_counter() - begun
    rows = study.store.rows(found.plan.distinct).values()
    numbers = {
        "seconds": clock,
        "years": sum(row.years for row in rows),
        "closure": max(row.quality[f"closure_{x}"] for x in ("energy", "moisture") for row in rows),
    }
    counts = {"points": len(found.results), "runs": len(rows), "open": found.open}
    return {"device": what, "full": full, **counts, **rounded(numbers)}, found


def both_maps(steps: int, *, full: bool) -> dict[str, Any]:
    """The same map on both devices, and how many verdicts or reasons for them differ."""
    (cpu, theirs), (gpu, ours) = (mapped(what, steps, full=full) for what in ("cpu", "gpu"))
    told_of = [
        {tuple(x.at.values()): (x.outcome, x.decides) for x in some.results}
        for some in (theirs, ours)
    ]
    same = told_of[0].keys() & told_of[1].keys()
    other = sum(told_of[0][key] != told_of[1][key] for key in same)
    say(f"maps: {cpu} {gpu}")
    return {"maps": [cpu, gpu], "same_points": len(same), "other_verdicts": other}


def a_map(sharp: int, full: int) -> dict[str, Any]:
    """A map along its line and a full one, on devices that have made a few runs, which compile."""
    for what in ("cpu", "gpu"):
        study_on(what, 2).run(processes=os.cpu_count())
    found = {"wall": WALL, "vary": VARY, "sharp": both_maps(sharp, full=False)}
    return {**found, "full": both_maps(full, full=True)} if full else found


def made() -> dict[str, Any]:
    """When it is recorded, and what compiles for the card."""
    packages = {name: version(name) for name in ("numba-cuda", "numba")}
    return {"made": time.strftime("%Y-%m-%d"), "packages": packages}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--map", type=int, default=100, help="Points along each side.")
    parser.add_argument("--full", type=int, default=0, help="The same of a full map beside it.")
    parser.add_argument("--write", action="store_true", help="Record it.")
    asked = parser.parse_args()
    found = a_map(asked.map, asked.full)
    record("gpu_map", {**made(), **found, "card": device.Card().name()})
    print(machine(), found, flush=True)


if __name__ == "__main__":
    main()
