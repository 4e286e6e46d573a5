"""Corrosivity of the air at metal from hours of wetness. Owns the classes; reads no record.

The time of wetness counts hours above 80 % RH and 0 °C; its classes and the categories they give
for carbon steel in clean air (no sulphur dioxide, no salt) are those of ISO 9223:1992, from memory.
"""

from __future__ import annotations

from collections.abc import Sequence

from hygro.errors import InputError

CATEGORIES = ("C1", "C2", "C3", "C4", "C5")
"""Corrosivity categories of ISO 9223, mildest first."""
AGGRESSIVE = "aggressive"
WETNESS = ((10.0, 1), (250.0, 1), (2500.0, 3), (5500.0, 3), (float("inf"), 4))
"""Most hours of wetness a year of the classes τ1 to τ5, and the category of carbon steel in clean
air, the upper where the standard gives two (ISO 9223:1992, from memory). [h], [1]"""
CONTACT = 1
"""Categories more where the material that metal touches is aggressive when damp (our choice)."""


def category(hours: float, touches: Sequence[str] = ()) -> int:
    """Corrosivity category 1 to 5 of metal that is wet so many hours a year.

    Parameters
    ----------
    hours : float
        Above 80 % RH and 0 °C, of a year. [h]
    touches : sequence of str
        What the materials in contact state: "neutral", "alkaline", "aggressive", or of a metal its
        category. Without wetness (class τ1) contact does nothing.

    Raises
    ------
    InputError
        For hours out of 0 to 8784.
    """
    if not 0.0 <= hours <= 8784.0:
        raise InputError(f"time of wetness: {hours:g} h a year: must be 0 to 8784 h")
    found = next(number for most, number in WETNESS if hours <= most)
    damp = hours > WETNESS[0][0]
    return found + CONTACT if damp and AGGRESSIVE in touches else found


def number_of(name: str) -> int:
    """Number of a category by its name, 1 for "C1"."""
    return CATEGORIES.index(name) + 1
