"""Walls of one structure laid out in the memory of a card."""

from __future__ import annotations

import math
import threading
from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.solve.card.machine import Machine
from hygro.solve.card.series import Series
from hygro.solve.card.tiles import TILE, Tiles, tiled
from hygro.solve.kernels.arrays import HourlyLoads, WallArrays, Work
from hygro.solve.lanes import LaneArray
from hygro.solve.problem import build_problem
from hygro.solve.setup import Setup, shape_of
from hygro.solve.sources import places_in, spread
from hygro.solve.turn import CHUNK, make_work


class Results(NamedTuple):
    """Results of some hours in tiles, rows as the kernels write them; see `setup.Chunk`."""

    T: Tiles
    u: Tiles
    rh: Tiles
    w: Tiles
    ice: Tiles
    ledger: Tiles
    interface_T: Tiles
    interface_p: Tiles
    gap_T: Tiles
    gap_p: Tiles
    gap_rate: Tiles


class CardBatch(NamedTuple):
    """Setups of one structure on a machine; `series` are their loads, on the processor's side.

    Row r of `of` says which set of series r a wall has, the last which lane of `problem`.
    """

    setups: tuple[Setup, ...]
    machine: Machine
    problem: WallArrays
    series: HourlyLoads
    of: Any
    work: Work
    results: Results


_LAYING = threading.Lock()
"""Held while walls are laid out: threads that do it side by side drive tables of materials out of
the few that are kept, and make them anew wall by wall."""

BY_CELL = {
    *("X", "X1", "X2", "D", "F", "L", "inverse", "w", "cell_led", "r", "y", "moved", "room"),
    *("base", "T", "u", "T1", "u1"),
}
"""Scratch with a row for each cell: a group of tiles."""

MARCHED = ("T", "u", "ledger", "gap_rate")
"""Results that the march writes; the others are worked out from them."""


def bytes_of(setup: Setup, hours: int, names: Sequence[str]) -> int:
    """Results of some names of some hours of a wall. [bytes]"""
    return 8 * sum(math.prod(shape_of(setup, hours, name)) for name in names)


def make_batch(setups: Sequence[Setup], machine: Machine, *, bare: bool = False) -> CardBatch:
    """Fill the memory of a machine with walls of one structure and equally long loads.

    A setup that stands there more than once is laid out once: only the starts differ. `bare`: for
    `through` without a report.

    Raises
    ------
    ValueError
        Structures or lengths differ.
    """
    once = list({id(s): s for s in setups}.values())
    if len({(s.part.structure.key(), s.loads.hours) for s in once}) > 1:
        raise ValueError(f"{len(once)} walls on a card: must have one structure and equal hours")
    numbers = {id(s): k for k, s in enumerate(once)}
    place = [numbers[id(s)] for s in setups]
    one, walls = once[0], len(setups)
    with _LAYING:
        problem, lane = distinct(build_problem([s.part for s in once], len(once)))
        series, of = shared(once, problem.source)
    of = np.concatenate([of, [lane]])
    cells, gaps, layers = len(one.grid.layer), len(one.wall.gaps), len(one.wall.solids)
    work = make_work(cells, gaps, len(problem.source), layers, 1)

    def room(name: str) -> Tiles:
        rows = 0 if bare and name not in MARCHED else math.prod(shape_of(one, CHUNK, name))
        return Tiles(machine.empty((-(-walls // TILE), rows, TILE)))

    return CardBatch(
        tuple(setups),
        machine,
        WallArrays(*(_put(x, machine) for x in problem)),
        series,
        machine.put(of[:, place]),
        Work(*(_scratch(name, x, walls, machine) for name, x in work._asdict().items())),
        Results(*(room(name) for name in Results._fields)),
    )


def distinct(problem: WallArrays) -> tuple[WallArrays, NDArray[np.int64]]:
    """Lanes that differ, and which of them each lane was.

    What walls share is then read once for all threads that march in step.
    """
    lanes = [x.array for x in problem if isinstance(x, LaneArray)]
    flat = np.concatenate([x.reshape(-1, x.shape[-1]) for x in lanes]).T
    kept: dict[bytes, int] = {}
    of = np.array([kept.setdefault(row.tobytes(), len(kept)) for row in flat], dtype=np.int64)
    first = np.unique(of, return_index=True)[1]
    cut: Any = (
        LaneArray(np.ascontiguousarray(x.array[..., first])) if isinstance(x, LaneArray) else x
        for x in problem
    )
    return WallArrays(*cut), of


def _put(array: Any, machine: Machine) -> Any:
    """Lanes into tiles; what the walls share as it is."""
    if isinstance(array, LaneArray):
        return Tiles(machine.put(tiled(array.array)))
    return machine.put(array)


def _scratch(name: str, array: Any, walls: int, machine: Machine) -> Any:
    """Scratch of one wall as that of all; integers in tiles too."""
    one = array.array if isinstance(array, LaneArray) else array[:, None]
    made = machine.put(tiled(np.repeat(one, walls, axis=-1)))
    return Tiles(made, int(name in BY_CELL)) if isinstance(array, LaneArray) else made


def shared(
    setups: Sequence[Setup], source: NDArray[np.int64]
) -> tuple[HourlyLoads, NDArray[np.int64]]:
    """Series of all walls, equal ones once, and which of them each wall has. (8, walls)"""
    kept: list[list[NDArray[Any]]] = [[] for _ in HourlyLoads._fields]
    series, rates = Series(), dict[tuple[int, bytes], NDArray[Any]]()
    places: dict[tuple[int, int], int] = {}

    def place(row: int, array: NDArray[Any]) -> int:
        if (row, id(array)) not in places:
            one = series.one(str(row), array)
            if (row, id(one)) not in places:
                places[row, id(one)] = len(kept[row])
                kept[row].append(one)
            places[row, id(array)] = places[row, id(one)]
        return places[row, id(array)]

    of = np.empty((len(kept), len(setups)), dtype=np.int64)
    for k, setup in enumerate(setups):
        own, hourly = setup.part.structure.source, setup.hourly
        at = id(hourly.source), own.tobytes()
        if at not in rates:
            rates[at] = spread(hourly.source[0], places_in(source, own), len(source))[None]
        of[:, k] = [place(*x) for x in enumerate(hourly._replace(source=rates[at]))]
    return HourlyLoads(*(np.concatenate(x) for x in kept)), of
