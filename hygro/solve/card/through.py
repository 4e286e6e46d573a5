"""The march of a batch on a card, chunk by chunk. Chunks end where those of a processor do.

What is asked for comes back, and no more: results, or what is left at the end.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np

from hygro.errors import SolveError
from hygro.solve.card.batch import CardBatch
from hygro.solve.card.hands import copied
from hygro.solve.card.tiles import Tiles, tiled
from hygro.solve.control import control
from hygro.solve.kernels import arrays
from hygro.solve.kernels.arrays import HourlyLoads, State, Work
from hygro.solve.setup import INSTANTS, Array, Checkpoint
from hygro.solve.turn import end_after, even_from, failure

STATE_BY_CELL = {"T", "u", "X", "slope"}
"""Of a state, what has a row for each cell: a group of tiles."""


class Tallies(NamedTuple):
    """Of each wall: counters of the march, and where it stopped."""

    counters: Tiles
    where: Tiles


class Sums(NamedTuple):
    """Of each wall: sums of its ledger, and of its magnitudes."""

    totals: Tiles
    moved: Tiles


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
