"""How a kernel reads and writes arrays of numbers in lanes, one wall a thread or W side by side."""

from __future__ import annotations

import operator
from collections.abc import Callable
from typing import Any

from llvmlite import ir
from numba import types
from numba.core import cgutils
from numba.core.base import BaseContext
from numba.core.imputils import lower_builtin
from numba.core.typing.templates import AbstractTemplate, Signature, infer_global, signature
from numba.extending import type_callable
from numpy.typing import NDArray

from hygro.solve.lanes.arrays import LaneArray
from hygro.solve.lanes.kinds import (
    DOUBLE,
    INT,
    Builder,
    Function,
    LaneArrayType,
    Lanes,
    Type,
    Types,
    Value,
    Values,
    vector,
)
from hygro.solve.lanes.machine import bring_near, hidden, on_a_card


def _whole(typ: LaneArrayType) -> int:
    """How many indices name a value in all lanes; one more names one lane of it."""
    return 2 if typ.columns else 1


def _count(index: Type) -> int:
    return len(index) if isinstance(index, types.BaseTuple) else 1


@infer_global(operator.getitem)
class _GetItem(AbstractTemplate):
    def generic(self, args: Types, kws: object) -> Signature | None:
        array, index = args
        if not isinstance(array, LaneArrayType):
            return None
        over = _count(index) - _whole(array)
        kind: Type = {0: Lanes(array.width), 1: types.float64}.get(over)
        return kind and signature(kind, array, _indices(index))


@infer_global(operator.setitem)
class _SetItem(AbstractTemplate):
    def generic(self, args: Types, kws: object) -> Signature | None:
        array, index, _ = args
        if not isinstance(array, LaneArrayType):
            return None
        over = _count(index) - _whole(array)
        kind: Type = {0: Lanes(array.width), 1: types.float64}.get(over)
        return kind and signature(types.none, array, _indices(index), kind)


def _indices(index: Type) -> Type:
    tuples = isinstance(index, types.BaseTuple)
    return types.UniTuple(types.intp, _count(index)) if tuples else types.intp


def _address(context: BaseContext, builder: Builder, sig: Signature, args: Values) -> Value:
    """Where the value stands that a getitem or setitem names."""
    typ, kind = sig.args[:2]
    array = cgutils.create_struct_proxy(typ)(context, builder, value=args[0])
    data, parts = array.data, [args[1]]
    if isinstance(kind, types.BaseTuple):
        parts = cgutils.unpack_tuple(builder, args[1])
    if typ.tiled:
        return _in_tiles(builder, typ, array, parts)
    flat = parts[0]
    if typ.columns:
        flat = builder.add(builder.mul(flat, INT(typ.columns)), parts[1])
    flat = builder.mul(flat, INT(typ.width))
    if len(parts) > _whole(typ):
        return builder.gep(data, [builder.add(flat, parts[-1])], inbounds=True)
    pointer = builder.gep(data, [flat], inbounds=True)
    return builder.bitcast(pointer, vector(DOUBLE, typ.width).as_pointer())


def _in_tiles(builder: Builder, typ: LaneArrayType, array: Type, parts: Values) -> Value:
    """Where a value stands in tiles, in short integers: a card has few registers.

    Arrays have fewer than 2^31 values.
    """
    short = ir.IntType(32)
    tile, rows, place, *parts = (
        builder.trunc(x, short) for x in (array.tile, array.rows, array.place, *parts)
    )
    if not typ.group:
        tile, place = hidden(builder, tile), hidden(builder, place)
    flat = builder.add(builder.mul(tile, rows, flags=["nsw"]), parts[0], flags=["nsw"])
    if typ.columns:
        row = builder.mul(flat, short(typ.columns), flags=["nsw"])
        flat = builder.add(row, parts[1], flags=["nsw"])
    flat = builder.add(builder.mul(flat, short(typ.pitch), flags=["nsw"]), place, flags=["nsw"])
    return builder.gep(array.data, [flat], inbounds=True)


