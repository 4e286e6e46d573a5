"""When Ctrl-C, TERM and HUP are heard: not while workers start or end, nor while a file is written.

How they are held back stands in `weather`, whose files need it too.
"""

from __future__ import annotations

from collections.abc import Collection
from concurrent.futures import FIRST_COMPLETED, Future, wait
from typing import TypeVar

from weather.interrupts import ENDING, interrupt_later

__all__ = ["ENDING", "ended_of", "interrupt_later"]

Result = TypeVar("Result")

GLANCE = 0.2
"""Longest time for which tasks are waited for before Ctrl-C is heard. [s]"""


def ended_of(running: Collection[Future[Result]]) -> set[Future[Result]]:
    """Wait a little for some of what runs, and return what has ended.

    Ctrl-C is held back meanwhile: it could leave a lock closed that whoever does the tasks needs.
    """
    with interrupt_later():
        done, _ = wait(running, timeout=GLANCE, return_when=FIRST_COMPLETED)
    return done
