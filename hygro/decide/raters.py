"""Processes that rate what a card marches: the results lie in memory that all of them read.

Owns what is handed over of a run that has ended, and what a process makes of it.
"""

from __future__ import annotations

import os
import queue
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future
from contextlib import contextmanager
from functools import partial
from typing import Any, NamedTuple

import numpy as np
from numpy.lib.stride_tricks import as_strided

from hygro.decide.work import How, Shared, Task, job_of, said
from hygro.errors import HygroError
from hygro.record import Marched
from hygro.record.given import given_loads
from hygro.solve.balance import split_ledger
from hygro.solve.card.arena import Arena, Place, arrays_at, free_here
from hygro.solve.columns import LEDGER
from hygro.solve.settings import Settings
from hygro.solve.setup import Chunk, Run
from hygro.study.processes import at_hand
from hygro.study.runs import Failure
from hygro.study.stages import Asked, Ended, Job, Rater
from hygro.types import Data
from hygro.wall.grid import Grid
from hygro.wall.loads import closed_loads
from hygro.wall.wall import Wall

Submit = Callable[["Handed"], Future[Any]]


class Handed(NamedTuple):
    """A run that has ended, as it goes to another process; its arrays lie at a place."""

    task: Task
    asked: Asked
    wall: Wall
    settings: Settings
    provenance: dict[str, object]
    grid: Grid
    closure: dict[str, float]
    counters: dict[str, int]
    place: Place


class Stopped(BaseException):
    """Ends a march that nobody waits for."""


@contextmanager
def raters(shared: Shared, count: int, stop: threading.Event) -> Iterator[How]:
    """Give what has runs marched on a card and rated by `count` processes; 1: by this one.

    What marches ends when `stop` is set.

    Raises
    ------
    SolveError
        A process ended before its run was rated.
    """

    def told(*_: object) -> None:
        if stop.is_set():
            raise Stopped

    if count < 2 or not hasattr(os, "memfd_create"):
        yield lambda *_: {"device": "gpu", "told": told}
        return
    arena = Arena(3 * free_here() // 4)
    with at_hand(_rated, shared, count) as submit:

        def how(tasks: Sequence[Task], jobs: Sequence[Job]) -> Data:
            rater = _by_others(submit, arena, tasks, jobs)
            return {"device": "gpu", "told": told, "arena": arena, "rater": rater}

        yield how


Found = queue.SimpleQueue[tuple[int, Any] | BaseException | int]
"""What is said of runs by their places; at the end how many there were, or an error."""


def _by_others(submit: Submit, arena: Arena, tasks: Sequence[Task], jobs: Sequence[Job]) -> Rater:
    """Hand runs over as they end, and take what is said of them as it comes."""

    def hand(ended: Iterator[Ended], found: Found) -> None:
        count = 0
        try:
            for k, went, asked in ended:
                count += 1
                if isinstance(went, HygroError):
                    found.put((k, Failure(jobs[k].run, str(went))))
                else:
                    handed = _handed(tasks[k], went, asked, arena)
                    submit(handed).add_done_callback(partial(_told, found, k, arena, handed.place))
            found.put(count)
        except BaseException as error:  # noqa: BLE001 - raised again where it is waited for
            found.put(error)

    def rater(ended: Iterator[Ended]) -> Iterator[tuple[int, Any]]:
        found: Found = queue.SimpleQueue()
        threading.Thread(target=hand, args=(ended, found), daemon=True).start()
        had, all_of_them = 0, -1
        while had != all_of_them:
            item = found.get()
            if isinstance(item, BaseException):
                raise item
            if isinstance(item, int):
                all_of_them = item
            else:
                had += 1
                yield item

    return rater


def _told(found: Found, k: int, arena: Arena, place: Place, future: Future[Any]) -> None:
    arena.was_read(place)
    try:
        found.put((k, future.result()))
    except BaseException as error:  # noqa: BLE001 - raised again where it is waited for
        found.put(error)


HELD = tuple(name for name in Chunk._fields if name not in ("first", "u", "ledger"))
"""Results that are handed over as they are."""


def _handed(task: Task, went: Marched, asked: Asked, arena: Arena) -> Handed:
    run = went.run
    first = run.ledger.energy_outside  # named columns are views of one table
    assert LEDGER["energy_outside"] == 0
    row = first.strides[0]
    ledger = as_strided(first, (len(first), row // first.itemsize), (row, first.itemsize))
    place = arena.place_of({**{name: getattr(run, name) for name in HELD}, "ledger": ledger})
    return Handed(
        task, asked, went.wall, went.settings, went.provenance, run.grid, run.closure,
        run.counters, place,
    )  # fmt: skip


def _rated(shared: Shared, _number: int, handed: Handed, _tell: object) -> Any:
    """What is said of a run, in a process of its own."""
    job = job_of(shared, handed.task)
    loads, _ = given_loads(handed.wall, job.climate, job.run.room)
    if "periodic_rounds" in handed.provenance:
        loads = closed_loads(loads)
    arrays = arrays_at(handed.place)
    ledger = split_ledger(arrays.pop("ledger"), len(handed.wall.gaps))
    run = Run(
        grid=handed.grid, u=np.empty((0, len(handed.grid.layer))), ledger=ledger,
        closure=handed.closure, counters=handed.counters, **arrays,
    )  # fmt: skip
    went = Marched(handed.wall, loads, handed.settings, run, handed.provenance)
    return said(shared, job, went, handed.asked)
