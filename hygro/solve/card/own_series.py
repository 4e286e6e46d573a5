"""What a thread reads of series that walls share: rows of the set that its wall has."""

from __future__ import annotations

import operator
from typing import Any

from llvmlite import ir
from numba import types
from numba.core import cgutils
from numba.core.imputils import lower_builtin
from numba.core.typing.templates import AbstractTemplate, Signature, infer_global, signature
from numba.extending import intrinsic, models, register_model

from hygro.solve.lanes import Builder, Type, Types, Value, Values, hidden


class OwnType(types.Type):
    """An array of sets, of which a wall has the one that `of[row, wall]` names.

    Which one is looked up at every reading: series are read once a step, and what is known from the
    start stays in registers. The first index, that of a lane, says nothing.
    """

    def __init__(self, array: Type, of: Type, row: int) -> None:
        self.array, self.of, self.row = array, of, row
        super().__init__(name=f"Own({array}, {of}, {row})")


@register_model(OwnType)
class _OwnModel(models.StructModel):
    def __init__(self, dmm: object, fe: OwnType) -> None:
        super().__init__(dmm, fe, [("array", fe.array), ("of", fe.of), ("wall", types.intp)])


@intrinsic
def own_series(typingctx: object, group: Type, of: Type, wall: Type) -> Any:
    """A named tuple of arrays of sets, as the thread of a wall reads it; row r of `of` is for
    array r.
    """
    if not isinstance(group, types.BaseNamedTuple):
        return None
    named: Any = group
    kinds = [OwnType(typ, of, row) for row, typ in enumerate(named.types)]
    made = types.BaseTuple.from_types(kinds, named.instance_class)

    def codegen(context: Any, builder: Builder, sig: Any, args: Values) -> Value:
        own = []
        for typ, x in zip(kinds, cgutils.unpack_tuple(builder, args[0]), strict=True):
            one = cgutils.create_struct_proxy(typ)(context, builder)
            one.array, one.of, one.wall = x, args[1], args[2]
            own.append(one._getvalue())
        return context.make_tuple(builder, made, own)

    return made(group, of, types.intp), codegen


@infer_global(operator.getitem)
class _GetItem(AbstractTemplate):
    def generic(self, args: Types, kws: object) -> Signature | None:
        own, _ = args
        if not isinstance(own, OwnType):
            return None
        return signature(own.array.dtype, own, types.UniTuple(types.intp, own.array.ndim))


@lower_builtin(operator.getitem, OwnType, types.Any)
def _read(context: Any, builder: Builder, sig: Signature, args: Values) -> Value:
    typ, short = sig.args[0], ir.IntType(32)

    def joined(flat: Value, size: Value, part: Value) -> Value:
        flat = builder.mul(flat, builder.trunc(size, short), flags=["nsw"])
        return builder.add(flat, builder.trunc(part, short), flags=["nsw"])

    own = cgutils.create_struct_proxy(typ)(context, builder, value=args[0])
    of = context.make_array(typ.of)(context, builder, own.of)
    walls = cgutils.unpack_tuple(builder, of.shape)[1]
    wall = hidden(builder, builder.trunc(own.wall, short))
    at = joined(short(typ.row), walls, wall)
    flat = builder.trunc(builder.load(builder.gep(of.data, [at])), short)
    array = context.make_array(typ.array)(context, builder, own.array)
    sizes = cgutils.unpack_tuple(builder, array.shape)[1:]
    for size, part in zip(sizes, cgutils.unpack_tuple(builder, args[1])[1:], strict=True):
        flat = joined(flat, size, part)
    return builder.load(builder.gep(array.data, [flat]))
