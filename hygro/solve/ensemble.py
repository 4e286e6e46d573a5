"""Many walls side by side: those of one structure share lanes, batches share the cores.

Owns which walls go together and in which order; knows nothing of the march.
"""

from __future__ import annotations

import os
import threading
from collections import defaultdict, deque
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from functools import partial
from typing import TypeVar

import numpy as np

from hygro.errors import HygroError, InputError, SolveError
from hygro.solve.lanes import WIDTH
from hygro.solve.march import (
    Batch,
    Checkpoint,
    Progress,
    Run,
    Setup,
    begin,
    make_batch,
    prepare,
    run_batch,
)
from hygro.solve.periodic import Cycle, run_batch_periodic
from hygro.solve.problem import structure
from hygro.solve.settings import Settings
from hygro.wall.grid import build_grid
from hygro.wall.loads import Loads
from hygro.wall.wall import Wall

Case = tuple[Wall, Loads]
Result = Run | HygroError
PeriodicResult = tuple[Run, Cycle] | HygroError
Got = TypeVar("Got")
Work = Callable[[Batch, list[Checkpoint], Progress], list[Got | SolveError]]
"""What is done with a batch from its start."""
Told = Callable[[int, float, np.datetime64], None]
"""Called with the place of a case, the fraction done and the date reached."""
PRICE = 3.4
"""What a batch in lanes costs, full or not, in walls one by one: 2.9 to 3.4 where they are alike,
3.4 to 4.2 in unlike climates (measured)."""
WORTH = 4
"""Walls from which on lanes pay."""


class _Stopped(BaseException):
    """Ends a batch that nobody waits for; never leaves this file."""


def run_many(
    cases: Iterable[Case],
    settings: Settings | None = None,
    *,
    threads: int | None = None,
    told: Told | None = None,
) -> Iterator[tuple[int, Result]]:
    """March many walls, those of one structure side by side; the same bits as `run` gives.

    Walls share lanes when their grids have as many cells, their layers, gaps and sheets
    stand in the same places, and their loads are equally long: one wall in many climates or rooms,
    with other materials, colours or starts, with its leaks or without. Another thickness may lay
    another number of cells.
    Fewer than `WORTH` alike run one by one. The whole results of a batch are held in memory.

    Parameters
    ----------
    cases : iterable of (Wall, Loads)
        What to run.
    threads : int, optional
        Batches at a time; all cores when absent.
    told : callable, optional
        See `Told`; called from other threads.

    Yields
    ------
    (int, Run or HygroError)
        Place in `cases` and result, as batches end. A wall that cannot start or go on gives its
        error and leaves the others be.

    Raises
    ------
    InputError
        threads is not a positive number.
    """
    yield from _batched(cases, settings, run_batch, threads, told)


def run_many_periodic(
    cases: Iterable[Case],
    settings: Settings | None = None,
    *,
    rounds: int | None = None,
    threads: int | None = None,
    told: Told | None = None,
) -> Iterator[tuple[int, PeriodicResult]]:
    """`run_many` for the periodic cycle of each wall; the same bits as `run_periodic` gives.

    A wall that is periodic waits for those beside it. Parameters and errors are those of
    `run_many`; `rounds` as in `run_periodic`.
    """

    def work(
        batch: Batch, points: list[Checkpoint], progress: Progress
    ) -> list[tuple[Run, Cycle] | SolveError]:
        return run_batch_periodic(batch, points, rounds=rounds, progress=progress)

    yield from _batched(cases, settings, work, threads, told)


def _batched(
    cases: Iterable[Case],
    settings: Settings | None,
    work: Work[Got],
    threads: int | None,
    told: Told | None,
) -> Iterator[tuple[int, Got | HygroError]]:
    if threads is not None and threads < 1:
        raise InputError(f"threads = {threads}: must be at least 1")
    cases, settings, count = list(cases), settings or Settings(), threads or os.cpu_count() or 1
    waiting = deque(b for places in _equally_long(cases, settings) for b in batches(places))
    tasks: dict[Future[list[Got | HygroError]], list[int]] = {}
    stop = threading.Event()

    def tell(places: Sequence[int], fraction: float, date: np.datetime64) -> None:
        if stop.is_set():
            raise _Stopped
        if told is not None:
            for k in places:
                told(k, fraction, date)

    with ThreadPoolExecutor(max_workers=count) as pool:
        try:
            # no more at a time than run or have just ended: results are large
            while waiting or tasks:
                while waiting and len(tasks) < count:
                    places = waiting.popleft()
                    some = [cases[k] for k in places]
                    task = pool.submit(_run_alike, some, settings, work, partial(tell, places))
                    tasks[task] = places
                done, _ = wait(tasks, return_when=FIRST_COMPLETED)
                for task in done:
                    yield from zip(tasks.pop(task), task.result(), strict=True)
        except BaseException:
            stop.set()
            raise


def alike(walls: Sequence[Wall], settings: Settings) -> list[list[int]]:
    """Places of walls that can share lanes; a wall without a grid stands alone."""
    groups: dict[Hashable, list[int]] = defaultdict(list)
    for k, wall in enumerate(walls):
        try:
            grid = build_grid(wall, settings.accuracy, parts=settings.parts)
            groups[structure(wall, grid, settings).key()].append(k)
        except HygroError:
            groups[k].append(k)
    return list(groups.values())


def batches(places: list[int]) -> Iterator[list[int]]:
    """A group in parts of `WIDTH`; what is left over runs one by one where lanes do not pay."""
    for first in range(0, len(places), WIDTH):
        part = places[first : first + WIDTH]
        yield from [part] if len(part) >= WORTH else ([k] for k in part)


def _equally_long(cases: Sequence[Case], settings: Settings) -> list[list[int]]:
    """Groups that are `alike`, by the hours of their loads."""
    parts: dict[Hashable, list[int]] = defaultdict(list)
    for number, places in enumerate(alike([wall for wall, _ in cases], settings)):
        for k in places:
            parts[number, cases[k][1].hours].append(k)
    return list(parts.values())


def _run_alike(
    cases: Sequence[Case],
    settings: Settings,
    work: Work[Got],
    tell: Progress,
) -> list[Got | HygroError]:
    """Run what can start, side by side; the others have their errors."""
    found: dict[int, Got | HygroError] = {}
    setups: dict[int, Setup] = {}
    points = []
    for k, (wall, loads) in enumerate(cases):
        try:
            setup = prepare(wall, loads, settings)
            points.append(begin(setup))
            setups[k] = setup
        except HygroError as error:
            found[k] = error

    if setups:
        results = work(make_batch(tuple(setups.values())), points, tell)
        found |= dict(zip(setups, results, strict=True))
    return [found[k] for k in range(len(cases))]
