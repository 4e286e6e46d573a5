"""Cubics read from tables, some at a place and in all lanes."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from llvmlite import ir
from numba import types
from numba.core.base import BaseContext
from numba.core.imputils import lower_builtin
from numba.core.typing.templates import AbstractTemplate, Signature, infer_global, signature
from numba.extending import type_callable

from hygro.solve.lanes.kinds import (
    DOUBLE,
    INT,
    Builder,
    Function,
    Lanes,
    Number,
    Row,
    Table,
    Type,
    Types,
    Value,
    Values,
    vector,
)
from hygro.solve.lanes.machine import bring_near, on_a_card
from hygro.solve.lanes.operations import (
    call_intrinsic,
    gathered,
    lanes_of,
    least,
    most,
    splat,
)


def rows_of_8(tab: Table, at: Number, x: Number, per: Number, last: Number) -> Row:
    """Eight cubics at x: their values, then their slopes over x.

    tab holds rows of 4 x 8 coefficients, lowest power first, `per` rows per unit of x, from `at`
    on; the rows 0 and `last` also hold below and above.
    """
    return _rows_uncompiled(tab, at, x, per, last, 8)


def rows_of_4(tab: Table, at: Number, x: Number, per: Number, last: Number) -> Row:
    """Four cubics at x; see `rows_of_8`."""
    return _rows_uncompiled(tab, at, x, per, last, 4)


def row_of_1(tab: Table, at: Number, x: Number, per: Number, last: Number) -> Row:
    """One cubic at x: value and slope; see `rows_of_8`."""
    return _rows_uncompiled(tab, at, x, per, last, 1)


def place_in_8(tab: Table, at: Number, x: Number, per: Number, last: Number) -> Row:
    """Where `rows_of_8` finds the row of x, and how far x is into it; for `read_8`."""
    return _place_uncompiled(at, x, per, last, 8)


def place_in_4(tab: Table, at: Number, x: Number, per: Number, last: Number) -> Row:
    """Where `rows_of_4` finds the row of x, and how far x is into it; for `read_4`."""
    return _place_uncompiled(at, x, per, last, 4)


def read_8(tab: Table, first: Number, local: Number, per: Number) -> Row:
    """Eight cubics at a place: `rows_of_8`, once it is known where to read."""
    return _read_uncompiled(tab, first, local, per, 8)


def read_4(tab: Table, first: Number, local: Number, per: Number) -> Row:
    """Four cubics at a place."""
    return _read_uncompiled(tab, first, local, per, 4)


def fetch_8(tab: Table, first: Number) -> None:
    """Tell a card that `read_8` reads at a place soon, so that it is brought near; else nothing."""


def fetch_4(tab: Table, first: Number) -> None:
    """The same of `read_4`."""


def _rows_uncompiled(
    tab: Table, at: Number, x: Number, per: Number, last: Number, count: int
) -> Row:
    first, t = _place_uncompiled(at, x, per, last, count)
    return _read_uncompiled(tab, first, t, per, count)


def _place_uncompiled(at: Number, x: Number, per: Number, last: Number, count: int) -> Row:
    x = x * per
    j = int(most(least(x, float(last)), 0.0))
    return int(at) + 4 * count * j, x - j


def _read_uncompiled(tab: Table, first: Number, t: Number, per: Number, count: int) -> Row:
    c0, c1, c2, c3 = (tab[first + k * count : first + (k + 1) * count] for k in range(4))
    values = ((c3 * t + c2) * t + c1) * t + c0
    slopes = ((c3 * (3.0 * t) + c2 * 2.0) * t + c1) * per
    return (*values, *slopes)


def _placed(builder: Builder, at: Value, x: Value, per: Value, top: Value, size: int) -> Values:
    """Where the row of x starts, and how far x is into it."""
    width = x.type.count if isinstance(x.type, ir.VectorType) else 1
    x = builder.fmul(x, per)
    zero = ir.Constant(x.type, 0.0 if width == 1 else [0.0] * width)
    inside = builder.select(builder.fcmp_ordered("<", x, top), x, top)
    inside = builder.select(builder.fcmp_ordered(">", inside, zero), inside, zero)
    row = builder.fptosi(inside, vector(INT, width))
    local = builder.fsub(x, builder.sitofp(row, x.type))
    start = builder.fptosi(at, vector(INT, width))
    return builder.add(start, builder.mul(row, splat(builder, INT(size), width))), local


def _read(
    builder: Builder, table: Value, first: Value, local: Value, per: Value, count: int
) -> list[Value]:
    """Values, then slopes of the cubics of a row in each lane."""
    if not isinstance(first.type, ir.VectorType):
        value, slope = _cubics(builder, table, first, local, count)
        slope = builder.fmul(slope, splat(builder, per, count))
        if count == 1:
            return [value, slope]
        return [builder.extract_element(v, INT(c)) for v in (value, slope) for c in range(count)]
    pairs = []
    for k in range(first.type.count):
        one, t = (builder.extract_element(v, INT(k)) for v in (first, local))
        pairs.append(_cubics(builder, table, one, t, count))
    values, slopes = ([pair[s] for pair in pairs] for s in range(2))
    columns = _columns(builder, values, count)
    return columns + [builder.fmul(c, per) for c in _columns(builder, slopes, count)]


def _columns(builder: Builder, rows: list[Value], count: int) -> list[Value]:
    """Row k of `count` values, one of each lane k, as `count` values in lanes."""
    return [gathered(builder, rows)] if count == 1 else _transposed(builder, rows)


def _cubics(
    builder: Builder, table: Value, first: Value, t: Value, count: int
) -> tuple[Value, Value]:
    """Values and slopes of the cubics of one row, side by side."""
    kind = vector(DOUBLE, count)
    # on a card rows lie as they do in `numbers.Tables`, and a load takes two numbers
    align = 16 if count > 1 and on_a_card(builder) else 8
    coefficients = []
    for k in range(4):
        pointer = builder.gep(table, [builder.add(first, INT(k * count))])
        pointer = builder.bitcast(pointer, kind.as_pointer())
        coefficients.append(builder.load(pointer, align=align))
    c0, c1, c2, c3 = coefficients
    t = splat(builder, t, count)
    two, three = (splat(builder, DOUBLE(v), count) for v in (2.0, 3.0))
    value = call_intrinsic(builder, "fma", c3, t, c2)
    value = call_intrinsic(builder, "fma", value, t, c1)
    value = call_intrinsic(builder, "fma", value, t, c0)
    slope = call_intrinsic(builder, "fma", c3, builder.fmul(three, t), builder.fmul(c2, two))
    return value, call_intrinsic(builder, "fma", slope, t, c1)


def _transposed(builder: Builder, rows: list[Value]) -> list[Value]:
    """W rows of m values as m rows of W values; W a multiple of m, both powers of two.

    Rows m apart share a register: what is done to blocks of m x m is done to all of them at once.
    """
    count = rows[0].type.count
    while len(rows) > count:
        half = len(rows) // 2
        size = 2 * rows[0].type.count
        rows = [_shuffled(builder, rows[k], rows[k + half], range(size)) for k in range(half)]
    size = rows[0].type.count
    step = 1
    while step < count:
        swapped = list(rows)
        for k in range(count):
            if k & step:
                continue
            a, b = rows[k], rows[k + step]
            low = [c if not c & step else size + c - step for c in range(size)]
            high = [c + step if not c & step else size + c for c in range(size)]
            swapped[k], swapped[k + step] = (_shuffled(builder, a, b, x) for x in (low, high))
        rows = swapped
        step *= 2
    return rows


def _shuffled(builder: Builder, a: Value, b: Value, order: Sequence[int]) -> Value:
    mask = ir.Constant(ir.VectorType(ir.IntType(32), len(order)), list(order))
    return builder.shuffle_vector(a, b, mask)


def _register_rows(function: Function, numbers: int, results: int, emit: Function) -> None:
    """A function of a table and some numbers: emit(builder, table, *numbers) -> results."""

    class Template(AbstractTemplate):
        def generic(self, args: Types, kws: object) -> Signature | None:
            width = lanes_of(args[1:])
            if not width or len(args) != 1 + numbers or not isinstance(args[0], types.Array):
                return None
            lanes = Lanes(width)
            return signature(types.UniTuple(lanes, results), args[0], *[lanes] * numbers)

    def lower(context: BaseContext, builder: Builder, sig: Signature, args: Values) -> Value:
        table = context.make_array(sig.args[0])(context, builder, args[0]).data
        return context.make_tuple(builder, sig.return_type, emit(builder, table, *args[1:]))

    infer_global(function)(Template)
    lower_builtin(function, types.Array, *[Lanes] * numbers)(lower)


def _at_once(count: int) -> Function:
    def emit(b: Builder, table: Value, at: Value, x: Value, per: Value, last: Value) -> Values:
        first, local = _placed(b, at, x, per, last, 4 * count)
        return _read(b, table, first, local, per, count)

    return emit


def _places(count: int) -> Function:
    def emit(b: Builder, table: Value, at: Value, x: Value, per: Value, last: Value) -> Values:
        first, local = _placed(b, at, x, per, last, 4 * count)
        return b.bitcast(first, local.type), local

    return emit


def _reading(count: int) -> Function:
    def emit(b: Builder, table: Value, first: Value, local: Value, per: Value) -> Values:
        width = local.type.count if isinstance(local.type, ir.VectorType) else 1
        return _read(b, table, b.bitcast(first, vector(INT, width)), local, per, count)

    return emit


_register_rows(rows_of_8, 4, 16, _at_once(8))
_register_rows(rows_of_4, 4, 8, _at_once(4))
_register_rows(row_of_1, 4, 2, _at_once(1))
_register_rows(place_in_8, 4, 2, _places(8))
_register_rows(place_in_4, 4, 2, _places(4))
_register_rows(read_8, 3, 16, _reading(8))
_register_rows(read_4, 3, 8, _reading(4))


def _register_fetch(function: Function, count: int) -> None:
    @type_callable(function)
    def typing(context: Type) -> Callable[[Type, Type], Type | None]:
        def typer(tab: Type, first: Type) -> Type | None:
            return types.none if isinstance(first, Lanes) else None

        return typer

    @lower_builtin(function, types.Array, Lanes)
    def lower(context: BaseContext, builder: Builder, sig: Signature, args: Values) -> Value:
        if on_a_card(builder):
            table = context.make_array(sig.args[0])(context, builder, args[0]).data
            first = builder.bitcast(args[1], INT)
            for line in range(0, 4 * count, 16):
                bring_near(builder, builder.gep(table, [builder.add(first, INT(line))]))
        return context.get_dummy_value()


_register_fetch(fetch_8, 8)
_register_fetch(fetch_4, 4)
