"""Workers that may crash or hang: what they were at is then told, and another goes on."""

from __future__ import annotations

import json
import os
import queue
import select
import subprocess
import sys
import threading
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from tests.fuzz.items import PATIENCE

ROOT = Path(__file__).parents[2]
START = 1200.0
"""A worker that is not ready by then never will be: the first one compiles. [s]"""
Told = dict[str, Any]


class Worker:
    """A process that tries items one by one."""

    def __init__(self, seed: int, sound: Path) -> None:
        self._words = [sys.executable, "-m", "tests.fuzz.worker", str(seed), str(sound)]
        self._start()

    def _start(self) -> None:
        known = os.environ.get("PYTHONPATH", "").split(os.pathsep)
        path = {**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), *filter(None, known)])}
        self._process = subprocess.Popen(
            self._words, cwd=ROOT, env=path, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL, bufsize=0,
        )  # fmt: skip
        if self._answer(START) != b"ready\n":
            raise RuntimeError(f"a worker did not start: {' '.join(self._words)}")

    def _answer(self, seconds: float) -> bytes | None:
        """A line of the process; empty where it ended, None where nothing came in time."""
        out, line = self._process.stdout, b""
        assert out is not None
        while not line.endswith(b"\n"):
            if not select.select([out], [], [], seconds)[0]:
                return None
            part = out.read(65_536)
            if not part:
                return b""
            line += part
        return line

    def tried(self, kind: str, number: int) -> Told:
        """Outcome of an item; a process that crashes or hangs over it is replaced."""
        assert self._process.stdin is not None
        self._process.stdin.write(f"{kind} {number}\n".encode())
        answer = self._answer(PATIENCE)
        if answer:
            return json.loads(answer)
        self._process.kill()
        code = self._process.wait()
        what = "hangs" if answer is None else f"the process died, exit code {code}"
        self._start()
        return {"kind": kind, "number": number, "faults": [what]}

    def close(self) -> None:
        """End the process."""
        self._process.kill()
        self._process.wait()


def tried(items: Iterable[tuple[str, int]], seed: int, jobs: int, sound: Path) -> Iterator[Told]:
    """Outcomes of items as they come, from some workers at a time."""
    if not (listed := list(items)):
        return
    waiting, done = iter(listed), queue.SimpleQueue[Told | BaseException | None]()
    lock, stop = threading.Lock(), threading.Event()
    first = Worker(seed, sound)  # makes the files and compiles, before the others look for both

    def work(worker: Worker | None) -> None:
        try:
            mine = worker or Worker(seed, sound)
            while not stop.is_set():
                with lock:
                    item = next(waiting, None)
                if item is None:
                    break
                done.put(mine.tried(*item))
            mine.close()
            done.put(None)
        except BaseException as error:  # noqa: BLE001
            done.put(error)

    threads = [
        threading.Thread(target=work, args=(first if k == 0 else None,), daemon=True)
        for k in range(jobs)
    ]
    for thread in threads:
        thread.start()
    left = jobs
    try:
        while left:
            told = done.get()
            if isinstance(told, BaseException):
                raise told
            if told is None:
                left -= 1
            else:
                yield told
    finally:
        stop.set()
