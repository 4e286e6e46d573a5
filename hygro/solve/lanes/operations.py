"""Operations on numbers in lanes, each rounded as IEEE 754 says."""

from __future__ import annotations

import operator

from llvmlite import ir
from numba import types
from numba.core import cgutils
from numba.core.base import BaseContext
from numba.core.imputils import lower_builtin, lower_cast
from numba.core.typing.templates import AbstractTemplate, Signature, infer_global, signature

from hygro.solve.lanes.kinds import (
    DOUBLE,
    INT,
    Builder,
    Emit,
    Function,
    Lanes,
    Mask,
    Number,
    Type,
    Types,
    Value,
    Values,
)
from hygro.solve.lanes.machine import on_a_card


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


def lanes_of(args: Types) -> int:
    """Width of the first argument in lanes; 0 when none is, or one is something else."""
    widths = [a.width for a in args if isinstance(a, (Lanes, Mask))]
    fit = all(isinstance(a, (Lanes, Mask, types.Number)) for a in args)
    return widths[0] if widths and fit else 0


def _register(function: Function, kinds: str, result: str, emit: Emit) -> None:
    """Make a Python function work on lanes. kinds, result: v lanes, m mask, b one truth value."""
    made = {"v": Lanes, "m": Mask, "b": lambda _: types.boolean}

    class Template(AbstractTemplate):
        def generic(self, args: Types, kws: object) -> Signature | None:
            width = lanes_of(args)
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
    if on_a_card(builder):
        return _ON_A_CARD[name](builder, *args)
    return _intrinsic(builder, name, *args)


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


def gathered(builder: Builder, values: list[Value]) -> Value:
    """Numbers side by side, one of each lane."""
    made = ir.Constant(ir.VectorType(DOUBLE, len(values)), ir.Undefined)
    for k, value in enumerate(values):
        made = builder.insert_element(made, value, INT(k))
    return made


def _fma_on_a_card(builder: Builder, a: Value, b: Value, c: Value) -> Value:
    if not _is_vector(a):
        return _intrinsic(builder, "fma", a, b, c)
    columns = [
        _intrinsic(builder, "fma", *(builder.extract_element(x, INT(k)) for x in (a, b, c)))
        for k in range(a.type.count)
    ]
    return gathered(builder, columns)


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
