"""Whether the elements of a wall stand from outside to inside. Owns that question alone."""

from __future__ import annotations

from collections.abc import Sequence

from hygro.errors import InputError
from hygro.wall.elements import Gap, Layer, Membrane

INDOORS = frozenset(
    {
        "gypsum-board", "gypsum-fibre-board", "gypsum-plaster", "clay-plaster", "latex-paint",
        "primer-paint", "retarder-paint", "emulsion-paint", "gloss-paint", "vinyl-wallpaper",
        "paper-wallpaper",
    }
)  # fmt: skip
"""Materials of the library that face a room and never the weather (common practice, no source)."""


def refuse_inside_out(elements: Sequence[Layer | Membrane | Gap]) -> None:
    """Raise `InputError` where an indoor finish stands outermost and none innermost.

    A partition has one on both sides and is fine.
    """
    first, last = elements[0], elements[-1]
    if _indoors(first) and not _indoors(last):
        raise InputError(
            f"layers: '{first.name}' stands outermost, '{last.name}' innermost: layers go from "
            "outside to inside; is the list turned round?"
        )


def _indoors(element: Layer | Membrane | Gap) -> bool:
    return not isinstance(element, Gap) and element.material.key in INDOORS
