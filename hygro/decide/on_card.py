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
from hygro.decide.raters import raters
from hygro.decide.work import How, Shared, Task, rows_of

AT_ONCE = 65536
"""Runs that are laid out together; `hygro.solve.card` says how many of them march at a time."""
TOGETHER = 256
"""Rows that are stored in one transaction at most."""
Made = queue.Queue[Row | BaseException | None]
"""Rows, and what ended them: None, or an error."""
PATIENCE = 1.0
"""Longest time between two calls of `tick` while nothing ends. [s]"""


def on_card(
    shared: Shared,
    batches: Iterator[tuple[Task, ...]],
    tick: Callable[[], None],
    *,
    processes: int,
) -> Iterator[list[Row]]:
    """Do the runs of all batches on a card; a `hygro.decide.runner.Pool`.

    `processes` rate them.

    Raises
    ------
    InputError
        No card answers, or its package is missing.
    SolveError
        A process ended before its run was rated.
    """
    tasks, stop = chain.from_iterable(batches), threading.Event()
    with raters(shared, processes, stop) as how:
        while some := tuple(islice(tasks, AT_ONCE)):
            yield from _heard(partial(_timed, shared, some, how), tick, stop)


def _timed(shared: Shared, tasks: Sequence[Task], how: How) -> Iterator[Row]:
    """Rows with the time since the one before: runs that end together come at once."""
    since = time.perf_counter()
    for row in rows_of(shared, tasks, how):
        now = time.perf_counter()
        yield replace(row, seconds=now - since)
        since = now


def _heard(
    rows: Callable[[], Iterator[Row]], tick: Callable[[], None], stop: threading.Event
) -> Iterator[list[Row]]:
    """Rows that a thread of its own makes, together what is there together.

    `tick` is called here, where the store is open, while they are waited for.
    """
    made: Made = queue.Queue(TOGETHER)
    worker = threading.Thread(target=_make, args=(rows(), made, stop), daemon=True)
    worker.start()
    try:
        going = True
        while going:
            tick()
            some = _waiting(made)
            if found := [row for row in some if isinstance(row, Row)]:
                yield found
            going = len(found) == len(some)
        if isinstance(some[-1], BaseException):
            raise some[-1]
    except BaseException:
        stop.set()
        raise
    finally:
        worker.join()


def _waiting(made: Made) -> list[Row | BaseException | None]:
    """What has been made, the first of it waited for a while."""
    found: list[Row | BaseException | None] = []
    with suppress(queue.Empty):
        found.append(made.get(timeout=PATIENCE))
        while True:
            found.append(made.get_nowait())
    return found


def _make(rows: Iterator[Row], made: Made, stop: threading.Event) -> None:
    """Put rows, and what ended them: None, or an error."""

    def put(item: Row | BaseException | None) -> None:
        while not stop.is_set():
            with suppress(queue.Full):
                made.put(item, timeout=0.1)
                return

    try:
        for row in rows:
            put(row)
            if stop.is_set():
                return
        put(None)
    except BaseException as error:  # noqa: BLE001 - raised again where it is waited for
        put(error)
    finally:
        rows.close()  # type: ignore[attr-defined]
