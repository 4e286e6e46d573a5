"""From walls and their loads to the raw results of runs, in chunks that can be resumed.

A run is a pure function of (wall, loads, settings): the chunks have fixed ends, so a run that was
interrupted and resumed leaves the same bits; lanes share nothing, so a wall that ran beside others
does too.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Generator, Iterator
from typing import TypeVar

import numpy as np

from hygro.errors import SolveError
from hygro.solve.balance import split_ledger
from hygro.solve.rooms import Memory
from hygro.solve.settings import Settings
from hygro.solve.setup import (
    INSTANTS,
    Array,
    Checkpoint,
    Chunk,
    Own,
    Run,
    Setup,
    balance,
    begin,
    counters_of,
    prepare,
    shape_of,
)
from hygro.solve.turn import Turn, advance, make_batch
from hygro.wall.loads import Loads
from hygro.wall.wall import Wall

Progress = Callable[[float, np.datetime64], None]
Got = TypeVar("Got")
Job = Generator[Checkpoint, tuple[Chunk, Checkpoint], Got]
"""A wall on its way: it says from which checkpoint it wants to go on, is sent the hours that follow
and returns its result. Errors of the march are thrown into it."""


def chunks(setup: Setup, start: Checkpoint | None = None) -> Iterator[tuple[Chunk, Checkpoint]]:
    """March from a checkpoint to the end, giving every chunk with the checkpoint after it.

    Raises
    ------
    SolveError
        The step fell below `min_step`: names date, layer, depth, step and what to try.
    """
    point = start or begin(setup)
    batch = make_batch((setup,))
    while point.hour < setup.loads.hours:
        (turn,) = advance(batch, [point])
        if isinstance(turn, SolveError):
            raise turn
        chunk, point = turn
        held = {name: getattr(chunk, name).copy() for name in Chunk._fields[1:]}
        yield chunk._replace(**held), point


def run(
    wall: Wall,
    loads: Loads,
    settings: Settings | None = None,
    *,
    cells: dict[str, Array] | None = None,
    progress: Progress | None = None,
) -> Run:
    """March a wall through its loads; see `chunks` for errors."""
    return run_from(prepare(wall, loads, settings, cells=cells), None, progress=progress)


def run_from(setup: Setup, start: Checkpoint | None, *, progress: Progress | None = None) -> Run:
    """March from a checkpoint, or from the initial state, to the end; see `chunks` for errors."""
    return alone(setup, whole(setup, start or begin(setup), progress))


def alone(setup: Setup, job: Job[Got]) -> Got:
    """Do a job with no other beside it."""
    batch = make_batch((setup,))
    try:
        point = next(job)
        while True:
            (turn,) = advance(batch, [point])
            point = go_on(job, turn)
    except StopIteration as end:
        return end.value


def go_on(job: Job[Got], turn: Turn) -> Checkpoint:
    """Give a wall its hours, or the error that stopped it; its result comes as StopIteration."""
    return job.throw(turn) if isinstance(turn, SolveError) else job.send(turn)


def whole(
    setup: Setup,
    point: Checkpoint,
    progress: Progress | None = None,
    memory: Memory = np.empty,
) -> Job[Run]:
    """The job of a run from a checkpoint to the end; `memory` gives room for its results."""
    loads, first = setup.loads, point.hour
    room: Chunk | None = None
    while point.hour < loads.hours:
        chunk, end = yield point
        if isinstance(chunk, Own):
            room = chunk
        else:
            room = room or _empty(setup, first, loads.hours, memory)
            _copy(chunk, room, point.hour - first)
        point = end
        if progress is not None:
            progress(point.hour / loads.hours, loads.time[point.hour])
    return _whole(setup, room or _empty(setup, first, loads.hours, memory), point)


def _empty(setup: Setup, first: int, last: int, memory: Memory) -> Chunk:
    """Room for the results of some hours, in one block: it is asked of the system once."""
    shapes = [shape_of(setup, last - first, name) for name in Chunk._fields[1:]]
    ends = np.cumsum([math.prod(shape) for shape in shapes])
    parts = np.split(memory(int(ends[-1])), ends[:-1])
    return Chunk(first, *(x.reshape(shape) for x, shape in zip(parts, shapes, strict=True)))


def _copy(part: Chunk, room: Chunk, row: int) -> None:
    """Some hours into a longer chunk, from its hour `row` on.

    An instant that two pieces share keeps the values of the first.
    """
    for name in Chunk._fields[1:]:
        values = getattr(part, name)
        skip = int(row > 0 and name in INSTANTS)
        getattr(room, name)[row + skip : row + len(values)] = values[skip:]


def join_chunks(parts: list[Chunk]) -> Chunk:
    """Consecutive chunks as one; the instant between two stands once."""
    arrays = {
        name: np.concatenate(
            [getattr(p, name)[int(k > 0 and name in INSTANTS) :] for k, p in enumerate(parts)]
        )
        for name in Chunk._fields
        if name != "first"
    }
    return Chunk(first=parts[0].first, **arrays)


def _whole(setup: Setup, chunk: Chunk, point: Checkpoint) -> Run:
    arrays = chunk._asdict()
    del arrays["first"]
    ledger = split_ledger(arrays.pop("ledger"), len(setup.wall.gaps))
    return Run(
        grid=setup.grid,
        ledger=ledger,
        closure=balance(setup, point),
        counters=counters_of(point),
        **arrays,
    )
