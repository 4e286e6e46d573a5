"""Numbers in lanes: W floats side by side, handled by one instruction where the processor can.

Owns the value type `Lanes` of the compiled kernels, the arrays that hold such values, and the
operations on both. Knows nothing of walls. A width of 1 compiles to plain floats. All operations
act on each lane by itself and round as IEEE 754 says (tables and `fma` with fused multiply-adds):
a lane's result does not depend on the width or on its neighbours.

Where the compiler is switched off, arrays of width 1 give plain Python floats.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache
from typing import Any, TypeAlias

import numpy as np
from llvmlite import ir
from numba import types
from numba.core import cgutils
from numba.core.base import BaseContext
from numba.core.imputils import lower_builtin, lower_cast
from numba.core.pythonapi import _UnboxContext
from numba.core.typeconv import Conversion
from numba.core.typing.templates import AbstractTemplate, Signature, infer_global, signature
from numba.extending import (
    NativeValue,
    models,
    register_model,
    type_callable,
    typeof_impl,
    unbox,
)
from numpy.typing import NDArray

WIDTH = 8
"""Lanes of an ensemble: doubles in 64 bytes, one line of the cache."""
DOUBLE, INT = ir.DoubleType(), ir.IntType(64)

Number: TypeAlias = Any
"""What a kernel computes with: a float, one in lanes, or one with slopes. The compiler types it."""
Type: TypeAlias = Any
"""A type of the compiler's; its attributes are declared nowhere."""
Builder: TypeAlias = ir.IRBuilder
Value: TypeAlias = ir.Value
Types: TypeAlias = Sequence[Type]
Values: TypeAlias = Sequence[Value]
Function = Callable[..., Number]
Emit = Callable[..., Value]
"""Writes an operation: of the builder, and of the values or what else it is about."""
Index = int | tuple[int, ...]
Table = NDArray[np.float64]
Row = tuple[Number, ...]


class Lanes(types.Type):
    """W floats."""

    def __init__(self, width: int) -> None:
        self.width = width
        super().__init__(name=f"Lanes({width})")

    def unify(self, typingctx: object, other: Type) -> Type | None:
        """A variable that is lanes in one branch and a number in another is lanes."""
        return self if isinstance(other, types.Number) else None

    def can_convert_from(self, typingctx: object, other: Type) -> Conversion | None:
        """A number stands for itself in every lane."""
        return Conversion.safe if isinstance(other, types.Number) else None


class Mask(types.Type):
    """W truth values."""

    def __init__(self, width: int) -> None:
        self.width = width
        super().__init__(name=f"Mask({width})")


class LaneArrayType(types.Type):
    """Rows of `columns` values (0: one value a row, no second index), each W floats.

    From a value to the next it is `pitch` floats: W where the values stand side by side, more where
    walls stand between them, as in tiles (`hygro.solve.card.tiles`). Arrays of a `group` have
    equally many rows and are read often; those of group 0 are read seldom.
    """

    def __init__(self, columns: int, width: int, pitch: int = 0, group: int = 0) -> None:
        self.columns, self.width, self.pitch = columns, width, pitch or width
        self.group = group
        super().__init__(name=f"LaneArray({columns}, {width}, {self.pitch}, {group})")

    @property
    def tiled(self) -> bool:
        """Whether other walls stand between the values."""
        return self.pitch > self.width


def _vector(element: ir.Type, width: int) -> ir.Type:
    return element if width == 1 else ir.VectorType(element, width)


@register_model(Lanes)
class _LanesModel(models.PrimitiveModel):
    def __init__(self, dmm: object, fe: Lanes) -> None:
        super().__init__(dmm, fe, _vector(DOUBLE, fe.width))


@register_model(Mask)
class _MaskModel(models.PrimitiveModel):
    def __init__(self, dmm: object, fe: Mask) -> None:
        super().__init__(dmm, fe, _vector(ir.IntType(1), fe.width))


@register_model(LaneArrayType)
class _LaneArrayModel(models.StructModel):
    def __init__(self, dmm: object, fe: LaneArrayType) -> None:
        members = [("data", types.CPointer(types.float64)), ("rows", types.intp)]
        if fe.tiled:
            members += [("tile", types.intp), ("place", types.intp)]
        super().__init__(dmm, fe, members)


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


# --- access ---------------------------------------------------------------------------------------


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
    return builder.bitcast(pointer, _vector(DOUBLE, typ.width).as_pointer())


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


def hidden(builder: Builder, value: Value) -> Value:
    """An integer of which a card's compiler knows nothing more, elsewhere itself.

    What follows from it is then worked out where it is needed, not kept in registers all along.
    """
    if not _on_a_card(builder):
        return value
    letter, kind = {32: "r", 64: "l"}[value.type.width], ir.FunctionType(value.type, [value.type])
    move = f"mov.b{value.type.width} $0, $1;"
    return builder.asm(kind, move, f"={letter},{letter}", [value], side_effect=True)


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


# --- operations -----------------------------------------------------------------------------------


