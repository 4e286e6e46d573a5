"""Time that cores spend for a thread: its own, and that of the threads that march for it."""

from __future__ import annotations

import threading
import time

_marched = threading.local()


def core_time() -> float:
    """Processor time of this thread and of those that have marched for it. [s]"""
    return time.thread_time() + _others()


def spent_for_this(seconds: float) -> None:
    """Count what a thread that marched for this one has spent. [s]"""
    _marched.seconds = _others() + seconds


def _others() -> float:
    found: float = getattr(_marched, "seconds", 0.0)
    return found
