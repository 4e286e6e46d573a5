"""How thick layers usually are, by what they are made of. Owns the ranges."""

from __future__ import annotations

from hygro.wall.elements import Layer

USUAL = {
    "sheathing": (0.004, 0.04),
    "finish": (0.001, 0.05),
    "insulation": (0.005, 0.5),
    "cladding": (0.0004, 0.06),
    "masonry": (0.05, 1.0),
    "framing": (0.01, 0.4),
}
"""Least and greatest usual thickness by group; common practice, no source. [m]"""
APART = {"clt": (0.04, 0.4), "clay-brick": (0.04, 0.25), "mortar": (0.003, 0.1)}
"""The same for keys that begin so and are unlike their group; common practice, no source. [m]"""


def usual(layer: Layer) -> tuple[float, float] | None:
    """Return least and greatest usual thickness; None for a group that is not known here. [m]"""
    key = layer.material.key
    apart = (bounds for start, bounds in APART.items() if key.startswith(start))
    return next(apart, USUAL.get(layer.material.group))
