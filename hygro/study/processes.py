"""Independent tasks in several processes or threads. Owns their start, end and Ctrl-C, no wall.

Processes begin without what this one holds, so a task is a function of a module, and what it gets
must pickle. Threads start at once and share one interpreter: for a few tasks that spend their time
in compiled code.
"""

from __future__ import annotations

import ctypes
import os
import signal
import threading
import time
from collections.abc import Callable, Collection, Iterator, Sequence
from concurrent.futures import (
    Future,
    ProcessPoolExecutor,
    ThreadPoolExecutor,
)
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from multiprocessing import parent_process
from multiprocessing.process import BaseProcess
from multiprocessing.queues import Queue
from queue import Empty
from typing import Any, TypeVar

from hygro.atomic import abandon
from hygro.errors import SolveError
from hygro.interrupts import ENDING, ended_of, interrupt_later
from hygro.study.origin import ENDED, await_origin, origin
from hygro.types import Data

M_TRIM_THRESHOLD, M_MMAP_THRESHOLD = -1, -3
"""Numbers of the options in malloc.h."""
LARGE, SPARE = 4_000_000, 32_000_000
"""Bytes from which an array is large, and of what is free that is kept for the next small ones."""
Shared = TypeVar("Shared")
Item = TypeVar("Item")
Result = TypeVar("Result")
TaskProgress = Callable[[int, float, str], None]
"""Called with the number of the task, the fraction done and a word, such as the date reached."""
Told = tuple[int, float, str]
Task = Callable[[Shared, int, Item, TaskProgress | None], Result]
"""Takes what is shared, the number of the item, the item, and whom to tell."""

GRACE = 1.0
"""Time a worker has to end before it is killed. [s]"""

_shared: Data = {}


def in_processes(
    task: Task[Shared, Item, Result],
    shared: Shared,
    items: Sequence[Item],
    *,
    progress: TaskProgress | None,
    count: int,
    first: Callable[[], None] | None = None,
) -> tuple[Result, ...]:
    """Do a task for every item in `count` processes and return the results in order.

    `first` is called before they start: what each of them would do for itself.

    Raises
    ------
    SolveError
        A process ended before its task was done.
    """
    with _pool(task, shared, count, first=first) as (pool, queue):
        futures = [_begun(pool, i, item) for i, item in enumerate(items)]
        _watch(pool, futures, queue, progress)
        return tuple(future.result() for future in futures)


def streamed(
    task: Task[Shared, Item, Result],
    shared: Shared,
    items: Iterator[Item],
    *,
    count: int,
    tick: Callable[[], None] | None = None,
    ready: str | None = None,
    first: Callable[[], None] | None = None,
) -> Iterator[tuple[Item, Result]]:
    """Do a task for every item in `count` processes and yield items and results as they end.

    Items are taken when there is a process for them, so there may be any number. `tick` is called
    some times a second. `ready` names a module that reads what workers need where they can share
    it. `first` as in `in_processes`.

    Raises
    ------
    SolveError
        A process ended before its task was done.
    """
    running: dict[Future[Any], Item] = {}
    with _pool(task, shared, count, ready, first) as (pool, _queue):
        for number in range(count + 1):  # one waits, so that no process does
            _submit(pool, running, items, number)
        while running:
            done = _ended(pool, running)
            if tick is not None:
                tick()
            for future in done:
                item, result = running.pop(future), future.result()
                _submit(pool, running, items, 0)
                yield item, result


@contextmanager
def at_hand(
    task: Task[Shared, Item, Result], shared: Shared, count: int
) -> Iterator[Callable[[Item], Future[Result]]]:
    """Give what has a task done for an item by one of `count` processes.

    Raises
    ------
    SolveError
        A process ended before its task was done.
    """
    with _pool(task, shared, count) as (pool, _queue):
        yield lambda item: _begun(pool, 0, item)


@contextmanager
def _pool(
    task: Task[Shared, Item, Result],
    shared: Shared,
    count: int,
    ready: str | None = None,
    first: Callable[[], None] | None = None,
) -> Iterator[tuple[ProcessPoolExecutor, Queue[Told]]]:
    """Workers and what they tell; stopped at once when anything goes wrong."""
    context = origin(ready or task.__module__)
    if first is not None:
        first()  # beside the origin, which is importing
    queue: Queue[Told] = context.Queue()
    pool = ProcessPoolExecutor(count, context, initializer=_start, initargs=(task, shared, queue))
    try:
        yield pool, queue
    except BrokenProcessPool as error:
        _stop(pool)
        raise SolveError(ENDED) from error
    except BaseException:
        _stop(pool)
        raise
    pool.shutdown()


def _submit(
    pool: ProcessPoolExecutor, running: dict[Future[Any], Any], items: Iterator[Any], number: int
) -> None:
    for item in items:
        running[_begun(pool, number, item)] = item
        return


