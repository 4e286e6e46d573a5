"""Many walls side by side: any of them share lanes, groups of lanes share the cores.

Owns which walls go together and in which order; knows nothing of the march.
"""

from __future__ import annotations

import os
import queue
import threading
from collections import deque
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from contextlib import suppress
from functools import partial
from typing import TYPE_CHECKING, Generic, NamedTuple, TypeVar

import numpy as np

from hygro.errors import HygroError, InputError
from hygro.solve.lanes import WIDTH
from hygro.solve.march import Job, Progress, go_on, whole
from hygro.solve.periodic import Cycle, periodic
from hygro.solve.rooms import Memory
from hygro.solve.settings import Settings
from hygro.solve.setup import Checkpoint, Run, Setup, begin, prepare
from hygro.solve.structure import Structure, structure
from hygro.solve.turn import Turn, advance, make_batch
from hygro.wall.grid import build_grid
from hygro.wall.loads import Loads
from hygro.wall.wall import Wall

if TYPE_CHECKING:
    from hygro.solve.card.arena import Arena

Case = tuple[Wall, Loads]
Result = Run | HygroError
PeriodicResult = tuple[Run, Cycle] | HygroError
Got = TypeVar("Got")
Item = TypeVar("Item")
Start = Callable[[Setup, Progress], Job[Got]]
"""Makes the job of a wall."""
Told = Callable[[int, float, np.datetime64], None]
"""Called with the place of a case, the fraction done and the date reached."""
PRICE = 3.4
"""What walls in lanes cost, few or many, in walls one by one: 2.9 to 3.4 where they are alike,
3.4 to 4.2 in unlike climates, 4.9 where all walls differ (measured)."""
WORTH = 4
"""Walls from which on lanes pay."""
DEVICES = ("cpu", "gpu")
"""What walls can march on: the processor, or a graphics card (`hygro.solve.card`)."""
Steps = Callable[[Sequence[Checkpoint]], Iterator[Turn]]
"""Some hours of every wall from where it stands."""


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


class Lane(Generic[Got]):
    """A wall on its way: where it stands in the cases, and from where it wants to go on."""

    def __init__(self, place: int, setup: Setup, job: Job[Got]) -> None:
        self.place, self.setup, self.job = place, setup, job
        self.point: Checkpoint = next(job)

    def go_on(self, turn: Turn) -> None:
        """Give the wall its hours, or the error that stopped it; StopIteration has its result."""
        self.point = go_on(self.job, turn)


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


def share(count: int, groups: int) -> int:
    """How many of some walls one group takes: no more than the others will."""
    return min(WIDTH, -(-count // groups))


def grouped(walls: Sequence[Item]) -> list[list[Item]]:
    """Walls together where lanes pay, else one by one."""
    return [list(walls)] if len(walls) >= WORTH else [[wall] for wall in walls]


def portions(places: Sequence[int], groups: int) -> Iterator[Sequence[int]]:
    """Walls in tasks for some workers: in lanes, or one by one where too few are left."""
    first = 0
    while first < len(places):
        size = share(len(places) - first, groups)
        for _ in range(groups):
            part = places[first : first + size]
            first += len(part)
            yield from grouped(part)


class Placed(NamedTuple):
    """A wall by its place, its company and its structure; without a grid it has neither."""

    place: int
    company: Hashable
    key: Hashable
    cells: int


def order(walls: Sequence[Wall], settings: Settings) -> list[Placed]:
    """Walls in the order in which they take lanes: by company, then by size and structure."""
    placed = []
    for k, wall in enumerate(walls):
        found = outline(wall, settings)
        if found is None:
            placed.append(Placed(k, "none", k, 0))
        else:
            placed.append(Placed(k, found.company(), found.key(), len(found.face)))
    return sorted(placed, key=lambda x: (repr(x.company), x.cells, repr(x.key)))


def outline(wall: Wall, settings: Settings) -> Structure | None:
    """Structure of a wall on its grid, if it has one."""
    try:
        return structure(wall, build_grid(wall, settings.accuracy, parts=settings.parts), settings)
    except HygroError:
        return None


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
    if threads is not None and threads < 1:
        raise InputError(f"threads = {threads}: must be at least 1")
    check_device(device)
    cases, settings = list(cases), settings or Settings()
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

    def work() -> None:
        try:
            for item in march(tell):
                put(item)
            put(None)
        except _Stopped:
            pass
        except BaseException as error:  # noqa: BLE001 - raised again where it is waited for
            put(error)

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
            batches = [(part, _steps([x.setup for x in part])) for part in grouped(lanes)]
        ended = [found for part, steps in batches for found in turn_of(part, steps)]
        for lane, result in ended:
            lanes.remove(lane)
            batches = []
            yield lane.place, result


def start_lanes(
    places: Sequence[int],
    cases: Sequence[Case],
    settings: Settings,
    start: Start[Got],
    tell: Told,
    lanes: list[Lane[Got]],
    laid: Callable[[Wall, Loads, Settings], Setup] = prepare,
) -> Iterator[tuple[int, HygroError]]:
    """Put walls on their way among `lanes`; yields those that cannot start."""
    for place in places:
        try:
            setup = laid(*cases[place], settings)
            lanes.append(Lane(place, setup, start(setup, partial(tell, place))))
        except HygroError as error:
            yield place, error


def _steps(setups: Sequence[Setup]) -> Steps:
    return partial(advance, make_batch(setups))


def turn_of(
    lanes: Sequence[Lane[Got]], steps: Steps
) -> Iterator[tuple[Lane[Got], Got | HygroError]]:
    """Some hours of every lane; yields those that have ended, with what came out."""
    for lane, turn in zip(lanes, steps([lane.point for lane in lanes]), strict=True):
        yield from ((lane, result) for result in ended(lane, turn))


def ended(lane: Lane[Got], turn: Turn) -> Iterator[Got | HygroError]:
    """Give a wall its hours; yields what came out where it has ended."""
    try:
        lane.go_on(turn)
    except StopIteration as end:
        yield end.value
    except HygroError as error:
        yield error
