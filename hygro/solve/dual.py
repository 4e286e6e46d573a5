"""Numbers that carry their slopes: a value in lanes and its derivatives over named unknowns.

Owns the value type `DualType` of the compiled kernels and the operations on it: a formula written
with it gives its exact derivatives. The type says which unknowns (`seeds`) a value depends on, so
that no zero is carried or multiplied. Knows nothing of walls.

Where the compiler is switched off, `Dual` does the same with plain numbers.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache
from itertools import product
from typing import TypeAlias

from llvmlite import ir
from numba import types
from numba.core import cgutils
from numba.core.base import BaseContext
from numba.core.imputils import lower_builtin, lower_cast
from numba.core.typeconv import Conversion
from numba.core.typing.templates import AbstractTemplate, Signature, infer_global, signature
from numba.extending import models, register_model

from hygro.solve.lanes import (
    Builder,
    Function,
    Lanes,
    Mask,
    Number,
    Type,
    Types,
    Value,
    Values,
    call_intrinsic,
    compare,
    least,
    most,
    negative,
    splat,
    where,
)

Slopes = dict[str, Number]
"""Slope over each unknown: numbers, or what the compiler has in their place."""
Parts = tuple[Number, Slopes]
Rule = Callable[..., Parts]


class DualType(types.Type):
    """A value in W lanes and its slopes over `seeds`."""

    def __init__(self, seeds: tuple[str, ...], width: int) -> None:
        self.seeds, self.width = seeds, width
        super().__init__(name=f"Dual({'.'.join(seeds)}, {width})")

    def unify(self, typingctx: object, other: Type) -> Type | None:
        """A variable that has other slopes in another branch has those of both."""
        if isinstance(other, DualType):
            return dual_type({*self.seeds, *other.seeds}, self.width)
        return self if isinstance(other, (types.Number, Lanes)) else None

    def can_convert_from(self, typingctx: object, other: Type) -> Conversion | None:
        """What depends on fewer unknowns has no slope over the others."""
        if isinstance(other, (types.Number, Lanes)):
            return Conversion.safe
        fits = isinstance(other, DualType) and {*other.seeds} <= {*self.seeds}
        return Conversion.safe if fits else None


def dual_type(seeds: Iterable[str], width: int) -> DualType:
    """The one type with these seeds."""
    return _dual_type(tuple(sorted(seeds)), width)


@lru_cache
def _dual_type(seeds: tuple[str, ...], width: int) -> DualType:
    return DualType(seeds, width)


@register_model(DualType)
class _DualModel(models.StructModel):
    def __init__(self, dmm: object, fe: DualType) -> None:
        lanes = Lanes(fe.width)
        super().__init__(dmm, fe, [("v", lanes), *((seed, lanes) for seed in fe.seeds)])


class Dual:
    """A number and its slopes, for kernels that are not compiled."""

    def __init__(self, v: float, d: Slopes) -> None:
        self.v, self.d = v, d

    def __lt__(self, other: Dual | float) -> bool:
        return bool(self.v < value(other))

    def __gt__(self, other: Dual | float) -> bool:
        return bool(self.v > value(other))

    def __abs__(self) -> Dual:
        return self if self.v >= 0 else Dual(*_negative(_Plain, self.v, self.d))

    def __eq__(self, other: object) -> bool:
        return bool(self.v == value(other))

    __hash__ = None  # type: ignore[assignment]

    def __le__(self, other: Dual | float) -> bool:
        return bool(self.v <= value(other))

    def __ge__(self, other: Dual | float) -> bool:
        return bool(self.v >= value(other))


class _Plain:
    """What `ir.IRBuilder` does, on plain numbers at once."""

    fadd, fsub = staticmethod(operator.add), staticmethod(operator.sub)
    fmul, fdiv = staticmethod(operator.mul), staticmethod(operator.truediv)


def _parts(x: Number) -> Parts:
    return (x.v, x.d) if isinstance(x, Dual) else (x, {})


Arithmetic: TypeAlias = Builder | type[_Plain]

# --- rules: value and slopes of a result, with the builder's operations ---------------------------


def _sum(b: Arithmetic, x: Number, dx: Slopes, y: Number, dy: Slopes) -> Parts:
    d = dx | {s: b.fadd(dx[s], t) if s in dx else t for s, t in dy.items()}
    return b.fadd(x, y), d


def _difference(b: Arithmetic, x: Number, dx: Slopes, y: Number, dy: Slopes) -> Parts:
    d = dx | {s: b.fsub(dx[s], t) if s in dx else _minus(b, t) for s, t in dy.items()}
    return b.fsub(x, y), d


def _product(b: Arithmetic, x: Number, dx: Slopes, y: Number, dy: Slopes) -> Parts:
    d = {s: b.fmul(t, y) for s, t in dx.items()}
    for s, t in dy.items():
        e = b.fmul(x, t)
        d[s] = b.fadd(d[s], e) if s in d else e
    return b.fmul(x, y), d


def _ratio(b: Arithmetic, x: Number, dx: Slopes, y: Number, dy: Slopes) -> Parts:
    inverse = b.fdiv(_one(y), y)
    q = b.fmul(x, inverse)
    d = {s: b.fmul(t, inverse) for s, t in dx.items()}
    fall = b.fmul(q, inverse)
    for s, t in dy.items():
        e = b.fmul(fall, t)
        d[s] = b.fsub(d[s], e) if s in d else _minus(b, e)
    return q, d


def _negative(b: Arithmetic, x: Number, dx: Slopes) -> Parts:
    return _minus(b, x), {s: _minus(b, t) for s, t in dx.items()}


def _minus(b: Arithmetic, x: Number) -> Number:
    return -x if b is _Plain else negative(b, x)


def _one(like: Number) -> Number:
    return _constant(1.0, like) if hasattr(like, "type") else 1.0


def _constant(x: float, like: Value) -> Value:
    kind = like.type
    return ir.Constant(kind, [x] * kind.count if isinstance(kind, ir.VectorType) else x)


RULES: dict[Function, Rule] = {
    operator.add: _sum,
    operator.sub: _difference,
    operator.mul: _product,
    operator.truediv: _ratio,
    operator.neg: _negative,
}
_IN_PLACE = {
    operator.iadd: _sum,
    operator.isub: _difference,
    operator.imul: _product,
    operator.itruediv: _ratio,
}


def _plain_operation(rule: Rule, turned: bool) -> Callable[..., Dual]:
    def operation(*args: Number) -> Dual:
        parts = [part for x in (args[::-1] if turned else args) for part in _parts(x)]
        return Dual(*rule(_Plain, *parts))

    return operation


for _operator, _rule in RULES.items():
    _name = _operator.__name__
    setattr(Dual, f"__{_name}__", _plain_operation(_rule, turned=False))
    if _operator is not operator.neg:
        setattr(Dual, f"__r{_name}__", _plain_operation(_rule, turned=True))


# --- making duals and taking them apart -----------------------------------------------------------


def value(x: Number) -> Number:
    """The value without its slopes."""
    return x.v if isinstance(x, Dual) else x


def chain(v: Number, slope: Number, x: Number) -> Number:
    """A function of x that has the value v and the given slope over x."""
    d = {s: slope * t for s, t in _parts(x)[1].items()}
    return Dual(v, d) if d else v


def unknown(name: str) -> Function:
    """The function that makes a value the unknown `name`: its slope over itself is 1."""

    def make(x: Number) -> Number:
        return Dual(x, {name: 1.0})

    _intrinsic(
        make,
        lambda x: dual_type((name,), x.width),
        lambda b, to, args: (args[0][0], {name: _constant(1.0, args[0][0])}),
    )
    return make


def slope_over(*names: str) -> Function:
    """The function that gives the slope over the first of some unknowns that x has; 0 for none."""

    def first(d: Slopes, none: Number) -> Number:
        return next((d[name] for name in names if name in d), none)

    def take(x: Number) -> Number:
        return first(_parts(x)[1], 0.0)

    _intrinsic(
        take,
        lambda x: Lanes(x.width),
        lambda b, to, args: (first(args[0][1], _constant(0.0, args[0][0])), {}),
    )
    return take


def renamed(**names: str) -> Function:
    """The function that gives unknowns other names, here old=new."""

    def rename(x: Number) -> Number:
        v, d = _parts(x)
        return Dual(v, {names.get(s, s): t for s, t in d.items()}) if d else x

    def typed(x: Type) -> Type:
        return dual_type((names.get(s, s) for s in _seeds(x)), x.width) if _seeds(x) else x

    _intrinsic(
        rename,
        typed,
        lambda b, to, args: (args[0][0], {names.get(s, s): t for s, t in args[0][1].items()}),
    )
    return rename


def without(*names: str) -> Function:
    """The function that holds unknowns: what it gives has no slope over them."""

    def hold(x: Number) -> Number:
        v, d = _parts(x)
        kept = {s: t for s, t in d.items() if s not in names}
        return Dual(v, kept) if kept else v

    def typed(x: Type) -> Type:
        kept = {*_seeds(x)} - {*names}
        return dual_type(kept, x.width) if kept else Lanes(x.width)

    _intrinsic(
        hold,
        typed,
        lambda b, to, args: (args[0][0], {s: t for s, t in args[0][1].items() if s not in names}),
    )
    return hold


# --- the same for the compiler --------------------------------------------------------------------


def _seeds(typ: Type) -> tuple[str, ...]:
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
        setattr(made, seed, d[seed] if seed in d else _constant(0.0, v))
    return made._getvalue()


@lower_cast(types.Number, DualType)
@lower_cast(Lanes, DualType)
@lower_cast(DualType, DualType)
def _cast(context: BaseContext, builder: Builder, fromty: Type, toty: DualType, x: Value) -> Value:
    return _made(context, builder, toty, *_taken(context, builder, fromty, x, toty.width))


def _lower(function: Function, kinds: tuple[type, ...], emit: Rule) -> None:
    """emit(builder, result type, [(value, slopes) of each argument]) -> value, slopes."""

    def lower(context: BaseContext, builder: Builder, sig: Signature, args: Values) -> Value:
        width = max(a.width for a in sig.args if isinstance(a, (DualType, Lanes)))
        pairs = zip(sig.args, args, strict=True)
        taken = [_taken(context, builder, a, x, width) for a, x in pairs]
        v, d = emit(builder, sig.return_type, taken)
        return _made(context, builder, sig.return_type, v, d)

    lower_builtin(function, *kinds)(lower)


def _intrinsic(function: Function, typed: Callable[[Type], Type], emit: Rule) -> None:
    """A function of one number in lanes, with or without slopes."""

    class Template(AbstractTemplate):
        key = function

        def generic(self, args: Types, kws: object) -> Signature | None:
            fits = len(args) == 1 and isinstance(args[0], (DualType, Lanes))
            return signature(typed(args[0]), args[0]) if fits else None

    infer_global(function, types.Function(Template))
    for kind in (DualType, Lanes):
        _lower(function, (kind,), emit)


_intrinsic(value, lambda x: Lanes(x.width), lambda b, to, args: (args[0][0], {}))

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
            _lower(function, (*first, *kinds), emit)


def _by_rule(rule: Rule) -> Rule:
    return lambda b, to, args: rule(b, *(part for pair in args for part in pair))


def _chosen(b: Builder, to: DualType, pick: Value, x: Parts, y: Parts) -> Parts:
    zero = _constant(0.0, x[0])
    d = {s: b.select(pick, x[1].get(s, zero), y[1].get(s, zero)) for s in to.seeds}
    return b.select(pick, x[0], y[0]), d


def _bounded(sign: str) -> Rule:
    return lambda b, to, a: _chosen(b, to, b.fcmp_ordered(sign, a[0][0], a[1][0]), *a)


def _compared(sign: str) -> Rule:
    """Of the values."""
    return lambda b, to, a: (compare(sign)(b, a[0][0], a[1][0]), {})


def _size(b: Builder, to: DualType, args: Sequence[Parts]) -> Parts:
    v, d = args[0]
    sign = call_intrinsic(b, "copysign", _constant(1.0, v), v)
    return call_intrinsic(b, "fabs", v), {s: b.fmul(sign, t) for s, t in d.items()}


for _operator, _rule in (RULES | _IN_PLACE).items():
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


@infer_global(chain)
class _Chain(AbstractTemplate):
    def generic(self, args: Types, kws: object) -> Signature | None:
        fits = len(args) == 3 and isinstance(args[2], (DualType, Lanes))
        if not (fits and isinstance(args[0], Lanes) and isinstance(args[1], Lanes)):
            return None
        seeds = _seeds(args[2])
        return signature(dual_type(seeds, args[2].width) if seeds else args[0], *args)


for _kind in (DualType, Lanes):
    _lower(
        chain,
        (Lanes, Lanes, _kind),
        lambda b, to, a: (a[0][0], {s: b.fmul(a[1][0], t) for s, t in a[2][1].items()}),
    )
