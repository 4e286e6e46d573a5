"""Arrays of many walls, in tiles, and what the thread of one wall sees of them.

Walls stand in tiles of `TILE`, as many as march in step on a card: what is the same element of the
walls of a tile lies side by side, so that one transfer of memory brings it to all of them. A thread
sees its own wall as a `LaneArray` of width 1 whose values are `TILE` floats apart.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import types
from numba.core import cgutils
from numba.extending import intrinsic, typeof_impl
from numpy.typing import NDArray

from hygro.solve.lanes import INT, Builder, LaneArrayType, Type, Value, hidden

TILE = 32
"""Walls of a tile: the threads of a warp."""


class Tiles:
    """An array (tiles, rows[, columns], `TILE`) as the kernels get it; for `group` see its type."""

    def __init__(self, array: Any, group: int = 0) -> None:
        self.array, self.group = array, group
        self.columns = array.shape[2] if array.ndim == 4 else 0


def tiled(array: NDArray[Any]) -> NDArray[Any]:
    """(rows[, columns], walls) as (tiles, rows[, columns], `TILE`), filled up by the last wall."""
    walls = array.shape[-1]
    rest = -walls % TILE
    full = np.concatenate([array, np.repeat(array[..., -1:], rest, axis=-1)], axis=-1)
    split = full.reshape(*array.shape[:-1], (walls + rest) // TILE, TILE)
    return np.ascontiguousarray(np.moveaxis(split, -2, 0))


def by_wall(array: NDArray[Any], walls: int) -> NDArray[Any]:
    """The way back: (walls, rows[, columns])."""
    own = np.ascontiguousarray(np.moveaxis(array, -1, 1))
    return own.reshape(len(array) * TILE, *array.shape[1:-1])[:walls]


def tile_type(columns: int, group: int = 0) -> LaneArrayType:
    """What the compiler takes `Tiles` for."""
    return LaneArrayType(columns, 1, TILE, group)


@typeof_impl.register(Tiles)
def _typeof(value: Tiles, c: object) -> LaneArrayType:
    return tile_type(value.columns, value.group)


def is_tiles(typ: Type) -> bool:
    """Whether a type of the compiler's is that of `Tiles`."""
    return isinstance(typ, LaneArrayType) and typ.tiled


# --- a thread's own wall --------------------------------------------------------------------------


@intrinsic
def of_thread(typingctx: object, group: Type, thread: Type) -> Any:
    """A named tuple of arrays as a thread reads it: of tiles its own wall, others as they are.

    Integers in tiles (tiles, rows, `TILE`) become the column of its wall.
    """
    if not isinstance(group, types.BaseNamedTuple):
        return None
    named: Any = group
    kinds = [_COLUMN if _is_integers(typ) else typ for typ in named.types]
    made = types.BaseTuple.from_types(kinds, named.instance_class)

    def codegen(context: Any, builder: Builder, sig: Any, args: tuple[Value, Value]) -> Value:
        parts = zip(named.types, cgutils.unpack_tuple(builder, args[0]), strict=True)
        rows = dict[int, Value]()
        own = [_own(context, builder, typ, x, args[1], rows) for typ, x in parts]
        return context.make_tuple(builder, made, own)

    return made(group, types.intp), codegen


@intrinsic
def rows_from(typingctx: object, array: Type, first: Type) -> Any:
    """An array in tiles whose row 0 is row `first`; its length stays what it was."""
    if not is_tiles(array):
        return None

    def codegen(context: Any, builder: Builder, sig: Any, args: tuple[Value, Value]) -> Value:
        made = cgutils.create_struct_proxy(array)(context, builder, value=args[0])
        row = INT(TILE * max(array.columns, 1))
        made.data = builder.gep(made.data, [builder.mul(args[1], row)])
        return made._getvalue()

    return array(array, types.intp), codegen


_COLUMN = types.Array(types.int64, 1, "A")


def _is_integers(typ: Type) -> bool:
    return isinstance(typ, types.Array) and typ.dtype == types.int64 and typ.ndim == 3


def _own(
    context: Any, builder: Builder, typ: Type, x: Value, thread: Value, rows_of: dict[int, Value]
) -> Value:
    """An array for its thread; `rows_of` holds how many rows arrays of a group have."""
    tile, place = builder.sdiv(thread, INT(TILE)), builder.srem(thread, INT(TILE))
    if is_tiles(typ):
        made = cgutils.create_struct_proxy(typ)(context, builder, value=x)
        made.tile, made.place = tile, place
        if typ.group:
            made.rows = rows_of.setdefault(typ.group, made.rows)
        return made._getvalue()
    if _is_integers(typ):
        whole = context.make_array(typ)(context, builder, x)
        rows = hidden(builder, cgutils.unpack_tuple(builder, whole.shape)[1])
        column = context.make_array(_COLUMN)(context, builder)
        first = builder.mul(builder.mul(tile, rows), INT(TILE))
        context.populate_array(
            column,
            data=builder.gep(whole.data, [builder.add(first, place)]),
            shape=[rows], strides=[INT(8 * TILE)], itemsize=INT(8), meminfo=None,
        )  # fmt: skip
        return column._getvalue()
    return x
