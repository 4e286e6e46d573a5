"""Memory that other processes read: room for the results of many runs, given back as they go.

Linux only (`os.memfd_create`). What was handed to nobody any more is free again by itself.
"""

from __future__ import annotations

import ctypes
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
    """Where arrays lie: the name of the memory, the start of the first [bytes], their shapes."""

    name: str
    start: int
    shapes: dict[str, tuple[int, ...]]


class Arena:
    """Memory of a size [bytes], of which slabs are taken.

    Whoever takes waits until there is room. A slab is free again when the last array in it goes.
    """

    def __init__(self, size: int) -> None:
        self.size = size
        self._file = os.memfd_create("hygro")
        os.ftruncate(self._file, size)
        self._memory = mmap.mmap(self._file, size)
        self._free = [(0, size)]
        self._changed = threading.Condition()
        weakref.finalize(self, os.close, self._file)

    def room(self, shapes: Shapes) -> dict[str, Array]:
        """Arrays side by side in a slab of their own; see `hygro.solve.setup.Setup.room`.

        Raises
        ------
        MemoryError
            They are more than all of it.
        """
        size = -(-8 * sum(map(math.prod, shapes.values())) // LINE) * LINE
        if size > self.size:
            raise MemoryError(f"results of {size} bytes: must be at most {self.size}")
        with self._changed:
            while (start := self._taken(size)) is None:
                self._changed.wait()
        slab = (ctypes.c_char * size).from_buffer(self._memory, start)
        weakref.finalize(slab, self._give_back, start, size)
        return _split(np.frombuffer(memoryview(slab), dtype=np.float64), shapes)

    def place_of(self, first: Array, shapes: Shapes) -> Place:
        """Where arrays of `room` lie; `first` is the first of them."""
        here = np.frombuffer(self._memory, dtype=np.uint8)
        name = f"/proc/{os.getpid()}/fd/{self._file}"
        return Place(name, first.ctypes.data - here.ctypes.data, dict(shapes))

    def _taken(self, size: int) -> int | None:
        for k, (start, room) in enumerate(self._free):
            if room >= size:
                self._free[k : k + 1] = [(start + size, room - size)] if room > size else []
                return start
        return None

    def _give_back(self, start: int, size: int) -> None:
        with self._changed:
            joined: list[tuple[int, int]] = []
            for first, room in sorted([*self._free, (start, size)]):
                if joined and sum(joined[-1]) == first:
                    joined[-1] = joined[-1][0], joined[-1][1] + room
                else:
                    joined.append((first, room))
            self._free = joined
            self._changed.notify_all()


def arrays_at(place: Place) -> dict[str, Array]:
    """Arrays that another process has in its `Arena`."""
    size = sum(map(math.prod, place.shapes.values()))
    values = np.frombuffer(_there(place.name), np.float64, size, place.start)
    return _split(values, place.shapes)


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
