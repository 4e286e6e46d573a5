"""Memory that other processes read: room for the results of many runs.

Linux only (`os.memfd_create`).
"""

from __future__ import annotations

import math
import mmap
import os
import threading
import weakref
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.solve.setup import Array

Shapes = Mapping[str, tuple[int, ...]]
LINE = 64
"""What starts of slabs are multiples of. [bytes]"""


class Place(NamedTuple):
    """Where arrays lie: the name of the memory; by theirs the start [bytes] and shape of each."""

    memory: str
    arrays: dict[str, tuple[int, tuple[int, ...]]]


class _Slab:
    """Memory that is taken: its size, how many parts of it will be read, and were."""

    def __init__(self, size: int) -> None:
        self.size, self.parts, self.read = size, -1, 0


class Arena:
    """Memory of a size [bytes], of which slabs are taken.

    Whoever takes waits until there is room. A slab is free again when all its parts were read.
    """

    def __init__(self, size: int) -> None:
        self.size = size
        self._file = os.memfd_create("hygro")
        os.ftruncate(self._file, size)
        self._memory = mmap.mmap(self._file, size)
        self._here = np.frombuffer(self._memory, dtype=np.uint8).ctypes.data
        self._free, self._taken = [(0, size)], dict[int, _Slab]()
        self._changed = threading.Condition()
        weakref.finalize(self, os.close, self._file)

    def room(self, shapes: Shapes) -> dict[str, Array]:
        """Arrays side by side in a slab of their own.

        Raises
        ------
        MemoryError
            They are more than all of it.
        """
        values = sum(map(math.prod, shapes.values()))
        size = -(-8 * values // LINE) * LINE
        if size > self.size:
            raise MemoryError(f"results of {size} bytes: must be at most {self.size}")
        with self._changed:
            while (start := self._take(size)) is None:
                self._changed.wait()
        return _split(np.frombuffer(self._memory, np.float64, values, start), shapes)

    def expect(self, room: Mapping[str, Array], parts: int) -> None:
        """Say how many parts of the arrays of `room` will be read."""
        with self._changed:
            start = self._slab_of(next(iter(room.values())).ctypes.data - self._here)
            self._taken[start].parts = parts
            self._give_back(start)

    def was_read(self, place: Place) -> None:
        """Say that a part has been read, of which nobody needs anything any more."""
        with self._changed:
            start = self._slab_of(next(iter(place.arrays.values()))[0])
            self._taken[start].read += 1
            self._give_back(start)

    def place_of(self, arrays: Mapping[str, Array]) -> Place:
        """Where arrays lie that are a part of those of `room`, values of each side by side."""
        return Place(
            f"/proc/{os.getpid()}/fd/{self._file}",
            {name: (x.ctypes.data - self._here, x.shape) for name, x in arrays.items()},
        )

    def _slab_of(self, place: int) -> int:
        return max(start for start in self._taken if start <= place)

    def _take(self, size: int) -> int | None:
        for k, (start, room) in enumerate(self._free):
            if room >= size:
                self._free[k : k + 1] = [(start + size, room - size)] if room > size else []
                self._taken[start] = _Slab(size)
                return start
        return None

    def _give_back(self, start: int) -> None:
        slab = self._taken[start]
        if slab.read != slab.parts:
            return
        del self._taken[start]
        joined: list[tuple[int, int]] = []
        for first, room in sorted([*self._free, (start, slab.size)]):
            if joined and sum(joined[-1]) == first:
                joined[-1] = joined[-1][0], joined[-1][1] + room
            else:
                joined.append((first, room))
        self._free = joined
        self._changed.notify_all()


def free_here() -> int:
    """Memory of this machine that is free. [bytes]"""
    return os.sysconf("SC_AVPHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")


def arrays_at(place: Place) -> dict[str, Array]:
    """Arrays that another process has in its `Arena`."""
    memory = _there(place.memory)
    return {
        name: np.frombuffer(memory, np.float64, math.prod(shape), start).reshape(shape)
        for name, (start, shape) in place.arrays.items()
    }


@cache
def _there(name: str) -> mmap.mmap:
    with Path(name).open("rb") as file:
        return mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)


def _split(values: NDArray[np.float64], shapes: Shapes) -> dict[str, Array]:
    ends = np.cumsum([math.prod(shape) for shape in shapes.values()])
    parts = np.split(values[: ends[-1]], ends[:-1])
    return {
        name: part.reshape(shape) for (name, shape), part in zip(shapes.items(), parts, strict=True)
    }
