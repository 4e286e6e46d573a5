"""Operations on numbers with slopes as the compiler writes them."""

from __future__ import annotations

import operator
from collections.abc import Callable, Sequence
from itertools import product

from numba import types
from numba.core import cgutils
from numba.core.base import BaseContext
from numba.core.imputils import lower_builtin, lower_cast
from numba.core.typing.templates import AbstractTemplate, Signature, infer_global, signature

from hygro.solve.dual.kinds import DualType, Parts, Rule, Slopes, dual_type, value
from hygro.solve.dual.rules import IN_PLACE, RULES, constant
from hygro.solve.lanes import (
    Builder,
    Function,
    Lanes,
    Mask,
    Type,
    Types,
    Value,
    Values,
    call_intrinsic,
    compare,
    least,
    most,
    splat,
    where,
)


def seeds_of(typ: Type) -> tuple[str, ...]:
    """Unknowns that values of a type have slopes over."""
    return typ.seeds if isinstance(typ, DualType) else ()


def _taken(context: BaseContext, builder: Builder, typ: Type, x: Value, width: int) -> Parts:
    if isinstance(typ, DualType):
        made = cgutils.create_struct_proxy(typ)(context, builder, value=x)
        return made.v, {s: getattr(made, s) for s in typ.seeds}
    if isinstance(typ, (Lanes, Mask)):
        return x, {}
    return splat(builder, context.cast(builder, x, typ, types.float64), width), {}


def _made(context: BaseContext, builder: Builder, typ: Type, v: Value, d: Slopes) -> Value:
    if not isinstance(typ, DualType):
        return v
    made = cgutils.create_struct_proxy(typ)(context, builder)
    made.v = v
    for seed in typ.seeds:
        setattr(made, seed, d[seed] if seed in d else constant(0.0, v))
    return made._getvalue()


@lower_cast(types.Number, DualType)
@lower_cast(Lanes, DualType)
@lower_cast(DualType, DualType)
def _cast(context: BaseContext, builder: Builder, fromty: Type, toty: DualType, x: Value) -> Value:
    return _made(context, builder, toty, *_taken(context, builder, fromty, x, toty.width))


def lower_rule(function: Function, kinds: tuple[type, ...], emit: Rule) -> None:
    """emit(builder, result type, [(value, slopes) of each argument]) -> value, slopes."""

    def lower(context: BaseContext, builder: Builder, sig: Signature, args: Values) -> Value:
        width = max(a.width for a in sig.args if isinstance(a, (DualType, Lanes)))
        pairs = zip(sig.args, args, strict=True)
        taken = [_taken(context, builder, a, x, width) for a, x in pairs]
        v, d = emit(builder, sig.return_type, taken)
        return _made(context, builder, sig.return_type, v, d)

    lower_builtin(function, *kinds)(lower)


def intrinsic(function: Function, typed: Callable[[Type], Type], emit: Rule) -> None:
    """A function of one number in lanes, with or without slopes."""

    class Template(AbstractTemplate):
        key = function

        def generic(self, args: Types, kws: object) -> Signature | None:
            fits = len(args) == 1 and isinstance(args[0], (DualType, Lanes))
            return signature(typed(args[0]), args[0]) if fits else None

    infer_global(function, types.Function(Template))
    for kind in (DualType, Lanes):
        lower_rule(function, (kind,), emit)


_NUMBERS = (DualType, Lanes, types.Number)


def _register(
    function: Function, count: int, emit: Rule, *, mask: bool = False, truth: bool = False
) -> None:
    """`count` numbers, at least one of them dual; after a mask; giving a dual or a mask."""

    class Template(AbstractTemplate):
        def generic(self, args: Types, kws: object) -> Signature | None:
            numbers = args[int(mask) :]
            duals = [a for a in numbers if isinstance(a, DualType)]
            fits = len(numbers) == count and all(isinstance(a, _NUMBERS) for a in numbers)
            if not (duals and fits and (not mask or isinstance(args[0], Mask))):
                return None
            width = duals[0].width
            made = Mask(width) if truth else dual_type({s for a in duals for s in a.seeds}, width)
            return signature(made, *args)

    infer_global(function)(Template)
    first = (Mask,) if mask else ()
    for kinds in product(_NUMBERS, repeat=count):
        if DualType in kinds:
            lower_rule(function, (*first, *kinds), emit)


def _by_rule(rule: Rule) -> Rule:
    return lambda b, to, args: rule(b, *(part for pair in args for part in pair))


def _chosen(b: Builder, to: DualType, pick: Value, x: Parts, y: Parts) -> Parts:
    zero = constant(0.0, x[0])
    d = {s: b.select(pick, x[1].get(s, zero), y[1].get(s, zero)) for s in to.seeds}
    return b.select(pick, x[0], y[0]), d


def _bounded(sign: str) -> Rule:
    return lambda b, to, a: _chosen(b, to, b.fcmp_ordered(sign, a[0][0], a[1][0]), *a)


def _compared(sign: str) -> Rule:
    """Of the values."""
    return lambda b, to, a: (compare(sign)(b, a[0][0], a[1][0]), {})


def _size(b: Builder, to: DualType, args: Sequence[Parts]) -> Parts:
    v, d = args[0]
    sign = call_intrinsic(b, "copysign", constant(1.0, v), v)
    return call_intrinsic(b, "fabs", v), {s: b.fmul(sign, t) for s, t in d.items()}


intrinsic(value, lambda x: Lanes(x.width), lambda b, to, args: (args[0][0], {}))
for _operator, _rule in (RULES | IN_PLACE).items():
    _register(_operator, 1 if _operator is operator.neg else 2, _by_rule(_rule))
for _operator, _sign in (
    (operator.lt, "<"), (operator.le, "<="), (operator.gt, ">"), (operator.ge, ">="),
    (operator.eq, "=="), (operator.ne, "!="),
):  # fmt: skip
    _register(_operator, 2, _compared(_sign), truth=True)
_register(where, 2, lambda b, to, a: _chosen(b, to, a[0][0], a[1], a[2]), mask=True)
_register(least, 2, _bounded("<"))
_register(most, 2, _bounded(">"))
_register(abs, 1, _size)
