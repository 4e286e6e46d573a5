"""Many walls side by side: any of them share lanes, groups of lanes share the cores.

Owns how groups of lanes share the cores; knows nothing of the march.
"""

from __future__ import annotations

import os
import queue
import threading
import time
from collections import deque
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from contextlib import suppress
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from hygro.errors import HygroError, InputError, must_be
from hygro.solve.cores import spent_for_this
from hygro.solve.lane import Case, Got, Lane, Start, Steps, Told, start_lanes, steps_of, turn_of
from hygro.solve.lanes import WIDTH
from hygro.solve.march import Job, Progress, whole
from hygro.solve.order import grouped, order, share
from hygro.solve.periodic import Cycle, periodic
from hygro.solve.rooms import Memory
from hygro.solve.settings import Settings, settings_of
from hygro.solve.setup import Run, Setup, begin

if TYPE_CHECKING:
    from hygro.solve.card.arena import Arena

Result = Run | HygroError
PeriodicResult = tuple[Run, Cycle] | HygroError
DEVICES = ("cpu", "gpu")
"""What walls can march on: the processor, or a graphics card (`hygro.solve.card`)."""


class _Stopped(BaseException):
    """Ends what nobody waits for; never leaves this file."""


def run_many(
    cases: Iterable[Case],
    settings: Settings | None = None,
    *,
    threads: int | None = None,
    told: Told | None = None,
    device: str = "cpu",
    arena: Arena | None = None,
    memory: Memory = np.empty,
) -> Iterator[tuple[int, Result]]:
    """March many walls side by side; the same bits as `run` gives.

    Any walls share lanes, under loads of any length; where one ends, the next takes its lane. Only
    those with an imposed surface stay among themselves. Walls of one structure go together first:
    faces of another kind are worked out beside each other. Fewer than `WORTH` run one by one.
    Whole results are held in memory until they are taken.

    Parameters
    ----------
    cases : iterable of (Wall, Loads)
        What to run.
    threads : int, optional
        Groups of lanes at a time; all cores when absent.
    told : callable, optional
        See `Told`; called from other threads.
    device : {"cpu", "gpu"}
        March on the processor, or on all graphics cards that answer (`pip install "hygro[gpu]"`):
        walls of one structure at a time, as many as their results fit in half of the memory. They
        differ from those of the processor by less than 1e-6 K; see `docs/gpu.md`.
    arena : hygro.solve.card.arena.Arena, optional
        Where results of a card lie, for other processes to read.
    memory : callable, optional
        Gives room for the results of the processor; see `hygro.solve.rooms.Rooms`.

    Yields
    ------
    (int, Run or HygroError)
        Place in `cases` and result, as walls end. A wall that cannot start or go on gives its
        error and leaves the others be.

    Raises
    ------
    InputError
        threads is not a positive number; the device is unknown, or no card answers.
    """

    def start(setup: Setup, progress: Progress) -> Job[Run]:
        return whole(setup, begin(setup), progress, memory)

    yield from _many(cases, settings, start, threads, told, device, arena)


def run_many_periodic(
    cases: Iterable[Case],
    settings: Settings | None = None,
    *,
    rounds: int | None = None,
    threads: int | None = None,
    told: Told | None = None,
    device: str = "cpu",
    arena: Arena | None = None,
    memory: Memory = np.empty,
) -> Iterator[tuple[int, PeriodicResult]]:
    """`run_many` for the periodic cycle of each wall; the same bits as `run_periodic` gives.

    Parameters and errors are those of `run_many`; `rounds` as in `run_periodic`.
    """

    def start(setup: Setup, progress: Progress) -> Job[tuple[Run, Cycle]]:
        return periodic(setup, rounds=rounds, progress=progress, memory=memory)

    yield from _many(cases, settings, start, threads, told, device, arena)