def splat(builder: Builder, value: Value, width: int) -> Value:
    """A number in every lane."""
    if width == 1:
        return value
    kind = ir.VectorType(value.type, width)
    first = builder.insert_element(ir.Constant(kind, ir.Undefined), value, ir.IntType(32)(0))
    order = ir.Constant(ir.VectorType(ir.IntType(32), width), [0] * width)
    return builder.shuffle_vector(first, ir.Constant(kind, ir.Undefined), order)


@lower_cast(types.Number, Lanes)
def _cast(context: BaseContext, builder: Builder, fromty: Type, toty: Lanes, value: Value) -> Value:
    scalar = context.cast(builder, value, fromty, types.float64)
    return splat(builder, scalar, toty.width)


def _width(args: Types) -> int:
    """Width of the first argument in lanes; 0 when none is, or one is something else."""
    widths = [a.width for a in args if isinstance(a, (Lanes, Mask))]
    fit = all(isinstance(a, (Lanes, Mask, types.Number)) for a in args)
    return widths[0] if widths and fit else 0


def _register(function: Function, kinds: str, result: str, emit: Emit) -> None:
    """Make a Python function work on lanes. kinds, result: v lanes, m mask, b one truth value."""
    made = {"v": Lanes, "m": Mask, "b": lambda _: types.boolean}

    class Template(AbstractTemplate):
        def generic(self, args: Types, kws: object) -> Signature | None:
            width = _width(args)
            if not width or len(args) != len(kinds):
                return None
            if any((k == "m") != isinstance(a, Mask) for k, a in zip(kinds, args, strict=True)):
                return None
            return signature(made[result](width), *(made[k](width) for k in kinds))

    def lower(context: BaseContext, builder: Builder, sig: Signature, args: Values) -> Value:
        return emit(builder, *args)

    infer_global(function)(Template)
    known = {"v": Lanes, "m": Mask}
    lower_builtin(function, *(known[k] for k in kinds))(lower)


def compare(sign: str) -> Emit:
    """Comparison as IEEE 754 has it: NaN is unequal to everything."""
    if sign == "!=":
        return lambda builder, a, b: builder.fcmp_unordered(sign, a, b)
    return lambda builder, a, b: builder.fcmp_ordered(sign, a, b)


def where(mask: bool, yes: Number, no: Number) -> Number:
    """`yes` in the lanes where the mask holds, else `no`; both are worked out."""
    return yes if mask else no


def least(a: Number, b: Number) -> Number:
    """The smaller; b where a is not a number."""
    return a if a < b else b


def most(a: Number, b: Number) -> Number:
    """The larger; b where a is not a number."""
    return a if a > b else b


def fma(a: Number, b: Number, c: Number) -> Number:
    """Sum a b + c, rounded once where compiled."""
    return a * b + c


def some(mask: bool) -> bool:
    """Whether the mask holds in any lane."""
    return bool(mask)


def _some(builder: Builder, mask: Value) -> Value:
    if isinstance(mask.type, ir.VectorType):
        bits = builder.bitcast(mask, ir.IntType(mask.type.count))
        return builder.icmp_unsigned("!=", bits, ir.Constant(bits.type, 0))
    return mask


def call_intrinsic(builder: Builder, name: str, *args: Value) -> Value:
    """An operation of the compiler on lanes."""
    if _on_a_card(builder):
        return _ON_A_CARD[name](builder, *args)
    return _intrinsic(builder, name, *args)


def _on_a_card(builder: Builder) -> bool:
    return builder.module.triple.startswith("nvptx")


def _intrinsic(builder: Builder, name: str, *args: Value) -> Value:
    kind = args[0].type
    width = kind.count if isinstance(kind, ir.VectorType) else 1
    suffix = "f64" if width == 1 else f"v{width}f64"
    fnty = ir.FunctionType(kind, [kind] * len(args))
    function = cgutils.get_or_insert_function(builder.module, fnty, f"llvm.{name}.{suffix}")
    return builder.call(function, args)


def negative(builder: Builder, a: Value) -> Value:
    """-a, as a graphics card's compiler knows it too."""
    zero = ir.Constant(DOUBLE, -0.0)
    return builder.fsub(splat(builder, zero, a.type.count) if _is_vector(a) else zero, a)


def _is_vector(a: Value) -> bool:
    return isinstance(a.type, ir.VectorType)


def _fma_on_a_card(builder: Builder, a: Value, b: Value, c: Value) -> Value:
    if not _is_vector(a):
        return _intrinsic(builder, "fma", a, b, c)
    columns = [
        _intrinsic(builder, "fma", *(builder.extract_element(x, INT(k)) for x in (a, b, c)))
        for k in range(a.type.count)
    ]
    return _gathered(builder, columns)


def _bits(builder: Builder, a: Value, mask: int) -> Value:
    return builder.and_(builder.bitcast(a, INT), ir.Constant(INT, mask))


_SIGN, _SIZE = 1 << 63, (1 << 63) - 1
_ON_A_CARD: dict[str, Emit] = {
    "fma": _fma_on_a_card,
    "fabs": lambda b, a: b.bitcast(_bits(b, a, _SIZE), DOUBLE),
    "copysign": lambda b, a, s: b.bitcast(b.or_(_bits(b, a, _SIZE), _bits(b, s, _SIGN)), DOUBLE),
}
"""The same where the compiler has no such operation, or none on vectors; one wall a thread."""

