"""Where the time of a wall-year goes, for one wall and for eight side by side: table and figure.

Phases in Python are timed as they run. Kernels are timed one by one in compiled loops on the state
of the same wall and multiplied by how often the run calls them. What is left of the march is the
control of the steps; where nothing is left, since a processor works on several kernels at once, the
kernels are shown in proportion. Cells and faces are what the equations take without the surfaces:
apart from each other they take other times than together.
"""

from __future__ import annotations

from collections.abc import Callable
from time import process_time
from typing import Any, NamedTuple

import matplotlib.pyplot as plt
import numpy as np
from numba import njit

from benchmarks.common import YEAR, best_of, machine, save_figure, show_table
from hygro.errors import SolveError
from hygro.proof.trials import ROOM, framed, season
from hygro.show.style import INK
from hygro.solve import ensemble, march, turn
from hygro.solve.dual import value
from hygro.solve.kernels.arrays import GDT, State
from hygro.solve.kernels.cell import cell_at
from hygro.solve.kernels.equations import evaluate
from hygro.solve.kernels.newton import measure as measure_updates
from hygro.solve.kernels.step import (
    book_stage,
    close_first,
    close_second,
    estimate,
    stage_ledger,
    take,
)
from hygro.solve.kernels.surface import surface_flux
from hygro.solve.kernels.unknowns import over_T, over_u
from hygro.solve.lanes import WIDTH, LaneArray
from hygro.solve.setup import Setup, begin, prepare
from hygro.wall.loads import build_loads

OPTIONS: object = {"error_model": "numpy", "_nrt": False}
CALLS = 3000
LETTER = 0.008
"""Width of a letter over that of the figure, on the safe side."""
EVERY = 3
"""Chunks of the march between two states on which kernels are timed."""


class Part(NamedTuple):
    """A part of the time and the parts of it. [s]"""

    name: str
    seconds: float
    inside: tuple[Part, ...] = ()


@njit(**OPTIONS)
def _equations(pb, wk, st, n):
    for _ in range(n):
        evaluate(pb, wk, wk.T, wk.u, None, wk.at[GDT])


@njit(**OPTIONS)
def _cells(pb, wk, st, n):
    for _ in range(n):
        for i in range(len(wk.T)):
            c = cell_at(pb.tab, pb.cell, i, pb.flags[0], wk.T[i], wk.u[i])
            a = c.pv + c.rk + c.rv + c.th + c.kt + c.mo + c.fl
            b = c.heat + c.w
            wk.r[i, 0] = value(a) + over_T(a) + over_u(a)
            wk.r[i, 1] = value(b) + over_T(b) + over_u(b)


@njit(**OPTIONS)
def _surfaces(pb, wk, st, n):
    for _ in range(n):
        for s in range(2):
            i = s * (len(wk.T) - 1)
            c = cell_at(pb.tab, pb.cell, i, pb.flags[0], wk.T[i], wk.u[i])
            got = surface_flux(pb, wk, s, i, c)
            wk.r[i, 0] = value(got.e) + over_T(got.e) + over_u(got.e)
            wk.r[i, 1] = value(got.v) + over_T(got.v) + over_u(got.v)


@njit(**OPTIONS)
def _sizes(pb, wk, st, n):
    for _ in range(n):
        measure_updates(pb, wk, 1.0, 1.0)


@njit(**OPTIONS)
def _closing(pb, wk, st, n):
    for _ in range(n):
        stage_ledger(pb, wk)
        book_stage(wk)
        close_first(wk, st)


@njit(**OPTIONS)
def _ending(pb, wk, st, n):
    for _ in range(n):
        close_second(wk, st)
        estimate(pb, wk, 1.0, 1.0)
        take(wk, st)


LOOPS = {
    "equations and elimination": _equations, "cells": _cells, "surfaces": _surfaces,
    "sizes": _sizes, "closing": _closing, "ending": _ending,
}  # fmt: skip


def per_call(setup: Setup, width: int) -> dict[str, float]:
    """Seconds of one call of each kernel, the mean over states all through the year."""
    batch = turn.make_batch((setup,) * width)
    points = [begin(setup), *(point for _, point in march.chunks(setup))][:-1:EVERY]
    found = dict.fromkeys(LOOPS, 0.0)
    for point in points:
        (first, *_) = turn.advance(batch, [point] * width)
        assert not isinstance(first, SolveError)
        end = first[1]
        state = State(*(LaneArray(np.stack([x] * width, axis=-1)) for x in end[1:6]))
        for name, loop in LOOPS.items():
            loop(batch.problem, batch.work, state, 1)
            call = lambda f=loop, s=state: f(batch.problem, batch.work, s, CALLS)  # noqa: E731
            found[name] += best_of(3, call)[0] / CALLS / len(points)
    return found


def timed(spent: dict[str, float], owner: object, name: str) -> Callable[[], None]:
    """Time a function where it stands; gives what puts it back."""
    inner = getattr(owner, name)

    def outer(*args: object, **more: object) -> Any:
        begin = process_time()
        result = inner(*args, **more)
        spent[name] = spent.get(name, 0.0) + process_time() - begin
        return result

    setattr(owner, name, outer)
    return lambda: setattr(owner, name, inner)