class _Waiting:
    """Cases that wait for a lane, those of one structure beside each other."""

    def __init__(self, cases: Sequence[Case], settings: Settings, groups: int) -> None:
        self._left = deque(order([wall for wall, _ in cases], settings))
        self._groups, self._lock = groups, threading.Lock()
        self._first = [share(len(self._left), groups)] * groups

    def take(self, free: int, company: Hashable | None) -> list[int]:
        """Places of cases for lanes that are free: a fair share, of one company."""
        with self._lock:
            taken: list[int] = []
            fair = self._first.pop() if self._first else share(len(self._left), self._groups)
            most = min(free, fair, len(self._left))
            while len(taken) < most and company in (None, self._left[0].company):
                company = self._left[0].company
                taken.append(self._left.popleft().place)
            return taken


def check_device(device: str) -> None:
    """Raise `InputError` for a device that is none of `DEVICES`."""
    if device not in DEVICES:
        raise InputError(f"device = '{device}': must be one of: {', '.join(DEVICES)}")


def _many(
    cases: Iterable[Case],
    settings: Settings | None,
    start: Start[Got],
    threads: int | None,
    told: Told | None,
    device: str,
    arena: Arena | None,
) -> Iterator[tuple[int, Got | HygroError]]:
    must_be(threads, (int, type(None)), "threads", "a whole number of at least 1")
    if threads is not None and threads < 1:
        raise InputError(f"threads = {threads}: must be at least 1")
    check_device(device)
    cases, settings = list(cases), settings_of(settings)
    count, march = _march_on(device, cases, settings, start, threads, arena)
    stop = threading.Event()
    # no more than run or have just ended: results are large
    ended: queue.Queue[tuple[int, Got | HygroError] | BaseException | None] = queue.Queue(1)

    def tell(place: int, fraction: float, date: np.datetime64) -> None:
        if stop.is_set():
            raise _Stopped
        if told is not None:
            told(place, fraction, date)

    def put(item: tuple[int, Got | HygroError] | BaseException | None) -> None:
        while not stop.is_set():
            with suppress(queue.Full):
                ended.put(item, timeout=0.1)
                return

    spent: list[float] = []

    def work() -> None:
        try:
            for item in march(tell):
                put(item)
            put(None)
        except _Stopped:
            pass
        except BaseException as error:  # noqa: BLE001 - raised again where it is waited for
            put(error)
        finally:
            spent.append(time.thread_time())

    workers = [threading.Thread(target=work, daemon=True) for _ in range(count)]
    for worker in workers:
        worker.start()
    try:
        left = count
        while left:
            item = ended.get()
            if item is None:
                left -= 1
            elif isinstance(item, BaseException):
                raise item
            else:
                yield item
    finally:
        stop.set()
        for worker in workers:
            worker.join()
        spent_for_this(sum(spent))


def _march_on(
    device: str,
    cases: Sequence[Case],
    settings: Settings,
    start: Start[Got],
    threads: int | None,
    arena: Arena | None,
) -> tuple[int, Callable[[Told], Iterator[tuple[int, Got | HygroError]]]]:
    """How many groups there are, and what each does until no case is left."""
    if device == "cpu":
        groups = max(1, min(threads or os.cpu_count() or 1, len(cases)))
        waiting = _Waiting(cases, settings, groups)
        return groups, partial(side_by_side, cases, settings, waiting, start)
    # what a card needs is loaded only where one is asked for
    from hygro.solve.card.device import cards
    from hygro.solve.card.together import on_machines

    machines = cards()
    return len(machines), on_machines(cases, settings, start, machines, arena)


def side_by_side(
    cases: Sequence[Case],
    settings: Settings,
    waiting: _Waiting,
    start: Start[Got],
    tell: Told,
) -> Iterator[tuple[int, Got | HygroError]]:
    """March walls that wait in the lanes of one group until none is left."""
    lanes: list[Lane[Got]] = []
    batches: list[tuple[list[Lane[Got]], Steps]] = []
    while True:
        company = lanes[0].setup.part.structure.company() if lanes else None
        taken = waiting.take(WIDTH - len(lanes), company)
        yield from start_lanes(taken, cases, settings, start, tell, lanes)
        if not lanes:
            if taken:
                continue
            return
        if taken or not batches:
            batches = [(part, steps_of([x.setup for x in part])) for part in grouped(lanes)]
        ended = [found for part, steps in batches for found in turn_of(part, steps)]
        for lane, result in ended:
            lanes.remove(lane)
            batches = []
            yield lane.place, result
