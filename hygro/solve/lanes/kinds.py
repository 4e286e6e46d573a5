"""What the compiler knows of numbers in lanes: their types, and how each lies in memory."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, TypeAlias

import numpy as np
from llvmlite import ir
from numba import types
from numba.core.typeconv import Conversion
from numba.extending import models, register_model
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


def vector(element: ir.Type, width: int) -> ir.Type:
    """The machine's type of W numbers side by side."""
    return element if width == 1 else ir.VectorType(element, width)


@register_model(Lanes)
class _LanesModel(models.PrimitiveModel):
    def __init__(self, dmm: object, fe: Lanes) -> None:
        super().__init__(dmm, fe, vector(DOUBLE, fe.width))


@register_model(Mask)
class _MaskModel(models.PrimitiveModel):
    def __init__(self, dmm: object, fe: Mask) -> None:
        super().__init__(dmm, fe, vector(ir.IntType(1), fe.width))


@register_model(LaneArrayType)
class _LaneArrayModel(models.StructModel):
    def __init__(self, dmm: object, fe: LaneArrayType) -> None:
        members = [("data", types.CPointer(types.float64)), ("rows", types.intp)]
        if fe.tiled:
            members += [("tile", types.intp), ("place", types.intp)]
        super().__init__(dmm, fe, members)
