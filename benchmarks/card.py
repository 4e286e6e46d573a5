"""Many walls on a graphics card: the same answers as on a processor, and how many a second.

Walls of one structure that face all ways, in coats of several colours, in the weather of the
trials; each starts at its own humidity. `python -m benchmarks.card --write` records
docs/results/gpu.json after every row; needs `hygro[gpu]` and a card. `python -m benchmarks.card
--together --write` marches as many walls on each of all cards at once, and records gpu_cards.json.

Times are those of the functions of the card, by the clock, and by the side of them those of the
whole with what goes to the card and comes back. Setting up walls is in neither.
"""

from __future__ import annotations

import multiprocessing
import os
import sys
import time
from collections.abc import Mapping, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import replace
from importlib.metadata import version
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from benchmarks.common import YEAR, machine, record, rounded, show_table
from hygro.proof.trials import ROOM, season, trials
from hygro.solve.card.batch import CardBatch, Results, make_batch
from hygro.solve.card.device import Card
from hygro.solve.card.through import through
from hygro.solve.card.together import in_tiles
from hygro.solve.ensemble import run_many
from hygro.solve.lanes import WIDTH
from hygro.solve.march import Job, Progress, whole
from hygro.solve.settings import Settings
from hygro.solve.setup import Checkpoint, Run, Setup, balance, begin, prepare, shape_of
from hygro.solve.turn import Batch, advance
from hygro.solve.turn import make_batch as in_lanes
from hygro.wall.grid import Accuracy
from hygro.wall.loads import LoadMaker

WALLS = ("framed", "brick", "ventilated", "outboard")
COUNTS = {"framed": (1024, 4096, 16384, 32768, 65536), "brick": (32768,), "ventilated": (32768,),
          "outboard": (32768,)}  # fmt: skip
COARSE = ("framed", "ventilated")
"""Walls that are also marched on the grid of drafts, with the steps of the default."""
COPIED = 4096
"""Walls whose whole results are taken back."""
MIXED = 32768
"""Number of walls that are also marched in random order."""
HOURS, FIRST = 672, 6552
"""Two chunks from October on: rain, frost and sun."""
LONG = 4368
"""The last half of the year, for several cards: what is done once for all hours is little then."""
WAYS, COATS = 32, (0.3, 0.5, 0.7, 0.9)


class Timed(Card):
    """A card that adds up the seconds of each function."""

    def __init__(self, **options: int) -> None:
        super().__init__(**options)
        self.seconds: dict[str, float] = {}
        self.copied = [0.0, 0.0]

    def by_wall(self, arrays: Mapping[str, Any], walls: int) -> dict[str, NDArray[Any]]:
        """Take them back, and count bytes and seconds."""
        self.wait()
        begun = time.perf_counter()
        found = super().by_wall(arrays, walls)
        self.copied[1] += time.perf_counter() - begun
        self.copied[0] += sum(x.nbytes for x in found.values())
        return found

    def run(self, kernel: str, walls: int, *args: object) -> None:
        """Run it, and wait until it has ended."""
        self.wait()
        begun = time.perf_counter()
        super().run(kernel, walls, *args)
        self.wait()
        self.seconds[kernel] = self.seconds.get(kernel, 0.0) + time.perf_counter() - begun


class Told(NamedTuple):
    """What a processor says of a run."""

    T: np.ndarray
    u: np.ndarray
    rh: np.ndarray
    counters: dict[str, int]


def setups_of(
    name: str, ways: int = WAYS, hours: int = HOURS, first: int = FIRST, grid: Accuracy = "normal"
) -> list[Setup]:
    """A trial wall turned and painted, in its weather."""
    settings = Settings(accuracy=grid)
    maker, wall = LoadMaker(season(first, hours)), trials(hours, first=first)[name].wall
    made = []
    for k in range(ways):
        for coat in COATS:
            outside = replace(wall.outside, absorptance=coat)
            turned = replace(wall, azimuth=360.0 * k / ways, outside=outside)
            made.append(prepare(turned, maker.loads(turned, ROOM), settings))
    return made


def starts(setups: Sequence[Setup]) -> list[Checkpoint]:
    """Each at its own humidity: the initial potential times 0.9 to 1.1."""
    once = {id(s): begin(s) for s in setups}
    points = []
    for k, setup in enumerate(setups):
        point = once[id(setup)]
        share = 0.9 + 0.2 * (k * 0.6180339887 % 1.0)
        points.append(point._replace(u=np.minimum(point.u * share, 0.999)))
    return points


