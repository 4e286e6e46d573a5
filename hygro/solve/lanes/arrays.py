"""Arrays of numbers in lanes, on lines of the cache, and how they are handed to a kernel."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache

import numpy as np
from numba import types
from numba.core import cgutils
from numba.core.pythonapi import _UnboxContext
from numba.extending import NativeValue, typeof_impl, unbox
from numpy.typing import NDArray

from hygro.solve.lanes.kinds import Index, LaneArrayType, Number, Value


class LaneArray:
    """A numpy array (rows, W) or (rows, columns, W) as the kernels read it.

    The kernels get its address only: keep it alive while they run.
    """

    def __init__(self, array: NDArray[np.float64]) -> None:
        if not (array.flags.c_contiguous and array.ndim in (2, 3)):
            raise ValueError(f"LaneArray: needs C order and 2 or 3 axes, not {array.shape}")
        self.array = array
        self.columns = array.shape[1] if array.ndim == 3 else 0
        self.width = array.shape[-1]

    def __len__(self) -> int:
        return len(self.array)

    def __getitem__(self, key: Index) -> Number:
        return self.array[self._full(key)]

    def __setitem__(self, key: Index, value: float) -> None:
        self.array[self._full(key)] = value

    def _full(self, key: Index) -> tuple[int, ...]:
        key = key if isinstance(key, tuple) else (key,)
        return key if len(key) == self.array.ndim else (*key, 0)


LINE = 64
"""Bytes of a line of the cache."""


def on_lines(shape: tuple[int, ...]) -> NDArray[np.float64]:
    """Zeros that start with a line of the cache, so that eight lanes lie in one."""
    size = math.prod(shape)
    room = np.zeros(size + LINE // 8)
    first = (-room.ctypes.data % LINE) // 8
    return room[first : first + size].reshape(shape)


def each_on_lines(shapes: Iterable[tuple[int, ...]]) -> list[NDArray[np.float64]]:
    """`on_lines` for some shapes, in one piece of memory."""
    asked = list(shapes)
    sizes = [math.prod(shape) for shape in asked]
    ends = np.cumsum([-(-size // (LINE // 8)) * (LINE // 8) for size in sizes]).tolist()
    room = on_lines((ends[-1],))
    starts = [0, *ends[:-1]]
    parts = (room[first : first + size] for first, size in zip(starts, sizes, strict=True))
    return [part.reshape(shape) for part, shape in zip(parts, asked, strict=True)]


def lane_array(array: NDArray[np.float64]) -> LaneArray:
    """A copy of the array for the kernels, on lines of the cache."""
    made = on_lines(array.shape)
    made[...] = array
    return LaneArray(made)


@typeof_impl.register(LaneArray)
def _typeof(value: LaneArray, c: object) -> LaneArrayType:
    return _array_type(value.columns, value.width)


@lru_cache
def _array_type(columns: int, width: int) -> LaneArrayType:
    """Types are asked for at every call of a kernel, and slow to make."""
    return LaneArrayType(columns, width)


@unbox(LaneArrayType)
def _unbox(typ: LaneArrayType, obj: Value, c: _UnboxContext) -> NativeValue:
    array = c.pyapi.object_getattr_string(obj, "array")
    kind = types.Array(types.float64, (3 if typ.columns else 2) + int(typ.tiled), "C")
    native = c.unbox(kind, array)
    source = c.context.make_array(kind)(c.context, c.builder, native.value)
    made = cgutils.create_struct_proxy(typ)(c.context, c.builder)
    made.data = source.data
    made.rows = cgutils.unpack_tuple(c.builder, source.shape)[int(typ.tiled)]
    c.pyapi.decref(array)
    return NativeValue(made._getvalue(), is_error=native.is_error)
