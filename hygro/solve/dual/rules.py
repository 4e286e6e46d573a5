"""Rules of differentiation, for the compiler and for plain numbers alike."""

from __future__ import annotations

import operator
from collections.abc import Callable

from llvmlite import ir

from hygro.solve.dual.kinds import Arithmetic, Dual, Parts, Plain, Rule, Slopes, parts_of
from hygro.solve.lanes import (
    Function,
    Number,
    Value,
    negative,
)


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
    return -x if b is Plain else negative(b, x)


def _one(like: Number) -> Number:
    return constant(1.0, like) if hasattr(like, "type") else 1.0


def constant(x: float, like: Value) -> Value:
    """A number in as many lanes as a value has."""
    kind = like.type
    return ir.Constant(kind, [x] * kind.count if isinstance(kind, ir.VectorType) else x)


RULES: dict[Function, Rule] = {
    operator.add: _sum,
    operator.sub: _difference,
    operator.mul: _product,
    operator.truediv: _ratio,
    operator.neg: _negative,
}


IN_PLACE = {
    operator.iadd: _sum,
    operator.isub: _difference,
    operator.imul: _product,
    operator.itruediv: _ratio,
}


def _plain_operation(rule: Rule, turned: bool) -> Callable[..., Dual]:
    def operation(*args: Number) -> Dual:
        parts = [part for x in (args[::-1] if turned else args) for part in parts_of(x)]
        return Dual(*rule(Plain, *parts))

    return operation


for _operator, _rule in RULES.items():
    _name = _operator.__name__
    setattr(Dual, f"__{_name}__", _plain_operation(_rule, turned=False))
    if _operator is not operator.neg:
        setattr(Dual, f"__r{_name}__", _plain_operation(_rule, turned=True))
