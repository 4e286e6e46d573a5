"""The residential code beside a verdict: zone found, retarder class, least R outside, for its wall.

Owns the look-up for a wall in a climate; the tables are in `hygro.wall.codes`. A look-up is no
proof of compliance, and a wall that has the code's R is not thereby dry: a humid room may need
twice as much.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

import xarray as xr

from hygro.errors import InputError
from hygro.wall.codes import Framing, least_outer_resistance, permitted, retarder_class
from hygro.wall.elements import Element, Gap, Layer, declared_conductivity
from hygro.wall.resistance import first_counted
from hygro.wall.wall import Wall
from weather.errors import WeatherError
from weather.summary import summarise

if TYPE_CHECKING:
    from hygro.wall.hand_wall import LayerRow

EDITION = "2021"
STUDS = (0.060, 0.115, 0.200)
"""Depth of a cavity taken for that of 2x4 (from the first) and 2x6 studs (from the second). [m]"""


class CodeBeside(NamedTuple):
    """What the IRC asks of a wood-framed wall like this one, as far as its tables are at hand."""

    zone: str
    """Thermal zone of the weather, ASHRAE 169; "4C" where it is marine."""
    edition: str
    retarder: str
    """Class of the tightest element inward of the sheathing: I, II, III or open."""
    permitted: str
    """Whether that class may stand inside: yes, no, conditional; "not available"."""
    outboard: float
    """R of the elements between cladding and sheathing, as rated. [m²·K/W]"""
    least: float | None
    """Least continuous insulation outside; None where the tables have no value. [m²·K/W]"""
    place: str
    """Row of the table, or why there is none."""
    mark: str
    """How the value is known here."""

    @property
    def below(self) -> bool | None:
        """Whether the wall has less outside than the code's R; None where that is not known."""
        # A thousandth for rounded thicknesses.
        return None if self.least is None else self.outboard < 0.999 * self.least


def code_beside(
    wall: Wall, rows: Sequence[LayerRow], climate: xr.Dataset, sheathing: str
) -> CodeBeside | None:
    """Look up the code for a wall; None where the climate is not whole years.

    Parameters
    ----------
    wall : Wall
        Outside to inside.
    rows : sequence of LayerRow
        Its elements in hand numbers, in order.
    climate : Dataset
        Canonical weather.
    sheathing : str
        What stands outside of it counts as outboard.
    """
    try:
        found = summarise(climate)
    except WeatherError:
        return None
    zone = "4C" if found.thermal_zone == 4 and found.moisture_regime == "C" else None
    zone = zone or str(found.thermal_zone)
    at = [row.name for row in rows].index(sheathing)
    outer = slice(max(first_counted(wall), 1), at)
    outboard = sum(map(_rated, wall.layers[outer], rows[outer]))
    retarder = retarder_class(min((row.permeance for row in rows[at + 1 :]), default=1e-6))
    allowed, least, place, mark = _rule(zone, _framing(wall, at), retarder)
    return CodeBeside(zone, EDITION, retarder, allowed, outboard, least, place, mark)


def _rated(element: Element, row: LayerRow) -> float:
    """R at the mean temperature of the rating, which the code asks for: not that of a cold day."""
    if isinstance(element, Layer):
        return element.thickness / declared_conductivity(element.material)
    return row.R


def _rule(zone: str, framing: Framing | None, retarder: str) -> tuple[str, float | None, str, str]:
    allowed = "yes"
    try:
        if retarder != "open":
            allowed = permitted(zone, retarder).answer  # type: ignore[arg-type]
    except InputError:
        allowed = "not available"
    if framing is None:
        return allowed, None, "no stud cavity of 2x4 or 2x6 inside of the sheathing", ""
    if retarder == "I":
        return allowed, None, "the table asks nothing outside of a class I retarder", ""
    inner = "II" if retarder == "II" else "III"
    try:
        value = least_outer_resistance(zone, framing, inner, edition=EDITION)  # type: ignore[arg-type]
    except InputError:
        return allowed, None, f"IRC {EDITION}: no value at hand for zone {zone}, class {inner}", ""
    return allowed, value.R, value.place, value.mark


def _framing(wall: Wall, sheathing: int) -> Framing | None:
    """Studs that the deepest layer or gap inside of the sheathing leaves room for."""
    inside = wall.layers[sheathing + 1 :]
    depths = [e.depth if isinstance(e, Gap) else getattr(e, "thickness", 0.0) for e in inside]
    deepest = max(depths, default=0.0)
    if not STUDS[0] <= deepest <= STUDS[2]:
        return None
    return "2x4" if deepest < STUDS[1] else "2x6"
