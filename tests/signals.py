"""Signals of the processes that tests start."""

from __future__ import annotations

import signal


def heed_interrupts() -> None:
    """Take signals as from a terminal: a shell starts its background jobs with Ctrl-C ignored.

    So does `nohup` with HUP. A process inherits that, and goes on as if no signal had come.
    """
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, signal.SIG_DFL)
