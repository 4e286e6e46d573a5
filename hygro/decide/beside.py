"""What stands beside a map: the project's own point, the code's, the steady dew-point line."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from contourpy import contour_generator

from hygro.decide.base import room_of, wall_of
from hygro.decide.boundary import Array, Numbers, grid
from hygro.decide.dimension import Dimension
from hygro.decide.map import MapResult, scaled
from hygro.decide.plan import at_points
from hygro.errors import HygroError
from hygro.study.code import CodeBeside
from hygro.study.hand import HandNumbers, hand_numbers, judged_layer

STEPS = 13
"""Points along each side at which the steady calculation is made."""
RESISTANCE = ("outboard_share", "outboard_R")
"""Quantities on which the code's least outboard R can be drawn."""


class Beside(NamedTuple):
    """What is drawn beside the map, in the units of x and y.

    Attributes
    ----------
    own : (x, y) or None
        The project as written; None where it lies outside or is no number.
    dew_lines : list of (n, 2) arrays
        Where a steady calculation of the three coldest months has the inner face of the sheathing
        at the indoor dew point.
    code : float or None
        The code's least outboard R on the axis it belongs to.
    code_on : {"x", "y", ""}
        Which axis that is.
    code_words : str
        What the code says, or why it says nothing.
    """

    own: tuple[float, float] | None
    dew_lines: list[Numbers]
    code: float | None
    code_on: str
    code_words: str


def beside(found: MapResult) -> Beside:
    """Compute what stands beside a map."""
    base, both = found.plan.base, found.plan.dimensions
    climate = base.climates.at(base.tables["climate"]).data
    hand = hand_numbers(base.wall, climate, base.room, judged_layer(base.wall))
    on = next((axis for axis, d in zip("xy", both, strict=True) if d.name in RESISTANCE), "")
    value, words = _code(both["xy".index(on)] if on else None, hand)
    own = tuple(own_value(d) for d in both)
    inside = None not in own and all(
        d.values[0] <= v <= d.values[-1] for d, v in zip(both, own, strict=True) if v is not None
    )
    return Beside(
        (float(own[0] or 0.0), float(own[1] or 0.0)) if inside else None,
        _dew_lines(found),
        value,
        on if value is not None else "",
        words,
    )


def own_value(d: Dimension) -> float | None:
    """What the run as written has, in the unit of an axis; None where it is no number."""
    if d.slot.now is None:
        return None
    return in_unit(d, d.slot.now)


def in_unit(d: Dimension, si: float) -> float | None:
    """A settled value in the unit of an axis."""
    low, high = float(d.values[0]), float(d.values[-1])
    a, b = d.settled(low), d.settled(high)
    if not isinstance(a, float) or not isinstance(b, float) or a == b:
        return si
    return low + (high - low) * (si - a) / (b - a)


def _code(d: Dimension | None, hand: HandNumbers) -> tuple[float | None, str]:
    code: CodeBeside | None = hand.code
    if d is None:
        return None, "no line of the code: neither axis is outboard_share or outboard_R"
    if code is None or code.least is None:
        return None, "no code value: " + (
            "not whole years of weather" if code is None else code.place
        )
    words = (
        f"IRC {code.edition}, zone {code.zone}, studs and retarder as written: "
        f"R {code.least:.2f} m²·K/W outboard"
    )
    if d.name == "outboard_R":
        return in_unit(d, code.least), words
    assert d.slot.now is not None
    total = code.outboard / d.slot.now if d.slot.now > 0.0 else np.inf
    share = code.least / total
    return (in_unit(d, float(share)), words) if share <= 1.0 else (None, words + ": not reached")


def _dew_lines(found: MapResult) -> list[Array]:
    """Zero lines of outboard share minus the share that a steady calculation asks."""
    both = (found.x, found.y)
    plan = at_points(found.plan, scaled(both, grid(STEPS)).T.tolist())
    values = np.full(STEPS * STEPS, np.nan)
    for k in range(STEPS * STEPS):
        tables = plan.tables(k)
        try:
            wall = wall_of(tables["wall"], plan.base.wall.name)
            room = room_of(tables["room"], plan.base.given)
            hand = hand_numbers(wall, plan.climate(tables).data, room, judged_layer(wall))
        except HygroError:
            continue
        values[k] = hand.outboard_share - hand.least_share
    side = np.linspace(0.0, 1.0, STEPS)
    field = np.ma.masked_invalid(values.reshape(STEPS, STEPS).T)
    lines = contour_generator(side, side, field).lines(0.0)
    return [scaled(both, np.asarray(line)) for line in lines]
