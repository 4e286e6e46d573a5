"""Memory for results that is used again once nobody holds what lay in it.

Fresh memory has to be cleared by the system, page by page: a tenth of the time of a march and more.
"""

from __future__ import annotations

import ctypes
import weakref
from collections import deque
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Memory = Callable[[int], Array]
"""Gives room for so many numbers, whatever stands in it."""
SPACIOUS = 2
"""A block is used again for results of at least its size over this (our choice)."""


class Rooms:
    """Blocks of memory; each is given out again when the last array in it has ended.

    A copy in another process starts without any.
    """

    def __init__(self) -> None:
        self._free: deque[Array] = deque()

    def __reduce__(self) -> tuple[type[Rooms], tuple[()]]:
        return Rooms, ()

    def room(self, values: int) -> Array:
        """Room for some numbers, taken as long as any array lies in it. (values,)"""
        block = self._fitting(values)
        # arrays hold what they lie in, and numpy lets nobody see when its own memory is left
        holder: Any = (ctypes.c_double * values).from_buffer(block.data)
        weakref.finalize(holder, self._free.append, block).atexit = False
        return np.frombuffer(holder, np.float64)

    def _fitting(self, values: int) -> Array:
        """A block that is free, else a new one; those of another size are let go."""
        while self._free:
            block = self._free.pop()
            if values <= len(block) <= SPACIOUS * values:
                return block
        return np.empty(values)
