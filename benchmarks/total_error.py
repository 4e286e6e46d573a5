"""The whole error of space, time and place against cost, on eleven walls in real weather.

    python -m benchmarks.total_error --cache results/references --own --out results/now.json

`table` gives the rows to other programs; `error_runs` says what the reference is; `error_exact`
adds what has an exact solution, on the default grid. Recorded numbers: `total_error.json`.
"""

from __future__ import annotations

import argparse
import json
import platform
from collections.abc import Sequence
from importlib.metadata import version
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import LogLocator, NullLocator

from benchmarks.common import YEAR, machine, save_figure, show_table
from benchmarks.error_exact import exact
from benchmarks.error_runs import (
    PARTS,
    TOLERANCE,
    Errors,
    Trace,
    errors,
    measure,
    source_hash,
    trace,
)
from benchmarks.error_walls import HOURS, cases
from hygro.show.style import FAINT, GRID, INK, PAPER
from hygro.solve.settings import Settings
from hygro.wall.grid import Accuracy

ACCURACIES: tuple[Accuracy, ...] = ("draft", "normal", "fine")
UNITS = {
    "T_outer": "K", "T_inner": "K", "T_indoor": "K", "rh_outer": "1", "rh_inner": "1",
    "mc_largest": "% by mass", "mc_peak": "% by mass", "index": "1", "condensate": "kg/m²",
    "cells": "1", "seconds": "s", "steps": "1", "evaluations": "1",
}  # fmt: skip
LETTERS = "ABCDEFGHJKLMNPQ"
"""Marks of the walls in the figure; no I and no O."""
BEHIND = {"facecolor": PAPER, "edgecolor": "none", "alpha": 0.8, "pad": 0.5}
DRAWN = {
    "T_inner": "temperature, inner face, r.m.s. [K]",
    "rh_inner": "humidity, inner face, r.m.s. [1]",
    "mc_largest": "moisture content, largest [% by mass]",
    "index": "mould index [1]",
}


def table(
    accuracies: Sequence[Accuracy] = ACCURACIES,
    walls: Sequence[str] | None = None,
    **options: object,
) -> list[Errors]:
    """Errors of some walls (all when None) at some accuracies; options as for `measure`."""
    return _measured(accuracies, walls, **options)[0]


def _measured(
    accuracies: Sequence[Accuracy], walls: Sequence[str] | None, **options: object
) -> tuple[list[Errors], dict[str, Trace]]:
    chosen = list(walls or cases())
    _warm(chosen[0])
    rows, references = [], {}
    for name in chosen:
        found, references[name] = measure(cases()[name], accuracies, **options)
        rows += found
    return rows, references


def _own(name: str, found: Trace) -> Errors:
    """A reference against one with twice the cells and half the tolerance."""
    case = cases()[name]
    finer = Settings(tolerance=TOLERANCE / 2)
    return errors(case, "reference", found, trace(case, case.loads(), finer, parts=2 * PARTS))


def _warm(name: str) -> None:
    """Load the compiled kernels before the clock runs."""
    trace(cases()[name], cases()[name].loads(24), Settings())


def summary(rows: Sequence[Errors]) -> list[Errors]:
    """Largest magnitude of each error over the walls, and sums of the costs, per accuracy."""
    found = []
    for accuracy in dict.fromkeys(row.accuracy for row in rows):
        mine = [row for row in rows if row.accuracy == accuracy]
        columns = list(zip(*(row[2:] for row in mine), strict=True))
        worst = [max(map(abs, column)) for column in columns[:9]]
        found.append(Errors("largest / sum", accuracy, *worst, *map(sum, columns[9:])))
    return found


def changes(before: Sequence[dict[str, object]], rows: Sequence[Errors]) -> list[list[object]]:
    """Wall, accuracy, then size of each error and cost now over that of a stored row. [1]"""
    known = {(row["wall"], row["accuracy"]): row for row in before}
    found = []
    for row in rows:
        if old := known.get(row[:2]):
            pairs = [(abs(getattr(row, key)), abs(old[key])) for key in UNITS]
            found.append([*row[:2], *(now / then if then else float("nan") for now, then in pairs)])
    return found


def stored(
    rows: Sequence[Errors], references: dict[str, Trace], solutions: dict[str, object]
) -> dict[str, object]:
    """What is written: numbers, their units, and what made them."""
    packages = ("hygro", "numpy", "numba", "scipy", "xarray", "pvlib", "diyepw")
    return {
        "versions": {"python": platform.python_version(), **{p: version(p) for p in packages}},
        "machine": machine(),
        "sources": source_hash(),
        "reference": {
            "parts": PARTS,
            "tolerance": TOLERANCE,
            "cells": {name: int(x.cost[0]) for name, x in references.items()},
        },
        "units": UNITS,
        "rows": [row._asdict() for row in rows],
        "exact": solutions,
    }


