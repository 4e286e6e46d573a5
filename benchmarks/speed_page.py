"""`docs/integrators.md` from the results of `benchmarks.accuracy`. Owns its words and tables."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

PAGE = Path(__file__).parents[1] / "docs" / "integrators.md"
WORDS = {"rms_T": "T {:g} K", "rms_rh": "rh {:g}"}
HEAD = """# How fast

Time of SUNDIALS CVODE over time of this engine, on the same semi-discrete equations with the same
compiled formulas. CVODE is driven from C (`benchmarks/cvode_hours.c`), with the exact banded
Jacobian or differences, over temperature and moisture potential or over the conserved contents,
beginning anew every hour, after jumps of the loads, or never. The cheapest of {policies} policies
and {tolerances} tolerances counts, chosen for every wall and error by itself; a run in which CVODE
gives up, as some of the loosest and tightest do, does not. CVODE is charged with its steps alone,
the engine with its march and, second number, with a whole run: grid, tables, march, curves of every
hour.

Made by `python -m benchmarks.accuracy --write` from runs of {hours} h on a machine that others used
too: processor times, the best of some runs; take the second digit as a guess.
{made}; {versions}.
"""
UNKNOWN = (
    "{machine}, day, number of cores and load not recorded (the file dates from 26 November 2026)"
)
TIME = """
## At equal error of time

Each the cheapest run with at most that r.m.s. error over all cells and hours, against CVODE on
the same grid at 1e-10, or as tight as it gets through.
"""
WHOLE = """
## At equal whole error

Errors in temperature and moisture content of the watched layer, against eight times as many cells:
each the cheapest run within 5 % of what the engine leaves at its default. There the grid
decides, and both may be as loose as that allows: this is the ratio that a user may count on.
"""
TAIL = """
## What this says

{claim}

Where loads never change (the first wall) the steps of both run over hours and days, and the record
of every hour is most of a run: there {constant}.

The framed wall freezes. Over T and u CVODE steps past heat that pores give off within 0.05 K and
errs by per cents of moisture content unless its tolerance is tight; over the contents it does not,
and takes ten times as long as the engine and more: the ratio of that wall comes from there.

Hourly loads jump: a method of many steps begins anew with small ones, two stages of order 2 need
no past. Not compared: other codes, other equations, grids that adapt.
"""


def page(results: dict[str, Any]) -> str:
    """The page, from what `accuracy` keeps."""
    from benchmarks.accuracy import CVODE, POLICIES

    walls = results["walls"]
    head = HEAD.format(
        policies=len(POLICIES), tolerances=len(CVODE), hours=results["hours"],
        made=_made(results), versions=results["versions"],
    )  # fmt: skip
    return head + TIME + _time(walls) + WHOLE + _whole(walls) + _tail(walls)


def _made(results: dict[str, Any]) -> str:
    """On what and when; the first files tell the processor alone."""
    known = "{machine}, {cores} cores, load {load:g}, {day}"
    return (known if "cores" in results else UNKNOWN).format(**results)


def _time(walls: dict[str, Any]) -> str:
    rows = next(iter(walls.values()))["time"]
    heads = ["wall", *(_level(row["bounds"]) for row in rows), "best policies"]
    body = [
        [name, *(_ratios(row) for row in wall["time"]), _policies(wall["time"])]
        for name, wall in walls.items()
    ]
    return _table(heads, body)


def _whole(walls: dict[str, Any]) -> str:
    heads = ["wall", "error of T [K]", "of MC [%]", "engine: march, run [s a year]",
             "CVODE [s a year]", "ratio", "best policy, tolerance"]  # fmt: skip
    body = []
    for name, wall in walls.items():
        row, default = wall["whole"], wall["default"]
        body.append([
            name, f"{default['total_T']:.4f}", f"{default['total_mc']:.4f}",
            f"{row['march']:.2f}, {row['whole']:.2f}", _number(row["cvode"], ".2g"), _ratios(row),
            f"{row['policy']}, {row['rtol']:g}" if row["cvode"] else "–",
        ])  # fmt: skip
    return _table(heads, body)


def _tail(walls: dict[str, Any]) -> str:
    changing = [wall["whole"] for name, wall in walls.items() if name != "concrete"]
    marches = [row["cvode"] / row["march"] for row in changing if row["cvode"]]
    runs = [row["cvode"] / row["whole"] for row in changing if row["cvode"]]
    claim = (
        f"In hourly weather, at equal whole error, the march is {min(marches):.1f} to "
        f"{max(marches):.1f} times as fast as the best of CVODE,\na whole run {min(runs):.1f} to "
        f"{max(runs):.1f} times."
    )
    row = walls["concrete"]["whole"]
    shares = f"{row['cvode'] / row['march']:.2g} of the time of the march"
    constant = f"CVODE takes {shares}, {row['cvode'] / row['whole']:.2g} of that of a run"
    return TAIL.format(claim=claim, constant=constant)


def _level(bounds: dict[str, float]) -> str:
    ((key, bound),) = bounds.items()
    return WORDS[key].format(bound)


def _ratios(row: dict[str, Any]) -> str:
    """CVODE over march, over whole run."""
    if not row["cvode"] or not row["march"]:
        return "–"
    return f"{_ratio(row['cvode'] / row['march'])}, {_ratio(row['cvode'] / row['whole'])}"


def _ratio(value: float) -> str:
    return f"{value:.1f}" if value >= 1.0 else f"{value:.1g}"


def _policies(rows: Sequence[dict[str, Any]]) -> str:
    return " / ".join(dict.fromkeys(row["policy"] for row in rows if row["policy"]))


def _number(value: float | None, form: str) -> str:
    return "–" if value is None else format(value, form)


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    lines = ["", "| " + " | ".join(heads) + " |", "|" + "---|" * len(heads)]
    return "\n".join([*lines, *("| " + " | ".join(row) + " |" for row in rows)]) + "\n"
