"""Many walls side by side: those of one structure share lanes, batches share the cores.

Owns which walls go together and in which order; knows nothing of the march.
"""

from __future__ import annotations

import os
from collections import defaultdict, deque
from collections.abc import Hashable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait

from hygro.errors import SolveError
from hygro.solve.lanes import WIDTH
from hygro.solve.march import Run, begin, make_batch, prepare, run_batch
from hygro.solve.problem import structure
from hygro.solve.settings import Settings
from hygro.wall.assembly import Wall
from hygro.wall.grid import build_grid
from hygro.wall.loads import Loads


def run_many(
    cases: Sequence[tuple[Wall, Loads]],
    settings: Settings | None = None,
    *,
    threads: int | None = None,
) -> Iterator[tuple[int, Run | SolveError]]:
    """March many walls, those of one structure side by side; the same bits as `run` gives.

    Walls share lanes when their grids have as many cells, their layers, gaps and sheets stand in
    the same places, and their loads are equally long: variants of one wall, or one wall in many
    climates. Others run by themselves.

    Parameters
    ----------
    cases : sequence of (Wall, Loads)
        What to run.
    threads : int, optional
        Batches at a time; all cores when absent.

    Yields
    ------
    (int, Run or SolveError)
        Place in `cases` and result, as batches end. A wall that cannot go on leaves the others be.

    Raises
    ------
    InputError
        A wall cannot start as it is described.
    """
    settings, count = settings or Settings(), threads or os.cpu_count() or 1
    waiting = deque(b for places in _alike(cases, settings) for b in _batches(places))
    tasks: dict[Future[list[Run | SolveError]], list[int]] = {}
    with ThreadPoolExecutor(max_workers=count) as pool:
        # no more at a time than run or have just ended: results are large
        while waiting or tasks:
            while waiting and len(tasks) < count:
                places = waiting.popleft()
                task = pool.submit(_run_alike, [cases[k] for k in places], settings)
                tasks[task] = places
            done, _ = wait(tasks, return_when=FIRST_COMPLETED)
            for task in done:
                yield from zip(tasks.pop(task), task.result(), strict=True)


def _alike(cases: Sequence[tuple[Wall, Loads]], settings: Settings) -> list[list[int]]:
    """Places of cases that can share lanes."""
    groups: dict[Hashable, list[int]] = defaultdict(list)
    for k, (wall, loads) in enumerate(cases):
        grid = build_grid(wall, settings.accuracy)
        groups[structure(wall, grid, settings).key(), loads.hours].append(k)
    return list(groups.values())


def _batches(places: list[int]) -> Iterator[list[int]]:
    """A group in parts of `WIDTH`; one that is left over runs by itself."""
    for first in range(0, len(places), WIDTH):
        yield places[first : first + WIDTH]


def _run_alike(cases: Sequence[tuple[Wall, Loads]], settings: Settings) -> list[Run | SolveError]:
    setups = tuple(prepare(wall, loads, settings) for wall, loads in cases)
    return run_batch(make_batch(setups), [begin(setup) for setup in setups])
