"""Runs of a study on a graphics card: thousands at a time, their rows as they end.

Owns how many are put together, and that whoever asked is heard while the card works.
"""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import replace
from functools import partial
from itertools import chain, islice

from hygro.decide.rate import Row
from hygro.decide.work import Shared, Task, rows_of

AT_ONCE = 65536
"""Runs that are laid out together; `hygro.solve.card` says how many of them march at a time."""
PATIENCE = 1.0
"""Time between two calls of `tick` while nothing ends. [s]"""


def on_card(
    shared: Shared, batches: Iterator[tuple[Task, ...]], tick: Callable[[], None]
) -> Iterator[list[Row]]:
    """Do the runs of all batches on a card; a `hygro.decide.runner.Pool`.

    Raises
    ------
    InputError
        No card answers, or its package is missing.
    """
    tasks = chain.from_iterable(batches)
    while some := tuple(islice(tasks, AT_ONCE)):
        yield from _heard(partial(_timed, shared, some), tick)


def _timed(shared: Shared, tasks: Sequence[Task]) -> Iterator[Row]:
    """Rows with the time since the one before: runs that end together come at once."""
    since = time.perf_counter()
    for row in rows_of(shared, tasks, "gpu"):
        now = time.perf_counter()
        yield replace(row, seconds=now - since)
        since = now


def _heard(rows: Callable[[], Iterator[Row]], tick: Callable[[], None]) -> Iterator[list[Row]]:
    """Rows that a thread of its own makes; `tick` is called here, where the store is open."""
    made: queue.Queue[Row | BaseException | None] = queue.Queue(1)
    stop = threading.Event()

    def put(item: Row | BaseException | None) -> None:
        while not stop.is_set():
            with suppress(queue.Full):
                made.put(item, timeout=0.1)
                return

    def work() -> None:
        found = rows()
        try:
            for row in found:
                put(row)
                if stop.is_set():
                    found.close()  # type: ignore[attr-defined]
                    return
            put(None)
        except BaseException as error:  # noqa: BLE001 - raised again where it is waited for
            put(error)

    worker = threading.Thread(target=work, daemon=True)
    worker.start()
    try:
        while True:
            tick()
            try:
                item = made.get(timeout=PATIENCE)
            except queue.Empty:
                continue
            if item is None:
                return
            if isinstance(item, BaseException):
                raise item
            yield [item]
    finally:
        stop.set()
        worker.join()
