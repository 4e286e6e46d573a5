"""A wall as hand calculations see it: rows of R and permeance, and the steady wall of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from hygro.constants import STILL_AIR_PERMEABILITY
from hygro.wall.elements import Gap, Layer, Membrane
from hygro.wall.resistance import HAND_RH, first_counted, outer_film, resistance
from hygro.wall.steady import SteadyLayer, SteadyWall
from hygro.wall.wall import Wall


class LayerRow(NamedTuple):
    """One element of the wall in hand numbers."""

    name: str
    made_of: str
    thickness: float
    """[m]"""
    R: float
    """[m²·K/W]"""
    permeance: float
    """[kg/(m²·s·Pa)]"""


def layer_rows(wall: Wall) -> tuple[LayerRow, ...]:
    """Rows of all elements, outside to inside, at 50 % RH and 10 °C."""
    return tuple(_row(element) for element in wall.layers)


def steady_wall(wall: Wall, rows: Sequence[LayerRow]) -> SteadyWall:
    """Leave out a well-ventilated gap and what stands outside of it, as ISO 6946 does."""
    layers = tuple(
        SteadyLayer(row.name, row.R, 1.0 / row.permeance) for row in rows[first_counted(wall) :]
    )
    return SteadyWall(layers, R_se=outer_film(wall))


def _row(element: Layer | Membrane | Gap) -> LayerRow:
    if isinstance(element, Gap):
        name, permeance = (
            f"air, {element.depth * 1000:g} mm",
            STILL_AIR_PERMEABILITY / element.depth,
        )
        return LayerRow(element.name, name, element.depth, resistance(element), permeance)
    if isinstance(element, Membrane):
        sheet = element.material
        permeance = float(sheet.permeance.permeance(HAND_RH))
        return LayerRow(element.name, sheet.name, 0.0, sheet.thermal_resistance, permeance)
    permeance = float(element.material.vapour.permeability(HAND_RH)) / element.thickness
    R = resistance(element)
    return LayerRow(element.name, element.material.name, element.thickness, R, permeance)
