"""Units that tables may have, and the step from each to the canonical unit."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import NamedTuple

from weather.constants import HOUR_SECONDS, ZERO_CELSIUS


class Unit(NamedTuple):
    """Canonical value = scale · value + shift."""

    scale: float = 1.0
    shift: float = 0.0


UNITS: Mapping[str, Mapping[str, Unit]] = {
    "K": {
        "K": Unit(),
        "degC": Unit(1.0, ZERO_CELSIUS),
        "degF": Unit(5.0 / 9.0, 459.67 * 5.0 / 9.0),
    },
    "1": {"1": Unit(), "%": Unit(0.01), "tenths": Unit(0.1), "octas": Unit(0.125)},
    "Pa": {"Pa": Unit(), "hPa": Unit(100.0), "mbar": Unit(100.0), "kPa": Unit(1e3)},
    "m/s": {
        "m/s": Unit(),
        "km/h": Unit(1.0 / 3.6),
        "knot": Unit(1852.0 / HOUR_SECONDS),
        "mph": Unit(0.44704),
    },
    "degree": {"degree": Unit(), "rad": Unit(180.0 / math.pi)},
    "W/m2": {"W/m2": Unit(), "kJ/(m2 h)": Unit(1.0 / 3.6), "Wh/m2": Unit()},
    "m": {"m": Unit(), "cm": Unit(0.01), "mm": Unit(0.001), "in": Unit(0.0254)},
    "kg/m2": {
        "kg/m2": Unit(),
        "mm": Unit(),
        "0.1 mm": Unit(0.1),
        "in": Unit(25.4),
        "kg/(m2 s)": Unit(HOUR_SECONDS),
        "m": Unit(1000.0),
    },
}
"""By canonical unit."""


def plain(unit: str) -> str:
    """Spell a unit without special characters: °C is degC, m² is m2."""
    return unit.strip().replace("°", "deg").replace("²", "2")
