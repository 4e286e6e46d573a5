"""Jobs of many walls on a card: those of one structure march together, as many as memory holds.

Hours of which a job wants nothing but their end (`setup.Bare`) are gone through without results;
of the others whole results are held, of as many walls at a time as there is memory for.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from itertools import groupby
from typing import NamedTuple, TypeVar, cast

import numpy as np

from hygro.errors import HygroError, SolveError
from hygro.solve.card.arena import Arena, free_here
from hygro.solve.card.batch import (
    MARCHED,
    CardBatch,
    Results,
    bytes_of,
    make_batch,
)
from hygro.solve.card.machine import Machine
from hygro.solve.card.series import Series
from hygro.solve.card.through import through
from hygro.solve.lane import Case, Lane, Start, Told, ended, start_lanes
from hygro.solve.order import Placed, order
from hygro.solve.settings import Settings
from hygro.solve.setup import Array, Bare, Checkpoint, Chunk, Own, Setup, prepare, shape_of
from hygro.solve.turn import CHUNK
from hygro.wall.loads import Loads
from hygro.wall.wall import Wall

Got = TypeVar("Got")
Ended = Iterator[tuple[int, Got | HygroError]]
MOST = 65536
"""Walls at a time at most: beyond, a card of today does no more at once."""
LEAST = 512
"""Walls that are not shared out among machines: few take as long as many (our choice)."""
SCRATCH = 1000
"""What a wall needs per cell beside its results. [bytes]"""


def in_tiles(
    cases: Sequence[Case],
    settings: Settings,
    start: Start[Got],
    machine: Machine,
    tell: Told,
) -> Ended[Got]:
    """March walls on one machine."""
    return on_machines(cases, settings, start, [machine])(tell)


def on_machines(
    cases: Sequence[Case],
    settings: Settings,
    start: Start[Got],
    machines: Sequence[Machine],
    arena: Arena | None = None,
) -> Callable[[Told], Ended[Got]]:
    """What each of as many threads as there are machines does until no case is left.

    Whole results lie in an arena where one is given.
    """
    left, free = _Left(alike(cases, settings), len(machines)), deque(machines)

    def work(tell: Told) -> Ended[Got]:
        machine, laid = free.popleft(), partial(_prepared, Series())
        while places := left.take():
            lanes: list[Lane[Got]] = []
            yield from start_lanes(places, cases, settings, start, tell, lanes, laid)
            yield from march_lanes(lanes, machine, Here(arena, len(machines)), tell)

    return work


class _Left:
    """Places of walls that wait, group by group."""

    def __init__(self, groups: list[list[int]], machines: int) -> None:
        sizes = [min(max(-(-len(group) // machines), LEAST), MOST) for group in groups]
        self._parts = deque(
            group[first : first + size]
            for group, size in zip(groups, sizes, strict=True)
            for first in range(0, len(group), size)
        )
        self._lock = threading.Lock()

    def take(self) -> list[int]:
        """Some that can march together; none where none is left."""
        with self._lock:
            return self._parts.popleft() if self._parts else []


def alike(cases: Sequence[Case], settings: Settings) -> list[list[int]]:
    """Places of walls that can march together."""

    def group(placed: Placed) -> tuple[str, int]:
        return repr(placed.key), cases[placed.place][1].hours

    placed = sorted(order([wall for wall, _ in cases], settings), key=group)
    return [[x.place for x in part] for _, part in groupby(placed, group)]


def _prepared(series: Series, wall: Wall, loads: Loads, settings: Settings) -> Setup:
    """`prepare`, with loads that others have too kept once."""
    setup = prepare(wall, loads, settings)
    return setup._replace(hourly=series.shared(setup.hourly))


class Here(NamedTuple):
    """Memory for whole results on the processor's side, shared by some machines.

    In an arena the potential u is left out, which nobody reads there.
    """

    arena: Arena | None
    machines: int

    def fields(self) -> tuple[str, ...]:
        """Results that are held."""
        return tuple(x for x in Results._fields if x != "u" or self.arena is None)

    def walls(self, setup: Setup) -> int:
        """How many walls like this one have room at a time."""
        whole = bytes_of(setup, setup.loads.hours, self.fields())
        if self.arena is not None:
            return self.arena.size // (self.machines * whole)
        return free_here() // (2 * self.machines * whole)  # those before are still being rated

    def room(self, setup: Setup, walls: int) -> dict[str, Array]:
        """Room for results of some walls like this one, (walls, hours[, columns]) each."""
        hours = setup.loads.hours
        shapes = {name: (walls, *shape_of(setup, hours, name)) for name in self.fields()}
        if self.arena is not None:
            return self.arena.room(shapes)
        return {name: np.empty(shape) for name, shape in shapes.items()}


# --- marching -------------------------------------------------------------------------------------


def march_lanes(lanes: list[Lane[Got]], machine: Machine, here: Here, tell: Told) -> Ended[Got]:
    """March walls of one structure and equally long loads to their ends."""
    done: set[int] = set()
    with machine.keeping():
        for place, result in _rounds(lanes, machine, tell):
            done.add(place)
            yield place, result
    lanes = [lane for lane in lanes if lane.place not in done]
    while lanes:
        setup = lanes[0].setup
        most = max(min(here.walls(setup), _there(setup, machine, here.fields())), 1)
        with machine.keeping():
            yield from _to_the_end(lanes[:most], machine, here, tell)
        lanes = lanes[most:]


def _there(setup: Setup, machine: Machine, names: Sequence[str]) -> int:
    """Walls like this one of which a chunk of some results fits in three quarters of the memory of
    a machine.
    """
    one = bytes_of(setup, CHUNK, names) + SCRATCH * len(setup.grid.layer)
    return max(min(3 * machine.free() // (4 * one), MOST), 1)


def _rounds(lanes: Sequence[Lane[Got]], machine: Machine, tell: Told) -> Ended[Got]:
    """Hours of which only the end is wanted, again and again until no wall asks for them."""
    most = _there(lanes[0].setup, machine, MARCHED) if lanes else 1
    for first in range(0, len(lanes), most):
        going = _bare(lanes[first : first + most])
        laid, batch = going, None
        while going:
            if batch is None or 2 * len(going) <= len(laid):  # half of them rest
                laid, batch = going, None  # what was there goes before room is taken
                batch = make_batch([lane.setup for lane in laid], machine, bare=True)
            done: set[int] = set()
            for place, result in _round(laid, going, batch, tell):
                done.add(place)
                yield place, result
            going = _bare([lane for lane in going if lane.place not in done])


def _bare(lanes: Sequence[Lane[Got]]) -> list[Lane[Got]]:
    return [lane for lane in lanes if isinstance(lane.point, Bare)]


def _round(
    laid: Sequence[Lane[Got]], going: Sequence[Lane[Got]], batch: CardBatch, tell: Told
) -> Ended[Got]:
    """To the end of the loads once, for some of the walls that are laid out."""
    goes = {lane.place for lane in going}
    points = [lane.point if lane.place in goes else None for lane in laid]
    ends = through(batch, points, heard=_heard(going[0], tell))
    for lane, end in zip(laid, ends, strict=True):
        if end is not None:
            turn = end if isinstance(end, SolveError) else (cast(Chunk, None), end)
            yield from ((lane.place, result) for result in ended(lane, turn))


def _to_the_end(lanes: Sequence[Lane[Got]], machine: Machine, here: Here, tell: Told) -> Ended[Got]:
    """All hours once, with their results."""
    setups, first = [lane.setup for lane in lanes], lanes[0].point.hour
    room, batch = here.room(setups[0], len(lanes)), make_batch(setups, machine)
    left_out = {} if "u" in room else {"u": np.empty((0, len(setups[0].grid.layer)))}
    points = [lane.point for lane in lanes]
    ends = list(through(batch, points, into=room, heard=_heard(lanes[0], tell)))
    if here.arena is not None:
        here.arena.expect(room, sum(isinstance(end, Checkpoint) for end in ends))
    for k, (lane, end) in enumerate(zip(lanes, ends, strict=True)):
        if isinstance(end, SolveError):
            yield from ((lane.place, result) for result in ended(lane, end))
        elif end is not None:
            chunk = Own(first, **{name: values[k] for name, values in room.items()}, **left_out)
            yield from ((lane.place, result) for result in ended(lane, (chunk, end)))


def _heard(lane: Lane[Got], tell: Told) -> Callable[[int], None]:
    """Tells of one wall what is reached by all, and is told there when to stop."""

    def heard(hour: int) -> None:
        tell(lane.place, hour / lane.setup.loads.hours, lane.setup.loads.time[hour])

    return heard