def rate(name: str, walls: Sequence[Setup], order: str, card: Timed) -> dict[str, Any]:
    """Wall-years per second of march and report."""
    points = starts(walls)
    batch = make_batch(walls, card)
    card.seconds.clear()
    begun = time.perf_counter()
    ends = list(through(batch, points, reported=True))
    clock = time.perf_counter() - begun
    fine = [(s, e) for s, e in zip(walls, ends, strict=True) if isinstance(e, Checkpoint)]
    turns = np.array([e.counters[2] for _, e in fine])
    cells, years = len(walls[0].grid.layer), len(walls) * HOURS / YEAR
    closures = [max(balance(s, e).values()) for s, e in fine[:: max(len(fine) // 4096, 1)]]
    numbers = {
        "years_per_s": years / sum(card.seconds.values()),
        "with_transfers": years / clock,
        "march_s": card.seconds["march_wall"],
        "report_s": card.seconds["report_wall"],
        "turns_per_hour": float(turns.mean()) / HOURS,
        "slowest_over_mean": float(turns.max() / turns.mean()),
        "ns_per_cell_turn": 1e9 * card.seconds["march_wall"] / float(turns.sum()) / cells,
        "closure": max(closures),
    }
    told = {"wall": name, "cells": cells, "walls": len(walls), "order": order}
    return {**told, "stopped": len(walls) - len(fine), **rounded(numbers)}


def copies(walls: Sequence[Setup], card: Timed) -> dict[str, Any]:
    """Whole results of some walls: bytes, seconds of bringing them here, of the rest of that."""
    batch, points = make_batch(walls, card), starts(walls)
    names = [x for x in Results._fields if x != "u"]
    room = {x: np.zeros((len(walls), *shape_of(walls[0], HOURS, x))) for x in names}
    for _ in range(2):  # the first takes memory
        card.seconds.clear()
        card.copied = [0.0, 0.0]
        begun = time.perf_counter()
        list(through(batch, points, into=room))
        clock = time.perf_counter() - begun
    size, seconds = card.copied
    rest = clock - seconds - sum(card.seconds.values())
    numbers = {
        "GB": size / 1e9,
        "copied_s": seconds,
        "rest_s": rest,
        "marched_s": clock - seconds - rest,
    }
    return {"walls": len(walls), "hours": HOURS, **rounded(numbers)}


def together(name: str, count: int) -> list[dict[str, Any]]:
    """Wall-years per second of as many walls on each of one, two … all cards at once."""
    cards = [Card(k) for k in range(Card().count())]
    setups = setups_of(name, hours=LONG, first=YEAR - LONG)
    walls = orders(name, setups, count)["alike"]
    points, found = starts(walls), list[dict[str, Any]]()
    with ThreadPoolExecutor(len(cards)) as pool:

        def clocked(some: Sequence[CardBatch], points: Sequence[Checkpoint]) -> tuple[float, int]:
            begun = time.perf_counter()
            ends = list(pool.map(lambda batch: list(through(batch, points, reported=True)), some))
            clock = time.perf_counter() - begun
            return clock, sum(not isinstance(end, Checkpoint) for one in ends for end in one)

        few = setups_of(name, ways=1)
        clocked([make_batch(few, card) for card in cards], starts(few))  # compiles
        batches = [make_batch(walls, card) for card in cards]
        for k in range(len(cards)):
            clock, stopped = clocked(batches[: k + 1], points)
            numbers = {"seconds": clock, "years_per_s": (k + 1) * count * LONG / YEAR / clock}
            told = {"wall": name, "walls": count, "cards": k + 1, "stopped": stopped}
            found.append({**told, **rounded(numbers)})
            print(found[-1], flush=True)
    return found


def orders(name: str, once: list[Setup], count: int) -> dict[str, list[Setup]]:
    """Walls that march alike side by side; and at `MIXED` of them in random order as well."""
    alike = [s for s in once for _ in range(-(-count // len(once)))][:count]
    found = {"alike": alike}
    if count == MIXED:
        found["mixed"] = [alike[k] for k in np.random.default_rng(1).permutation(count)]
    return found


# --- beside a processor ---------------------------------------------------------------------------


def on_processor(name: str) -> tuple[list[Told], float]:
    """The walls that are compared, and wall-years per second of all cores in lanes."""
    setups = setups_of(name, ways=16)
    found = dict(run_many([(s.wall, s.loads) for s in setups]))
    runs = [found[k] for k in range(len(setups))]
    told = [Told(r.T, r.u, r.rh, r.counters) for r in runs if isinstance(r, Run)]
    return told, in_threads(setups, os.cpu_count() or 1)


def in_threads(setups: Sequence[Setup], threads: int) -> float:
    """Wall-years per second of bare lanes in some threads."""
    rows = [setups[k : k + WIDTH] for k in range(0, len(setups), WIDTH)]
    made = [in_lanes(rows[k % len(rows)]) for k in range(4 * threads)]
    begun = time.perf_counter()
    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(_to_the_end, made))
    return len(made) * WIDTH * HOURS / YEAR / (time.perf_counter() - begun)


def on_cores(name: str) -> list[dict[str, Any]]:
    """Wall-years per second of one, two and all cores, best of three."""
    setups = setups_of(name, ways=16)
    counts = sorted({1, 2, os.cpu_count() or 1})
    best = {n: max(in_threads(setups, n) for _ in range(3)) for n in counts}
    return [{"cores": n, **rounded({"years_per_s": best[n]})} for n in counts]


def _to_the_end(batch: Batch) -> None:
    points = [begin(s) for s in batch.setups]
    while points[0].hour < HOURS:
        points = [turn[1] for turn in advance(batch, points) if isinstance(turn, tuple)]


def _start(setup: Setup, progress: Progress) -> Job[Run]:
    return whole(setup, begin(setup), progress)


def agreement(name: str, card: Timed, theirs: list[Told]) -> dict[str, Any]:
    """Largest r.m.s. difference over cells and hours of a wall, and closures."""
    cases = [(s.wall, s.loads) for s in setups_of(name, ways=16)]
    runs = dict(in_tiles(cases, Settings(), _start, card, lambda *_: None))
    ours = [r for r in (runs[k] for k in range(len(cases))) if isinstance(r, Run)]
    pairs = list(zip(ours, theirs, strict=True))
    return {
        "wall": name,
        "walls": len(pairs),
        "hours": HOURS,
        "rms_T": max(float(np.sqrt(np.mean((a.T - b.T) ** 2))) for a, b in pairs),
        "rms_rh": max(float(np.sqrt(np.mean((a.rh - b.rh) ** 2))) for a, b in pairs),
        "same_bits": sum(np.array_equal(a.T, b.T) and np.array_equal(a.u, b.u) for a, b in pairs),
        "other_steps": sum(a.counters != b.counters for a, b in pairs),
        "closure": max(max(a.closure.values()) for a in ours),
    }


def main() -> None:
    if "--together" in sys.argv:
        rows = together(WALLS[0], MIXED)
        record("gpu_cards", {"card": Card().name(), "hours": LONG, "speed": rows})
        show_table("cards", list(rows[0]), [list(row.values()) for row in rows])
        return
    card = Timed()
    found: dict[str, Any] = {"card": card.name(), "cores": os.cpu_count()}
    found["packages"] = {name: version(name) for name in ("numba-cuda", "numba")}
    print(machine(), found, flush=True)
    found |= {"hours": HOURS, "processor": {}, "agreement": [], "speed": []}
    warm = setups_of(WALLS[0], ways=1)
    list(through(make_batch(warm, card), starts(warm), reported=True))  # compiles
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as pool:
        waiting: dict[str, Future[tuple[list[Told], float]]] = {
            name: pool.submit(on_processor, name) for name in WALLS
        }
        for name in WALLS:
            once = setups_of(name)
            for count in COUNTS[name]:
                for order, walls in orders(name, once, count).items():
                    found["speed"].append(rate(name, walls, order, card))
                    print(found["speed"][-1], flush=True)
                    record("gpu", found)
        for name in COARSE:
            once, count = setups_of(name, grid="draft"), max(COUNTS[name])
            found["speed"].append(rate(name, orders(name, once, count)["alike"], "alike", card))
            print(found["speed"][-1], flush=True)
            record("gpu", found)
        for name in WALLS:
            theirs, found["processor"][name] = waiting[name].result()
            found["agreement"].append(agreement(name, card, theirs))
            print(found["agreement"][-1], found["processor"][name], flush=True)
            record("gpu", found)
        found["copies"] = copies(orders(WALLS[0], setups_of(WALLS[0]), COPIED)["alike"], card)
        print(found["copies"], flush=True)
        found["on_cores"] = pool.submit(on_cores, WALLS[0]).result()
        print(found["on_cores"], flush=True)
        record("gpu", found)
    for title in ("agreement", "speed"):
        rows = found[title]
        show_table(title, list(rows[0]), [list(row.values()) for row in rows])


if __name__ == "__main__":
    main()
