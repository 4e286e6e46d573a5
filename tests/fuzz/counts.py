"""From outcomes to counts and a table, and what is accepted. A leaf; knows no file."""

from __future__ import annotations

import statistics
from collections.abc import Iterable, Mapping
from typing import Any

STOPS = 1 / 2000
"""Library walls that may stop. [1]"""
SLOWEST = 20.0
"""No wall may take longer, as a multiple of the median. [1]"""
Told = dict[str, Any]


def counted(outcomes: Iterable[Told], about: Told) -> Told:
    """Counts of a run, each kind by itself, as plain values."""
    kinds: dict[str, list[Told]] = {}
    for told in outcomes:
        kinds.setdefault(told["kind"], []).append(told)
    found: Told = {**about, "kinds": {}}
    for kind, items in sorted(kinds.items()):
        counts: Told = {"tried": len(items), "faulty": sum(bool(x["faults"]) for x in items)}
        if kind == "wall":
            counts |= _walls(items)
        elif any("code" in x for x in items):
            counts |= {
                "read": sum(x.get("code") == 0 for x in items),
                "refused": sum(x.get("code") == 2 for x in items),
                "longest_seconds": round(max(x.get("seconds", 0.0) for x in items), 2),
            }
        found["kinds"][kind] = counts
    found["faults"] = [
        f"{x['kind']} {x['number']}: {fault}" for items in kinds.values() for x in items
        for fault in x["faults"]
    ]  # fmt: skip
    found["accepted"] = accepted(found)
    return found


def _walls(items: list[Told]) -> Told:
    stopped = sum(bool(x.get("stopped")) for x in items)
    counts: Told = {
        "stopped": stopped,
        "in_lanes": sum(x.get("lanes", 0) for x in items),
        "in_lanes_stopped": sum(x.get("lanes_stopped", 0) for x in items),
        "lanes_unlike": sum(x.get("lanes_unlike", 0) for x in items),
    }
    for key in ("seconds", "evaluations"):
        values = [x[key] for x in items if key in x]
        if values:
            middle = statistics.median(values)
            counts[f"median_{key}"] = round(middle, 4)
            counts[f"slowest_over_median_{key}"] = round(max(values) / middle, 1)
    return counts


def accepted(found: Mapping[str, Any]) -> bool:
    """Whether nothing is faulty, few walls stop and none is slow."""
    walls = found["kinds"].get("wall")
    if found["faults"]:
        return False
    if walls is None:
        return True
    few = walls["stopped"] <= max(STOPS * walls["tried"], 1)
    return few and walls.get("slowest_over_median_seconds", 0.0) <= SLOWEST


NAMES = {
    "wall": "walls, 600 h each",
    "case": "case, material and normals files",
    "weather": "weather files (EPW, TMY2, TMY3, CSV, netCDF)",
    "record": "records",
    "store": "stores of studies",
    "kill": "runs and studies killed at random moments",
    "pair": "two processes at one file or store",
    "signal": "comparisons interrupted by INT, TERM, HUP",
}


def table(found: Mapping[str, Any]) -> str:
    """The counts as they stand in `docs/reliability.md`."""
    lines = [
        "| what | tried | done | refused | stopped | faults |",
        "|---|---:|---:|---:|---:|---:|",
    ]
    for kind, name in NAMES.items():
        if (c := found["kinds"].get(kind)) is None:
            continue
        refused, stopped = c.get("refused", "–"), c.get("stopped", "–")
        done = c.get("read", c["tried"] - c["faulty"] - c.get("stopped", 0))
        lines.append(f"| {name} | {c['tried']} | {done} | {refused} | {stopped} | {c['faulty']} |")
    if walls := found["kinds"].get("wall"):
        lines += ["", _words(walls)]
    return "\n".join(lines)


def _words(walls: Mapping[str, Any]) -> str:
    lanes, other = walls["in_lanes"], walls["lanes_unlike"]
    slow = walls.get("slowest_over_median_seconds", 0.0)
    return (
        f"{lanes - other} of {lanes} runs in lanes have the bits of the wall by itself; "
        f"{walls['in_lanes_stopped']} of them stopped, alone as in company. The slowest wall took "
        f"{slow} times as long as the median."
    )
