"""Runs what is left of a plan and stores it: claim, batch, result, transaction."""

from __future__ import annotations

import os
import pickle
import tempfile
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from functools import partial
from itertools import chain, islice
from pathlib import Path
from typing import NamedTuple, Protocol

from hygro.decide.batches import Batcher
from hygro.decide.engine import engine_hash
from hygro.decide.on_card import on_card
from hygro.decide.plan import Plan, PlannedRun
from hygro.decide.rate import Row
from hygro.decide.store import Store
from hygro.decide.work import Shared, Task, batch_rows
from hygro.errors import InputError
from hygro.interrupts import ended_of
from hygro.solve.lanes import WIDTH
from hygro.study.ahead import compile_first
from hygro.study.processes import give_back_memory, streamed
from hygro.types import Data

SHARE = 16
"""A process claims this part of what is left at a time, so that another finds work beside it."""
CLAIMED = (64, 512)
"""Runs at a time at least, eight batches of eight: a claim takes some ms, its runs seconds. And at
most: they wait 90 s where a machine elsewhere ends."""
RENEWED = 20.0
"""Time after which a claim is renewed. [s]"""


class Progress(NamedTuple):
    """How far a run of a study is.

    Attributes
    ----------
    done, total : int
        Runs that differ.
    years : float
        Of one wall, computed in this call. [a]
    seconds : float
        Since its start. [s]
    made, failed : int
        Runs made in this call, and how many of them could not be done.
    damaged : int
        Stored results that were no longer as they had been stored, and are made again.
    """

    done: int
    total: int
    years: float
    seconds: float
    made: int
    failed: int
    damaged: int = 0

    @property
    def rate(self) -> float:
        """Wall-years per second."""
        return self.years / self.seconds if self.seconds > 0.0 else 0.0


class Pool(Protocol):
    """Whoever does batches: processes of this machine, or a cluster."""

    def __call__(
        self, shared: Shared, batches: Iterator[tuple[Task, ...]], tick: Callable[[], None]
    ) -> Iterator[list[Row]]:
        """Yield the rows of the batches as they end."""


def run_plan(
    plan: Plan,
    store: Store,
    *,
    processes: int | None = None,
    pool: Pool | None = None,
    keep: Path | None = None,
    progress: Callable[[Progress], None] | None = None,
) -> Progress:
    """Make the runs of a plan that the store does not hold, and store each as it ends.

    Parameters
    ----------
    plan : Plan
        All runs.
    store : Store
        Where results are, and where they go.
    processes : int, optional
        Processes that do the batches; 1 runs in this one. Left out: threads, one for each core,
        which need no guard of the main module but share one interpreter for the ratings. Both
        tell this process what memory to keep, see `give_back_memory`. Where the plan is for a
        graphics card they rate what it marches, one for each core where left out.
    pool : Pool, optional
        Who does the batches instead.
    keep : Path, optional
        Folder for the hourly records of the runs.
    progress : callable, optional
        Called after every batch.

    Raises
    ------
    SolveError
        A process ended before its batch was done; what was finished is kept.
    InputError
        The plan is for a graphics card, and there is none or a pool is given.
    """
    began, years, made, wrong = time.monotonic(), 0.0, 0, 0
    total, damaged = len(plan.distinct), store.forget_damaged(plan.distinct)
    there = store.finished(plan.distinct)
    left = [sha for sha in plan.distinct if sha not in there]
    done = total - len(left)

    def told() -> Progress:
        return Progress(done, total, years, time.monotonic() - began, made, wrong, damaged)

    chosen = _chosen(plan, pool, processes)
    renewed = time.monotonic()

    def tick() -> None:
        nonlocal renewed
        if time.monotonic() - renewed > RENEWED:
            renewed = time.monotonic()
            store.renew()

    if progress is not None:
        progress(told())
    try:
        with _shared(plan, keep, files=pool is None) as shared:
            while left:
                batches = Batcher(plan).batches(_claimed(plan, store, left))
                for rows in chosen(shared, batches, tick):
                    store.put(*rows)
                    done, made = done + len(rows), made + len(rows)
                    years += sum(row.years for row in rows)
                    wrong += sum(row.state != "done" for row in rows)
                    if progress is not None:
                        progress(told())
                finished = store.finished(left)
                left = [sha for sha in left if sha not in finished]
                done = total - len(left)
                if left:  # another process makes them
                    time.sleep(1.0)
                    tick()
                    if progress is not None:
                        progress(told())
    finally:
        store.release()
    return told()


def _claimed(plan: Plan, store: Store, left: list[str]) -> Iterator[PlannedRun]:
    """Yield what this process is to make, claimed some at a time."""
    first, (few, many) = 0, CLAIMED
    while first < len(left):
        size = min(max((len(left) - first) // SHARE, few), many)
        yield from (plan.distinct[sha] for sha in store.claim(left[first : first + size]))
        first += size


def _chosen(plan: Plan, pool: Pool | None, processes: int | None) -> Pool:
    """Who does the batches."""
    if plan.device == "cpu":
        return pool or _local(processes)
    if pool is not None:
        raise InputError("device = 'gpu': a cluster marches on processors; give one of the two")
    return partial(on_card, processes=processes or cores())


def cores() -> int:
    """Cores of this machine."""
    return os.cpu_count() or 1


def _local(processes: int | None) -> Pool:
    count = processes or cores()

    def pool(
        shared: Shared, batches: Iterator[tuple[Task, ...]], tick: Callable[[], None]
    ) -> Iterator[list[Row]]:
        if processes in (None, 1):
            give_back_memory()
        first = list(islice(batches, count)) if count > 1 else []
        if len(first) < 2:  # nothing to share out
            for batch in chain(first, batches):
                tick()
                yield batch_rows(shared, 0, batch, None)
            return
        items = chain(first, batches)
        if processes is None:
            yield from _in_threads(shared, items, count, tick)
            return
        how: Data = {
            "count": count, "tick": tick, "ready": "hygro.decide.ready",
            "first": partial(compile_first, [WIDTH]),
        }  # fmt: skip
        yield from (rows for _, rows in streamed(batch_rows, shared, items, **how))

    return pool


def _in_threads(
    shared: Shared, items: Iterator[tuple[Task, ...]], count: int, tick: Callable[[], None]
) -> Iterator[list[Row]]:
    with ThreadPoolExecutor(count) as threads:
        running = {threads.submit(batch_rows, shared, 0, x, None) for x in islice(items, count)}
        try:
            while running:
                done = ended_of(running)
                running -= done
                tick()
                for future in done:
                    running |= {
                        threads.submit(batch_rows, shared, 0, x, None) for x in islice(items, 1)
                    }
                    yield future.result()
        finally:
            for future in running:
                future.cancel()


@contextmanager
def _shared(plan: Plan, keep: Path | None, *, files: bool) -> Iterator[Shared]:
    """What workers need: the weather in files of a folder for a while, or as it is."""
    base = plan.base
    with tempfile.TemporaryDirectory(prefix="hygro-study-") as folder:
        climates = {}
        for sha, climate in plan.climates.items():
            place = Path(folder) / f"{sha}.pickle"
            if files:
                place.write_bytes(pickle.dumps(climate.data))
            climates[sha] = place if files else climate.data
        yield Shared(
            base.wall.name, base.given, base.judging, base.repeat, climates, keep, engine_hash()
        )