for _functions, _emit in (
    ((operator.add, operator.iadd), ir.IRBuilder.fadd),
    ((operator.sub, operator.isub), ir.IRBuilder.fsub),
    ((operator.mul, operator.imul), ir.IRBuilder.fmul),
    ((operator.truediv, operator.itruediv), ir.IRBuilder.fdiv),
):
    for _function in _functions:
        _register(_function, "vv", "v", _emit)
_register(operator.neg, "v", "v", negative)
_register(abs, "v", "v", lambda builder, a: call_intrinsic(builder, "fabs", a))
for _function, _sign in (
    (operator.lt, "<"), (operator.le, "<="), (operator.gt, ">"), (operator.ge, ">="),
    (operator.eq, "=="), (operator.ne, "!="),
):  # fmt: skip
    _register(_function, "vv", "m", compare(_sign))
_register(operator.and_, "mm", "m", lambda builder, a, b: builder.and_(a, b))
_register(operator.or_, "mm", "m", lambda builder, a, b: builder.or_(a, b))
_register(operator.invert, "m", "m", lambda builder, a: builder.not_(a))
_register(where, "mvv", "v", lambda builder, m, a, b: builder.select(m, a, b))
_register(least, "vv", "v", lambda b, x, y: b.select(b.fcmp_ordered("<", x, y), x, y))
_register(most, "vv", "v", lambda b, x, y: b.select(b.fcmp_ordered(">", x, y), x, y))
_register(fma, "vvv", "v", lambda b, x, y, z: call_intrinsic(b, "fma", x, y, z))
_register(some, "m", "b", _some)


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
    if typ.tiled and _on_a_card(builder):
        array = cgutils.create_struct_proxy(typ)(context, builder, value=args[0])
        row = context.cast(builder, args[1], sig.args[1], types.intp)
        for column in range(max(typ.columns, 1)):
            parts = [row, INT(column)][: _whole(typ)]
            _bring_near(builder, _in_tiles(builder, typ, array, parts))
    return context.get_dummy_value()


@lower_builtin(fetch, types.Array, types.Integer)
def _lower_fetch_numbers(
    context: BaseContext, builder: Builder, sig: Signature, args: Values
) -> Value:
    if _on_a_card(builder):
        array = context.make_array(sig.args[0])(context, builder, args[0])
        row = context.cast(builder, args[1], sig.args[1], types.intp)
        columns = cgutils.unpack_tuple(builder, array.shape)[1]
        first = builder.gep(array.data, [builder.mul(row, columns)])
        for number in (0, 8):
            _bring_near(builder, builder.gep(first, [INT(number)]))
    return context.get_dummy_value()


def _bring_near(builder: Builder, pointer: Value) -> None:
    """The line of memory that a place stands in, into the first cache of a card."""
    kind = ir.FunctionType(ir.VoidType(), [INT])
    place = builder.ptrtoint(pointer, INT)
    builder.asm(kind, "prefetch.global.L1 [$0];", "l", [place], side_effect=True)


AT_ONCE = 4
"""Rows of tiles that are read before one is written: four times fewer ways to far memory."""


def rows_at_once(array: LaneArray) -> int:
    """How many rows of an array to read before one is written; a constant for the compiler."""
    return 1


_register_constant(rows_at_once, lambda typ: AT_ONCE if typ.tiled else 1)


# --- tables ---------------------------------------------------------------------------------------


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
    row = builder.fptosi(inside, _vector(INT, width))
    local = builder.fsub(x, builder.sitofp(row, x.type))
    start = builder.fptosi(at, _vector(INT, width))
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
    return [_gathered(builder, rows)] if count == 1 else _transposed(builder, rows)


def _cubics(
    builder: Builder, table: Value, first: Value, t: Value, count: int
) -> tuple[Value, Value]:
    """Values and slopes of the cubics of one row, side by side."""
    kind = _vector(DOUBLE, count)
    # on a card rows lie as they do in `problem.whole`, and a load takes two numbers
    align = 16 if count > 1 and _on_a_card(builder) else 8
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


def _gathered(builder: Builder, values: list[Value]) -> Value:
    made = ir.Constant(ir.VectorType(DOUBLE, len(values)), ir.Undefined)
    for k, value in enumerate(values):
        made = builder.insert_element(made, value, INT(k))
    return made


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
            width = _width(args[1:])
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
        return _read(b, table, b.bitcast(first, _vector(INT, width)), local, per, count)

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
        if _on_a_card(builder):
            table = context.make_array(sig.args[0])(context, builder, args[0]).data
            first = builder.bitcast(args[1], INT)
            for line in range(0, 4 * count, 16):
                _bring_near(builder, builder.gep(table, [builder.add(first, INT(line))]))
        return context.get_dummy_value()


_register_fetch(fetch_8, 8)
_register_fetch(fetch_4, 4)
