"""Steady thermal resistance of the elements of a wall, as hand calculations see them.

Owns the declared state of materials and the resistance of still gaps; knows no climate.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from hygro.material import Material
from hygro.wall.elements import Gap, Layer, Membrane, Washing
from hygro.wall.wall import Wall

HAND_RH = 0.5
"""Humidity of the materials in the hand numbers; common practice, no source. [1]"""
HAND_TEMPERATURE = 283.15
"""Mean temperature of the materials, 10 °C as declared values have it (ISO 10456). [K]"""
VENTILATED = 10.0
"""A gap with more air changes counts as well ventilated; common practice, no source. [1/h]"""
R_SI, R_SE, R_SE_VENTILATED = 0.13, 0.04, 0.13
"""Surface resistances of ISO 6946, horizontal heat flow; a surface facing a well-ventilated
gap has that of still air (from memory). [m²·K/W]"""

# ISO 6946:2017, unventilated air layers, horizontal heat flow (from memory): depth [m], R [m²·K/W]
_GAP = ((0.0, 0.0), (0.005, 0.11), (0.007, 0.13), (0.010, 0.15), (0.015, 0.17), (0.025, 0.18))


def _at(x: float, points: Sequence[Sequence[float]]) -> float:
    """Value of a polygon, held constant beyond its ends."""
    xs, ys = np.asarray(points, dtype=float).T
    return float(np.interp(x, xs, ys))


def conductivity(material: Material) -> float:
    """Conductivity at 50 % RH and a mean of 10 °C. [W/(m·K)]"""
    value = float(material.thermal.conductivity(material.water_content(HAND_RH)))
    points = material.thermal.temperature_factor
    if points is None:
        return value
    return value * _at(HAND_TEMPERATURE, points)


def resistance(element: Layer | Membrane | Gap) -> float:
    """Resistance of one element; a gap as if unventilated, a washing plane 0. [m²·K/W]"""
    if isinstance(element, Gap):
        return 0.0 if isinstance(element.air_change, Washing) else _at(element.depth, _GAP)
    if isinstance(element, Membrane):
        return element.material.thermal_resistance
    return element.thickness / conductivity(element.material)


def is_ventilated(gap: Gap) -> bool:
    """Whether a gap counts as well ventilated, so that nothing outside of it insulates."""
    change = gap.air_change
    if isinstance(change, Washing):
        return False
    if isinstance(change, int | float):
        return change > VENTILATED
    return float(np.mean(change)) > VENTILATED if isinstance(change, tuple) else True


def first_counted(wall: Wall) -> int:
    """Index of the first element that insulates: behind the last well-ventilated gap (ISO 6946)."""
    vented = [i for i, e in enumerate(wall.layers) if isinstance(e, Gap) and is_ventilated(e)]
    return vented[-1] + 1 if vented else 0


def outer_film(wall: Wall) -> float:
    """Outer surface resistance that goes with `first_counted`. [m²·K/W]"""
    return R_SE_VENTILATED if first_counted(wall) else R_SE
