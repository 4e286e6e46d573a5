"""When Ctrl-C, TERM and HUP are heard: not with a lock of the library of datasets closed.

That library closes a lock for each array it writes or reads. An interrupt that is raised between
there and here leaves it closed, and whoever ends the file waits for ever.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager

ENDING = [getattr(signal, n) for n in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, n)]


@contextmanager
def interrupt_later() -> Iterator[None]:
    """Hold Ctrl-C, TERM and HUP back for a moment, and raise the first that came anew.

    What starts meanwhile inherits that they are blocked, and leaves them to this process. The
    handler is needed beside it because another thread of this process may be given the signal.
    """
    if not _in_charge_of_signals():
        yield
        return
    came: list[int] = []
    numbers = [n for n in ENDING if callable(signal.getsignal(n))]
    handlers = {n: signal.signal(n, lambda number, _: came.append(number)) for n in numbers}
    before = signal.pthread_sigmask(signal.SIG_BLOCK, ENDING)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
        for number, handler in handlers.items():
            signal.signal(number, handler)
        for number in came[:1]:
            signal.raise_signal(number)


def _in_charge_of_signals() -> bool:
    is_main = threading.current_thread() is threading.main_thread()
    return is_main and hasattr(signal, "pthread_sigmask")