def draw(rows: Sequence[Errors]) -> None:
    """Error over cost: a letter a wall, a large mark for the median of each accuracy."""
    figure, fields = plt.subplots(2, 2, figsize=(10.5, 8.5))
    names = list(dict.fromkeys(row.wall for row in rows))
    for field, (key, label) in zip(fields.flat, DRAWN.items(), strict=True):
        for letter, name in zip(LETTERS, names, strict=False):
            mine = [row for row in rows if row.wall == name]
            field.loglog(_cost(mine), _size(mine, key), color=FAINT, lw=0.6, mec=INK, mfc=INK,
                         marker=rf"$\mathrm{{{letter}}}$", ms=7, label=name)  # fmt: skip
        _medians(field, rows, key)
        field.set_title(label, fontsize=10)
        field.xaxis.set_major_locator(LogLocator(subs=(1, 1.5, 2, 3, 5, 7)))
        field.xaxis.set_major_formatter("{x:g}")
        field.xaxis.set_minor_locator(NullLocator())
        field.grid(color=GRID)
    for field in fields[-1]:
        field.set_xlabel("processor seconds per simulated year")
    handles, labels = fields[0, 0].get_legend_handles_labels()
    figure.legend(handles, labels, ncols=6, loc="lower center", fontsize=9, frameon=False)
    figure.suptitle("error against the split grid; large marks: medians of the walls", fontsize=11)
    figure.tight_layout(rect=(0, 0.07, 1, 1))
    save_figure(figure, "total_error")


def _medians(field: Axes, rows: Sequence[Errors], key: str) -> None:
    for accuracy, mark in zip(ACCURACIES, "o^s", strict=True):
        mine = [row for row in rows if row.accuracy == accuracy]
        if mine:
            at = float(np.median(_cost(mine))), float(np.median(_size(mine, key)))
            field.plot(*at, mark, ms=17, mfc="none", mec=INK, mew=1.8, ls="none")
            field.annotate(accuracy, at, xytext=(0, -19), fontsize=9, ha="center",
                           textcoords="offset points", bbox=BEHIND)  # fmt: skip


def _cost(rows: Sequence[Errors]) -> list[float]:
    return [row.seconds * YEAR / HOURS for row in rows]


def _size(rows: Sequence[Errors], key: str) -> list[float]:
    """Magnitudes; those below the scale of the figure are drawn on its lower edge."""
    return [max(abs(getattr(row, key)), 1e-5) for row in rows]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--walls", nargs="+", choices=list(cases()), help="all when absent")
    parser.add_argument("--accuracies", nargs="+", choices=ACCURACIES, default=ACCURACIES)
    parser.add_argument("--tolerance", type=float, default=1.0, help="of the runs")
    parser.add_argument("--repeats", type=int, default=3, help="the fastest run counts")
    parser.add_argument("--cache", type=Path, help="folder that keeps references")
    parser.add_argument("--trust", action="store_true", help="also those of other sources")
    parser.add_argument("--own", action="store_true", help="also the error of the references")
    parser.add_argument("--against", type=Path, help="JSON file of an earlier engine")
    parser.add_argument("--out", type=Path, help="JSON file of the results")
    given = parser.parse_args()
    print(machine())
    rows, references = _measured(
        given.accuracies, given.walls, tolerance=given.tolerance, repeats=given.repeats,
        cache=given.cache, trust=given.trust,
    )  # fmt: skip
    show_table("whole error against the split grid", Errors._fields, [*rows, *summary(rows)])
    own = [_own(name, references[name]) for name in references] if given.own else []
    if own:
        show_table("the references against grids and tolerances twice as fine", Errors._fields, own)
    if given.against:
        before = json.loads(given.against.read_text(encoding="utf-8"))["rows"]
        show_table("now over before", Errors._fields, changes(before, rows))
    solutions = exact()
    for name, numbers in solutions.items():
        show_table(name, list(numbers), [list(numbers.values())])
    if given.out:
        text = json.dumps(
            stored([*rows, *own], references, solutions), indent=1, ensure_ascii=False
        )
        given.out.write_text(text + "\n", encoding="utf-8")
    draw(rows)


if __name__ == "__main__":
    main()
