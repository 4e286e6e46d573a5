"""Jobs of many walls on a card: those of one structure march together, as many as memory holds.

Hours of which a job wants nothing but their end (`setup.Bare`) are gone through without results.
What whole results are asked for goes chunk by chunk, some walls at a time.
"""

from __future__ import annotations

import os
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from itertools import groupby
from typing import TypeVar, cast

from hygro.errors import HygroError, SolveError
from hygro.solve.card.arena import Arena, Shapes
from hygro.solve.card.batch import CardBatch, Machine, advance, bytes_of, make_batch, through
from hygro.solve.card.series import Series
from hygro.solve.ensemble import Case, Lane, Placed, Start, Told, ended, order, start_lanes, turn_of
from hygro.solve.settings import Settings
from hygro.solve.setup import Array, Bare, Chunk, Setup, prepare, separate
from hygro.solve.turn import CHUNK
from hygro.wall.loads import Loads
from hygro.wall.wall import Wall

Got = TypeVar("Got")
Room = Callable[[Shapes], dict[str, Array]]
Ended = Iterator[tuple[int, Got | HygroError]]
MOST = 65536
"""Walls at a time at most: beyond, a card of today does no more at once."""
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
    room = separate if arena is None else arena.room

    def work(tell: Told) -> Ended[Got]:
        machine, laid = free.popleft(), partial(_prepared, Series(), room)
        while places := left.take():
            lanes: list[Lane[Got]] = []
            yield from start_lanes(places, cases, settings, start, tell, lanes, laid)
            yield from _march(lanes, machine, _share(arena, len(machines)), tell)

    return work


class _Left:
    """Places of walls that wait, group by group."""

    def __init__(self, groups: list[list[int]], machines: int) -> None:
        sizes = [min(-(-len(group) // machines), MOST) for group in groups]
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


def _prepared(series: Series, room: Room, wall: Wall, loads: Loads, settings: Settings) -> Setup:
    """`prepare`, with loads that others have too kept once, and room for results."""
    setup = prepare(wall, loads, settings)
    return setup._replace(hourly=series.shared(setup.hourly), room=room)


def _share(arena: Arena | None, machines: int) -> float:
    """Memory here for the whole results of one of some machines at a time. [bytes]

    Half of what there is, because those before them are still being rated.
    """
    if arena is not None:
        return arena.size / (2 * machines)
    return os.sysconf("SC_AVPHYS_PAGES") * os.sysconf("SC_PAGE_SIZE") / (2 * machines)


# --- marching -------------------------------------------------------------------------------------


def _march(lanes: list[Lane[Got]], machine: Machine, share: float, tell: Told) -> Ended[Got]:
    """March walls of one structure to their ends, with a share of the memory here. [bytes]"""
    done: set[int] = set()
    with machine.keeping():
        for place, result in _rounds(lanes, machine, tell):
            done.add(place)
            yield place, result
    lanes = [lane for lane in lanes if lane.place not in done]
    while lanes:
        most = at_a_time(lanes[0].setup, machine, share)
        with machine.keeping():
            yield from _to_the_end(lanes[:most], machine)
        lanes = lanes[most:]


def at_a_time(setup: Setup, machine: Machine, share: float) -> int:
    """Walls like this one whose results fit in a share of the memory here [bytes], and whose chunks
    fit in three quarters of what is free there.
    """
    whole = bytes_of(setup, setup.loads.hours)
    return max(min(int(share / whole), _there(setup, machine)), 1)


def _there(setup: Setup, machine: Machine, *, bare: bool = False) -> int:
    """Walls like this one that fit in three quarters of the memory of a machine."""
    one = bytes_of(setup, CHUNK, bare=bare) + SCRATCH * len(setup.grid.layer)
    return max(min(3 * machine.free() // (4 * one), MOST), 1)


def _rounds(lanes: Sequence[Lane[Got]], machine: Machine, tell: Told) -> Ended[Got]:
    """Hours of which only the end is wanted, again and again until no wall asks for them."""
    most = _there(lanes[0].setup, machine, bare=True) if lanes else 1
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
    some = going[0]

    def heard(hour: int) -> None:
        tell(some.place, 0.0, some.setup.loads.time[hour])

    for lane, end in zip(laid, through(batch, points, heard=heard), strict=True):
        if end is not None:
            turn = end if isinstance(end, SolveError) else (cast(Chunk, None), end)
            yield from ((lane.place, result) for result in ended(lane, turn))


def _to_the_end(lanes: Sequence[Lane[Got]], machine: Machine) -> Ended[Got]:
    """Chunk by chunk; the card is filled anew where walls have ended: those left march on."""
    while lanes:
        batch = make_batch([lane.setup for lane in lanes], machine)
        found: dict[int, Got | HygroError] = {}
        while not found:
            found = {lane.place: result for lane, result in turn_of(lanes, partial(advance, batch))}
        lanes = [lane for lane in lanes if lane.place not in found]
        del batch
        yield from found.items()