def scaled(part: Part, by: float) -> Part:
    """The part and what is in it, all times some factor."""
    return Part(part.name, by * part.seconds, tuple(scaled(p, by) for p in part.inside))


def clocked(call: Callable[[], Any], spent: dict[str, float]) -> tuple[Any, float]:
    """Result and seconds of a call; what its phases took goes into `spent`."""
    undo = [timed(spent, turn, n) for n in ("march", "report")]
    setting_up = ("prepare", "make_batch", "begin")
    undo += [timed(spent, owner, n) for owner in (march, ensemble) for n in setting_up]
    undo.append(timed(spent, march, "_copy"))
    begin = process_time()
    result = call()
    seconds = process_time() - begin
    for back in undo:
        back()
    return result, seconds


def measure(width: int) -> Part:
    """The parts of a framed wall-year, or of as many as there are lanes."""
    wall = framed()
    loads = build_loads(wall, season(0, YEAR), ROOM)
    cases = [(wall, loads)] * width

    def perform() -> Any:
        if width == 1:
            return march.run(wall, loads)
        return dict(ensemble.run_many(cases, threads=1))[0]

    perform()
    total = np.inf
    for _ in range(5):
        spent_now: dict[str, float] = {}
        got, seconds = clocked(perform, spent_now)
        if seconds < total:
            total, spent = seconds, spent_now
    setup = prepare(wall, loads)
    one = per_call(setup, width)
    evaluations, steps = got.counters["evaluations"], got.counters["steps"]
    ends = steps + got.counters["rejected"]
    cells = len(got.grid.layer)
    surfaces = one["surfaces"] - one["cells"] * 2 / cells
    equations = Part(
        "equations and elimination", evaluations * one["equations and elimination"],
        (
            Part("cells and faces", evaluations * (one["equations and elimination"] - surfaces)),
            Part("surfaces", evaluations * surfaces),
        ),
    )  # fmt: skip
    inside = [
        equations,
        Part("substitution, stages", evaluations * one["sizes"] + steps * one["closing"]),
        Part("error, state", ends * one["ending"]),
    ]
    told = sum(p.seconds for p in inside)
    if told > spent["march"]:
        inside = [scaled(p, spent["march"] / told) for p in inside]
    else:
        inside.append(Part("steps, loads", spent["march"] - told))
    parts = [
        Part("march", spent["march"], tuple(inside)),
        Part("record curves", spent["report"]),
        Part("setting up", spent["prepare"] + spent["make_batch"] + spent["begin"]),
        Part("copying", spent["_copy"]),
    ]
    rest = total - sum(p.seconds for p in parts)
    return Part(f"{width} wall-years" if width > 1 else "1 wall-year", total,
                (*parts, Part("rest", rest)))  # fmt: skip


def rows(part: Part, whole: float, depth: int = 0) -> list[list[object]]:
    """The table, indented by depth."""
    own = ["  " * depth + part.name, 1000.0 * part.seconds, 100.0 * part.seconds / whole]
    return [own, *(row for p in part.inside for row in rows(p, whole, depth + 1))]


def draw(field: object, part: Part, whole: float, start: float = 0.0, depth: int = 0) -> None:
    """A box for the part, above what called it; shares below 2 % stay without a name."""
    share = part.seconds / whole
    grey = 1.0 - 0.09 * depth
    field.add_patch(
        plt.Rectangle((start, depth), share, 0.96, facecolor=str(grey), edgecolor=INK, lw=0.8)
    )
    if share < 0.02:
        return
    words, percent = part.name.split(), f"{100 * share:.0f} %"
    flat = share > LETTER * max(len(word) for word in (*words, percent))
    fits = share > LETTER * len(part.name)
    label = part.name if fits or not flat else "\n".join(words)
    field.text(
        start + share / 2, depth + 0.48, f"{label}\n{percent}" if flat else f"{label} {percent}",
        ha="center", va="center", fontsize=7, rotation=0 if flat else 90,
    )  # fmt: skip
    for inner in part.inside:
        draw(field, inner, whole, start, depth + 1)
        start += max(inner.seconds, 0.0) / whole


def main() -> None:
    print(machine())
    figure, fields = plt.subplots(2, 1, figsize=(9, 8.5))
    for field, width in zip(fields, (1, WIDTH), strict=True):
        part = measure(width)
        show_table(f"framed wall, {part.name}", ["part", "ms", "%"], rows(part, part.seconds))
        draw(field, part, part.seconds)
        field.set_xlim(-0.002, 1.002)
        field.set_ylim(-0.02, 4)
        field.set_title(
            f"framed wall, {part.name} in {'one lane' if width == 1 else f'{width} lanes'}: "
            f"{1000 * part.seconds:.0f} ms", fontsize=10,
        )  # fmt: skip
        field.axis("off")
    figure.tight_layout()
    save_figure(figure, "profile")


if __name__ == "__main__":
    main()
