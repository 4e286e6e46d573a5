"""Numbers with slopes: their type for the compiler, and for kernels that are not compiled."""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterable
from functools import lru_cache
from typing import TypeAlias

from numba import types
from numba.core.typeconv import Conversion
from numba.extending import models, register_model

from hygro.solve.lanes import (
    Builder,
    Lanes,
    Number,
    Type,
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
        return self if self.v >= 0 else Dual(-self.v, {s: -t for s, t in self.d.items()})

    def __eq__(self, other: object) -> bool:
        return bool(self.v == value(other))

    __hash__ = None  # type: ignore[assignment]

    def __le__(self, other: Dual | float) -> bool:
        return bool(self.v <= value(other))

    def __ge__(self, other: Dual | float) -> bool:
        return bool(self.v >= value(other))


class Plain:
    """What `ir.IRBuilder` does, on plain numbers at once."""

    fadd, fsub = staticmethod(operator.add), staticmethod(operator.sub)
    fmul, fdiv = staticmethod(operator.mul), staticmethod(operator.truediv)


def parts_of(x: Number) -> Parts:
    """Value and slopes of a number."""
    return (x.v, x.d) if isinstance(x, Dual) else (x, {})


Arithmetic: TypeAlias = Builder | type[Plain]


def value(x: Number) -> Number:
    """The value without its slopes."""
    return x.v if isinstance(x, Dual) else x
