"""Signals of the processes that tests start."""

from __future__ import annotations

import signal


def heed_interrupts() -> None:
    """Take Ctrl-C as from a terminal: a shell starts its background jobs with it ignored."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)