def _begun(pool: ProcessPoolExecutor, number: int, item: Any) -> Future[Any]:
    await_origin()
    with interrupt_later():
        try:
            return pool.submit(_work, number, item)
        except (EOFError, ConnectionError) as error:
            raise BrokenProcessPool(ENDED) from error


def _ended(pool: ProcessPoolExecutor, running: Collection[Future[Any]]) -> set[Future[Any]]:
    """Wait a little for some of what runs, and return what has ended.

    Raises
    ------
    BrokenProcessPool
        A process has ended. The pool itself does not see it while it reads what that process was
        writing, which has no end.
    """
    done = ended_of(running)
    if not done and any(worker.exitcode is not None for worker in _workers(pool)):
        raise BrokenProcessPool(ENDED)
    return done


def _workers(pool: ProcessPoolExecutor) -> list[BaseProcess]:
    return list((pool._processes or {}).values())


class _Stopped(BaseException):
    """Ends a task in a thread; never leaves this file."""


def in_threads(
    task: Task[Shared, Item, Result],
    shared: Shared,
    items: Sequence[Item],
    *,
    progress: TaskProgress | None,
    count: int | None = None,
) -> tuple[Result, ...]:
    """Do a task for every item in `count` threads (default: one each); results in order.

    On Ctrl-C, or when one raises, the others end the next time they tell their progress.
    """
    stop = threading.Event()

    def tell(number: int, fraction: float, word: str) -> None:
        if stop.is_set():
            raise _Stopped
        if progress is not None:
            progress(number, fraction, word)

    with ThreadPoolExecutor(count or len(items)) as pool:
        futures = [pool.submit(task, shared, i, item, tell) for i, item in enumerate(items)]
        try:
            pending = set(futures)
            while pending:
                done = ended_of(pending)
                pending -= done
                for future in done:
                    future.result()
        except BaseException:
            stop.set()
            for future in futures:
                future.cancel()
            raise
    return tuple(future.result() for future in futures)


def _start(task: Task[Shared, Item, Result], shared: Shared, queue: Queue[Told]) -> None:
    """Prepare a worker: what all tasks share, and its end with or by the parent.

    Ctrl-C and HUP reach a whole process group; the parent answers them.
    """
    for name in ("SIGINT", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.SIG_IGN)
    signal.signal(signal.SIGTERM, _leave)
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_UNBLOCK, ENDING)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    give_back_memory()
    _shared.update(task=task, shared=shared, queue=queue)


def give_back_memory() -> None:
    """Let the GNU C library give large arrays back to the system as they end, and small ones not.

    Left to itself it keeps the large from the second run on. Told so much, it would ask for the
    pages of every small one anew. Elsewhere nothing happens.
    """
    with suppress(OSError, AttributeError):
        library = ctypes.CDLL(None)
        library.mallopt(M_MMAP_THRESHOLD, LARGE)
        library.mallopt(M_TRIM_THRESHOLD, SPARE)


def _end_with_parent() -> None:
    """Wait for the parent to end, however that happens, and end too."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        _leave()


def _leave(*_: object) -> None:
    abandon()
    os._exit(1)


def _work(number: int, item: Item) -> Any:
    last: dict[int, float] = {}

    def tell(index: int, fraction: float, word: str) -> None:
        if fraction - last.get(index, -1.0) >= 0.02 or fraction >= 1.0:
            last[index] = fraction
            _shared["queue"].put((index, fraction, word))

    return _shared["task"](_shared["shared"], number, item, tell)


def _stop(pool: ProcessPoolExecutor) -> None:
    """End the workers now: asked first, so that they remove their scraps, then killed.

    The thread of the pool may be reading a result that was cut off. It sees that no more comes when
    nobody can write any more, which this process could too.
    """
    with interrupt_later():
        inside: Any = pool
        workers, results = inside._processes, inside._result_queue
        thread = inside._executor_manager_thread
        pool.shutdown(wait=False, cancel_futures=True)  # none begins from here on
        _end(list(workers.values()))
        results._writer.close()
        if thread is not None:
            thread.join()


def _end(workers: Sequence[BaseProcess]) -> None:
    for worker in workers:
        worker.terminate()
    deadline = time.monotonic() + GRACE
    for worker in workers:
        worker.join(max(0.0, deadline - time.monotonic()))
        worker.kill()


def _watch(
    pool: ProcessPoolExecutor,
    futures: Sequence[Future[Result]],
    queue: Queue[Told],
    progress: TaskProgress | None,
) -> None:
    """Pass progress on until all tasks are done or one raises."""
    pending = set(futures)
    while pending:
        done = _ended(pool, pending)
        pending -= done
        for item in _drain(queue):
            if progress is not None:
                progress(*item)
        for future in done:
            future.result()


def _drain(queue: Queue[Told]) -> Iterator[Told]:
    while True:
        try:
            yield queue.get_nowait()
        except Empty:
            return