@lower_builtin(operator.getitem, LaneArrayType, types.Any)
def _load(context: BaseContext, builder: Builder, sig: Signature, args: Values) -> Value:
    return builder.load(_address(context, builder, sig, args), align=8)


@lower_builtin(operator.setitem, LaneArrayType, types.Any, types.Any)
def _store(context: BaseContext, builder: Builder, sig: Signature, args: Values) -> Value:
    builder.store(args[2], _address(context, builder, sig, args), align=8)
    return context.get_dummy_value()


@infer_global(len)
class _Len(AbstractTemplate):
    def generic(self, args: Types, kws: object) -> Signature | None:
        if len(args) == 1 and isinstance(args[0], LaneArrayType):
            return signature(types.intp, args[0])
        return None


@lower_builtin(len, LaneArrayType)
def _rows(context: BaseContext, builder: Builder, sig: Signature, args: Values) -> Value:
    rows = cgutils.create_struct_proxy(sig.args[0])(context, builder, value=args[0]).rows
    return hidden(builder, rows) if sig.args[0].tiled else rows


def width_of(array: LaneArray) -> int:
    """Lanes of an array; a constant for the compiler."""
    return array.width


def _register_constant(function: Function, constant: Callable[[LaneArrayType], int]) -> None:
    """A function of an array that is known from its type."""

    @type_callable(function)
    def typing(context: Type) -> Callable[[Type], Type | None]:
        def typer(array: Type) -> Type | None:
            return types.intp if isinstance(array, LaneArrayType) else None

        return typer

    @lower_builtin(function, LaneArrayType)
    def lower(context: BaseContext, builder: Builder, sig: Signature, args: Values) -> Value:
        return INT(constant(sig.args[0]))


_register_constant(width_of, lambda typ: typ.width)


def fetch(array: LaneArray | NDArray[Any], i: int) -> None:
    """Tell a card that row i is read soon, so that it is brought near; elsewhere nothing."""


@type_callable(fetch)
def _type_fetch(context: Type) -> Callable[[Type, Type], Type | None]:
    def typer(array: Type, i: Type) -> Type | None:
        return types.none if isinstance(array, (LaneArrayType, types.Array)) else None

    return typer


@lower_builtin(fetch, LaneArrayType, types.Integer)
def _lower_fetch(context: BaseContext, builder: Builder, sig: Signature, args: Values) -> Value:
    typ = sig.args[0]
    if typ.tiled and on_a_card(builder):
        array = cgutils.create_struct_proxy(typ)(context, builder, value=args[0])
        row = context.cast(builder, args[1], sig.args[1], types.intp)
        for column in range(max(typ.columns, 1)):
            parts = [row, INT(column)][: _whole(typ)]
            bring_near(builder, _in_tiles(builder, typ, array, parts))
    return context.get_dummy_value()


@lower_builtin(fetch, types.Array, types.Integer)
def _lower_fetch_numbers(
    context: BaseContext, builder: Builder, sig: Signature, args: Values
) -> Value:
    if on_a_card(builder):
        array = context.make_array(sig.args[0])(context, builder, args[0])
        row = context.cast(builder, args[1], sig.args[1], types.intp)
        columns = cgutils.unpack_tuple(builder, array.shape)[1]
        first = builder.gep(array.data, [builder.mul(row, columns)])
        for number in (0, 8):
            bring_near(builder, builder.gep(first, [INT(number)]))
    return context.get_dummy_value()


AT_ONCE = 4
"""Rows of tiles that are read before one is written: four times fewer ways to far memory."""


def rows_at_once(array: LaneArray) -> int:
    """How many rows of an array to read before one is written; a constant for the compiler."""
    return 1


_register_constant(rows_at_once, lambda typ: AT_ONCE if typ.tiled else 1)
