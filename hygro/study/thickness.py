"""How thick layers usually are, by what they are made of. Owns the ranges."""

from __future__ import annotations

from hygro.units import convert
from hygro.wall.elements import Layer, declared_conductivity

MUCH_R = 8.0
"""R of one layer of insulation that is told of: 0.3 m of mineral wool (our choice). [m²·K/W]"""
USUAL = {
    "sheathing": (0.004, 0.04),
    "finish": (0.001, 0.05),
    "insulation": (0.005, 0.5),
    "cladding": (0.0004, 0.06),
    "masonry": (0.05, 1.0),
    "framing": (0.01, 0.4),
}
"""Least and greatest usual thickness by group; common practice, no source. [m]"""
APART = {
    "clt": (0.04, 0.4),
    "clay-brick": (0.04, 0.25),
    "mortar": (0.003, 0.1),
    "glass-wool-batt": (0.038, 0.5),
    "stone-wool-batt": (0.038, 0.5),
}
"""The same for keys that begin so and are unlike their group; common practice, no source. [m]"""


def usual(layer: Layer) -> tuple[float, float] | None:
    """Return least and greatest usual thickness; None for a group that is not known here. [m]"""
    key = layer.material.key
    apart = (bounds for start, bounds in APART.items() if key.startswith(start))
    return next(apart, USUAL.get(layer.material.group))


def much_resistance(layer: Layer) -> str:
    """Say that a layer may have an R of one unit family that was written in the other; or ""."""
    R = layer.thickness / declared_conductivity(layer.material)
    if layer.material.group != "insulation" or R <= MUCH_R or layer.thick:
        return ""
    told = convert(R, "thermal resistance", "R")
    return (
        f"'{layer.name}' is rated R {R:.2f} m²·K/W, or R-{told:.0f}: "
        f'much for one layer; is it an R-value? write "R-{R:.3g}"'
    )
