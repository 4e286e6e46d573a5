"""What a study costs: processor time of all its processes, and their memory at its highest."""

from __future__ import annotations

import os
import threading
import time
from pathlib import Path
from types import TracebackType

CORES = os.cpu_count() or 1
EVERY = 0.25
"""Time between two looks at the memory. [s]"""


class Meter:
    """Measures while it is entered; looking at the memory takes a per cent of the time or two.

    Attributes
    ----------
    used : float
        Processor time of this process and of all below it. [s]
    lasted : float
        By the clock. [s]
    memory, shared_once : float
        Highest sum over these processes: of what each holds, and with what several hold counted
        once (the libraries). 0 where the system does not tell. [GB]
    """

    used = lasted = memory = shared_once = 0.0

    def __init__(self, *, memory: bool = True) -> None:
        self._memory = memory

    def __enter__(self) -> Meter:
        self._began, self._cpu = time.perf_counter(), _cpu()
        self._done = threading.Event()
        self._watch = threading.Thread(target=self._look, daemon=True)
        if self._memory:
            self._watch.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None,
        where: TracebackType | None,
    ) -> None:  # fmt: skip
        self._done.set()
        if self._memory:
            self._watch.join()
        self.used, self.lasted = _cpu() - self._cpu, time.perf_counter() - self._began

    def _look(self) -> None:
        while not self._done.wait(EVERY):
            each = [_memory(number) for number in _family()]
            self.memory = max(self.memory, sum(rss for rss, _ in each))
            self.shared_once = max(self.shared_once, sum(pss for _, pss in each))

    def told(self, years: float) -> dict[str, float]:
        """Clock of an idle machine, speed of a core, and memory."""
        return {
            "clock, s": self.used / CORES,
            "wall-years/s of a core": years / self.used,
            "memory, GB": self.memory,
            "memory, shared once, GB": self.shared_once,
        }


def _cpu() -> float:
    """Processor time of this process, of those that live below it and of those that ended. [s]"""
    times = os.times()
    own = times.user + times.system + times.children_user + times.children_system
    return own + sum(map(_below, _family()[1:]))


def _below(number: int) -> float:
    """Processor time of a process and of those that it started and that ended. [s]"""
    try:
        text = Path(f"/proc/{number}/stat").read_text()
    except OSError:
        return 0.0
    ticks = sum(map(int, text.rsplit(")", 1)[1].split()[11:15]))
    return ticks / os.sysconf("SC_CLK_TCK")


def _family() -> list[int]:
    """The process and those below it, as Linux tells."""
    parents: dict[int, int] = {}
    for place in Path("/proc").glob("[0-9]*/stat"):
        try:
            parents[int(place.parent.name)] = int(place.read_text().rsplit(")", 1)[1].split()[1])
        except (OSError, ValueError, IndexError):
            continue
    found = [os.getpid()]
    for number in found:
        found += [child for child, parent in parents.items() if parent == number]
    return found


def _memory(number: int) -> tuple[float, float]:
    """Memory that a process holds, and its share of it. [GB]"""
    try:
        text = Path(f"/proc/{number}/smaps_rollup").read_text()
    except OSError:
        return 0.0, 0.0
    rows = {line.split(":")[0]: line.split()[1] for line in text.splitlines()[1:]}
    return float(rows["Rss"]) / 1e6, float(rows["Pss"]) / 1e6
