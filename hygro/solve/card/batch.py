"""Walls of one structure in the memory of a card: filled, marched chunk by chunk, taken back.

What is asked for comes back, and no more: results, or what is left at the end. Chunks end where
those of a processor do.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from typing import Any, NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from hygro.errors import SolveError
from hygro.solve.card.hands import copied
from hygro.solve.card.series import Series
from hygro.solve.card.tiles import TILE, Tiles, tiled
from hygro.solve.control import control
from hygro.solve.kernels import arrays
from hygro.solve.kernels.arrays import HourlyLoads, State, WallArrays, Work
from hygro.solve.lanes import LaneArray
from hygro.solve.problem import build_problem
from hygro.solve.setup import INSTANTS, Array, Checkpoint, Setup, shape_of
from hygro.solve.sources import places_in, spread
from hygro.solve.turn import CHUNK, end_after, even_from, failure, make_work


class Machine(Protocol):
    """What runs a function of `threads` for each wall, and the memory that it works in."""

    def put(self, array: NDArray[Any]) -> Any:
        """Copy there."""

    def empty(self, shape: tuple[int, ...]) -> Any:
        """Room there."""

    def by_wall(self, arrays: Mapping[str, Any], walls: int) -> dict[str, NDArray[Any]]:
        """Copies of arrays in tiles by their names, (walls, rows[, columns]) each.

        They hold until an array of the same name is asked for.
        """

    def keeping(self) -> AbstractContextManager[None]:
        """Within, nothing that was put there is given back: everybody waits for that."""

    def free(self) -> int:
        """Memory there that is free. [bytes]"""

    def run(self, kernel: str, walls: int, *args: object) -> None:
        """Call the function for each wall."""


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


class Tallies(NamedTuple):
    """Of each wall: counters of the march, and where it stopped."""

    counters: Tiles
    where: Tiles


class Sums(NamedTuple):
    """Of each wall: sums of its ledger, and of its magnitudes."""

    totals: Tiles
    moved: Tiles


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
STATE_BY_CELL = {"T", "u", "X", "slope"}
"""The same of the state."""
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


# --- marching -------------------------------------------------------------------------------------


def _hours(batch: CardBatch, first: int, last: int) -> HourlyLoads:
    """Loads of some hours on the machine, after the one before them; see `turn`."""
    rows = np.arange(first - 1, last + 1).clip(0)
    means = rows[:-1]
    cut = {
        name: x[:, rows if name in ("instant", "source_instant") else means]
        for name, x in batch.series._asdict().items()
    }
    cut["even"] = even_from(cut["even"], np.arange(first - 1, last), last)
    return HourlyLoads(**{name: batch.machine.put(x) for name, x in cut.items()})


def _put_points(batch: CardBatch, points: Sequence[Checkpoint], names: Sequence[str]) -> list[Any]:
    """Arrays of all points by their names, in tiles."""
    made = []
    for name in names:
        parts = [getattr(point, name) for point in points]
        whole = np.concatenate(parts).reshape(len(parts), *parts[0].shape)
        made.append(_there(batch, np.moveaxis(whole, 0, -1), int(name in STATE_BY_CELL)))
    return made


def _there(batch: CardBatch, array: Array, group: int = 0) -> Any:
    return Tiles(batch.machine.put(tiled(array)), group)


def _awake(batch: CardBatch, goes: Sequence[bool], hours: int) -> Work:
    """Scratch with every wall set to march through some hours or to rest."""
    at = np.zeros((arrays.LANE_ROWS, len(goes)))
    at[arrays.MODE] = np.where(goes, arrays.GO, arrays.IDLE)
    at[arrays.LAST] = hours + 1.0
    return batch.work._replace(at=_there(batch, at))


def _tallies(batch: CardBatch) -> Tallies:
    walls = len(batch.setups)
    return Tallies(*(_there(batch, np.zeros((rows, walls))) for rows in (4, 5)))


def _march(
    batch: CardBatch, loads: HourlyLoads, state: State, work: Work, tallies: Tallies
) -> None:
    steer = batch.machine.put(control(batch.setups[0].settings))
    batch.machine.run(
        "march_wall", len(batch.setups), batch.problem, loads, batch.of, state, work, steer,
        batch.results, tallies,
    )  # fmt: skip


def _report(batch: CardBatch, loads: HourlyLoads, hours: int, work: Work) -> None:
    batch.machine.run(
        "report_wall", len(batch.setups), batch.problem, loads, batch.of, hours, work,
        batch.results,
    )  # fmt: skip


def _taken(batch: CardBatch, **tiles: Any) -> dict[str, Array]:
    """(walls, rows[, columns]) each; see `Machine.by_wall`."""
    there = {name: x.array for name, x in tiles.items()}
    return batch.machine.by_wall(there, len(batch.setups))


def _hour_of(points: Sequence[Checkpoint]) -> int:
    """The hour at which all walls stand: they share the loads that go to the machine."""
    (hour,) = {point.hour for point in points}
    return hour


def _take(batch: CardBatch, into: Mapping[str, Array], row: int, hours: int) -> None:
    """Results of some hours into room for all of them, from its row on, by some threads.

    An instant that two chunks share keeps the values of the first.
    """
    results, pairs = batch.results._asdict(), list[tuple[Array, Array]]()
    for name, values in _taken(batch, **{name: results[name] for name in into}).items():
        room, skip = into[name], int(row > 0 and name in INSTANTS)
        count, tail = hours + int(name in INSTANTS), room.shape[2:]
        some = values[:, : count * math.prod(tail)].reshape(len(values), count, *tail)
        pairs.append((room[:, row + skip : row + count], some[:, skip:]))
    copied(pairs)


def _ends(batch: CardBatch, state: State, sums: Sums, tallies: Tallies) -> dict[str, Array]:
    """What checkpoints hold, of all walls, in memory of its own."""
    # copied at once: wall by wall takes longer than hours of the march
    found = _taken(batch, **state._asdict(), **sums._asdict(), counters=tallies.counters)
    return {name: x.copy() for name, x in found.items()}


def _status(batch: CardBatch, work: Work) -> Array:
    return _taken(batch, at=work.at)["at"][:, arrays.STATUS].copy()


def through(
    batch: CardBatch,
    points: Sequence[Checkpoint | None],
    *,
    reported: bool = False,
    into: Mapping[str, Array] | None = None,
    heard: Callable[[int], None] | None = None,
) -> Iterator[Checkpoint | SolveError | None]:
    """March from one hour to the end and take back the last states and the sums of the ledger.

    A wall without a point rests.

    Parameters
    ----------
    reported : bool
        Work out what a record holds as well, and leave it on the machine.
    into : mapping, optional
        Room for results of all hours, by their names; (walls, hours[, columns]) each.
    heard : callable, optional
        Called with every hour at which all of them stand.
    """
    setups, machine = batch.setups, batch.machine
    walls, end = len(setups), setups[0].loads.hours
    goes = np.array([point is not None for point in points])
    some = next(point for point in points if point is not None)
    known = [some if point is None else point for point in points]
    state, tallies = State(*_put_points(batch, known, State._fields)), _tallies(batch)
    sums = Sums(*_put_points(batch, known, Sums._fields))
    status, stops = np.zeros(walls), np.zeros((walls, 5))
    first = start = _hour_of(known)
    while first < end:
        last = end_after(first, setups[0])
        loads = _hours(batch, first, last)
        work = _awake(batch, list(goes & (status == arrays.OK)), last - first)
        _march(batch, loads, state, work, tallies)
        if reported or into is not None:
            _report(batch, loads, last - first, work)
        if into is not None:
            _take(batch, into, first - start, last - first)
        machine.run("sum_wall", walls, last - first, batch.results, sums)
        found = _status(batch, work)
        new = (found != arrays.OK) & (status == arrays.OK)
        if new.any():
            stops[new] = _taken(batch, where=tallies.where)["where"][new]
            stops[new, 0] += first - start
            status[new] = found[new]
        first = last
        if heard is not None:
            heard(first)
    after = _ends(batch, state, sums, tallies)
    for k, (setup, point) in enumerate(zip(setups, points, strict=True)):
        if point is None:
            yield None
            continue
        own = {name: x[k] for name, x in after.items()}
        if status[k] != arrays.OK:
            yield failure(setup, point, own["T"], own["u"], stops[k])
        else:
            own["counters"] = own["counters"] + point.counters
            yield point._replace(hour=end, **own)
