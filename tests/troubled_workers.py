"""Workers that make trouble, and a command that has two of them: `TASK FOLDER`, as a script.

A worker leaves a file in the folder when its trouble begins. Owns no expected value.
"""

from __future__ import annotations

import os
import signal
import sys
import time
from concurrent.futures import _base
from itertools import repeat
from multiprocessing.connection import Connection
from pathlib import Path

from hygro.atomic import replacing
from hygro.errors import SolveError
from hygro.study.processes import TaskProgress, streamed

LONG = 600.0
"""Longer than any test waits. [s]"""


def deaf(folder: Path, *_: object) -> None:
    """Never come back, whoever asks."""
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    begun(folder)
    time.sleep(LONG)


def halfway(folder: Path, *_: object) -> bytes:
    """Write half of the result and no more, whoever asks."""
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    Connection._send = lambda self, *x: (half(self, *x), begun(folder), time.sleep(LONG))  # type: ignore[attr-defined, func-returns-value]
    return bytes(1000)


def cut(folder: Path, *_: object) -> bytes:
    """Write half of the result and end."""
    Connection._send = lambda self, *x: (half(self, *x), os._exit(1))  # type: ignore[attr-defined]
    return bytes(1000)


def half(pipe: Connection, data: bytes, *_: object) -> None:
    os.write(pipe.fileno(), bytes(data)[: len(data) // 2])


def filing(folder: Path, *_: object) -> None:
    """Never come to the end of a file."""
    with replacing(folder / "result.nc"):
        begun(folder)
        time.sleep(LONG)


def quick(_folder: Path, number: int, _item: object, _tell: TaskProgress | None) -> int:
    """Make no trouble."""
    return number


def begun(folder: Path) -> None:
    (folder / str(os.getpid())).touch()


def interrupt_with_locks_closed() -> None:
    """Let Ctrl-C come when the third time all futures are locked to be waited for."""
    enter, count = _base._AcquireFutures.__enter__, 0  # type: ignore[attr-defined]

    def closed(self: object) -> None:
        nonlocal count
        enter(self)
        count += 1
        if count == 3:
            signal.raise_signal(signal.SIGINT)

    _base._AcquireFutures.__enter__ = closed  # type: ignore[attr-defined]


def main(word: str, folder: Path) -> int:
    """Have two workers do a task again and again; the exit code says how that ended."""
    if word == "locked":
        interrupt_with_locks_closed()
    task = {"deaf": deaf, "halfway": halfway, "cut": cut, "filing": filing}.get(word, quick)
    ready = "slow_to_import" if word == "slow" else None
    try:
        for _ in streamed(task, folder, repeat(0), count=2, ready=ready):
            pass
    except KeyboardInterrupt:
        return 130
    except SolveError as error:
        sys.stdout.write(str(error))
        return 2
    return 0


if __name__ == "__main__":
    for number in (signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, signal.default_int_handler)  # as commands have it
    sys.exit(main(sys.argv[1], Path(sys.argv[2])))
