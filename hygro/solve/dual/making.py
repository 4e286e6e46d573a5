"""Making numbers with slopes, and taking them apart."""

from __future__ import annotations

from numba.core.typing.templates import AbstractTemplate, Signature, infer_global, signature

from hygro.solve.dual.compiled import intrinsic, lower_rule, seeds_of
from hygro.solve.dual.kinds import Dual, DualType, Slopes, dual_type, parts_of
from hygro.solve.dual.rules import constant
from hygro.solve.lanes import (
    Function,
    Lanes,
    Number,
    Type,
    Types,
)


def chain(v: Number, slope: Number, x: Number) -> Number:
    """A function of x that has the value v and the given slope over x."""
    d = {s: slope * t for s, t in parts_of(x)[1].items()}
    return Dual(v, d) if d else v


def unknown(name: str) -> Function:
    """The function that makes a value the unknown `name`: its slope over itself is 1."""

    def make(x: Number) -> Number:
        return Dual(x, {name: 1.0})

    intrinsic(
        make,
        lambda x: dual_type((name,), x.width),
        lambda b, to, args: (args[0][0], {name: constant(1.0, args[0][0])}),
    )
    return make


def slope_over(*names: str) -> Function:
    """The function that gives the slope over the first of some unknowns that x has; 0 for none."""

    def first(d: Slopes, none: Number) -> Number:
        return next((d[name] for name in names if name in d), none)

    def take(x: Number) -> Number:
        return first(parts_of(x)[1], 0.0)

    intrinsic(
        take,
        lambda x: Lanes(x.width),
        lambda b, to, args: (first(args[0][1], constant(0.0, args[0][0])), {}),
    )
    return take


def renamed(**names: str) -> Function:
    """The function that gives unknowns other names, here old=new."""

    def rename(x: Number) -> Number:
        v, d = parts_of(x)
        return Dual(v, {names.get(s, s): t for s, t in d.items()}) if d else x

    def typed(x: Type) -> Type:
        return dual_type((names.get(s, s) for s in seeds_of(x)), x.width) if seeds_of(x) else x

    intrinsic(
        rename,
        typed,
        lambda b, to, args: (args[0][0], {names.get(s, s): t for s, t in args[0][1].items()}),
    )
    return rename


def without(*names: str) -> Function:
    """The function that holds unknowns: what it gives has no slope over them."""

    def hold(x: Number) -> Number:
        v, d = parts_of(x)
        kept = {s: t for s, t in d.items() if s not in names}
        return Dual(v, kept) if kept else v

    def typed(x: Type) -> Type:
        kept = {*seeds_of(x)} - {*names}
        return dual_type(kept, x.width) if kept else Lanes(x.width)

    intrinsic(
        hold,
        typed,
        lambda b, to, args: (args[0][0], {s: t for s, t in args[0][1].items() if s not in names}),
    )
    return hold


@infer_global(chain)
class _Chain(AbstractTemplate):
    def generic(self, args: Types, kws: object) -> Signature | None:
        fits = len(args) == 3 and isinstance(args[2], (DualType, Lanes))
        if not (fits and isinstance(args[0], Lanes) and isinstance(args[1], Lanes)):
            return None
        seeds = seeds_of(args[2])
        return signature(dual_type(seeds, args[2].width) if seeds else args[0], *args)


for _kind in (DualType, Lanes):
    lower_rule(
        chain,
        (Lanes, Lanes, _kind),
        lambda b, to, a: (a[0][0], {s: b.fmul(a[1][0], t) for s, t in a[2][1].items()}),
    )
