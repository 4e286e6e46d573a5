"""What a graphics card wants to be told, and a processor does not."""

from __future__ import annotations

from llvmlite import ir

from hygro.solve.lanes.kinds import INT, Builder, Value


def on_a_card(builder: Builder) -> bool:
    """Whether code is written for a graphics card."""
    return builder.module.triple.startswith("nvptx")


def hidden(builder: Builder, value: Value) -> Value:
    """An integer of which a card's compiler knows nothing more, elsewhere itself.

    What follows from it is then worked out where it is needed, not kept in registers all along.
    """
    if not on_a_card(builder):
        return value
    letter, kind = {32: "r", 64: "l"}[value.type.width], ir.FunctionType(value.type, [value.type])
    move = f"mov.b{value.type.width} $0, $1;"
    return builder.asm(kind, move, f"={letter},{letter}", [value], side_effect=True)


def bring_near(builder: Builder, pointer: Value) -> None:
    """The line of memory that a place stands in, into the first cache of a card."""
    kind = ir.FunctionType(ir.VoidType(), [INT])
    place = builder.ptrtoint(pointer, INT)
    builder.asm(kind, "prefetch.global.L1 [$0];", "l", [place], side_effect=True)
