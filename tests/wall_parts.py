"""What random walls are made of: library materials and common thicknesses. Asserts nothing."""

from __future__ import annotations

from hygro.material import Material, SheetMaterial
from hygro.material.library import library

THICKNESS = {
    "cladding": (0.006, 0.1),
    "masonry": (0.02, 0.3),
    "insulation": (0.02, 0.25),
    "sheathing": (0.006, 0.03),
    "finish": (0.005, 0.03),
}
"""Common thicknesses by group of the library. [m]"""
MATERIALS = sorted(
    (m for m in library().values() if isinstance(m, Material) and m.group != "benchmark"),
    key=lambda material: material.key,
)
"""All of the library but the printed benchmark functions, which are no materials."""
SHEETS = sorted(
    (m for m in library().values() if isinstance(m, SheetMaterial)), key=lambda sheet: sheet.key
)


FACES = [m for m in MATERIALS if m.group not in ("insulation", "benchmark")]
"""What may stand at the faces of a wall that is meant to be one: no bare insulation."""
INSULATION = [m for m in MATERIALS if m.group == "insulation"]
