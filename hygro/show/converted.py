"""Sentences with SI quantities in the other unit family. Owns which units are found in a text."""

from __future__ import annotations

import re

from hygro.units import System, parse, show

_KINDS = {
    "kg/m²": "mass per area",
    "kg/m³": "density",
    "°C": "temperature",
    "K": "temperature difference",
    "mm": "length",
    "m²·K/W": "thermal resistance",
    "W/(m²·K)": "thermal transmittance",
    "L/(s·m²)": "air flow",
    "ng/(Pa·s·m²)": "permeance",
}
_UNITS = "|".join(re.escape(unit) for unit in sorted(_KINDS, key=len, reverse=True))
_NUMBER = r"(?<![\w.])(-?\d+(?:\.\d+)?(?:e-?\d+)?)"
_QUANTITY = re.compile(rf"{_NUMBER}(?:(-| to )(-?\d+(?:\.\d+)?))? ({_UNITS})(?![\w/²·])")


def converted(text: str, system: System) -> str:
    """Return a sentence with the quantities that are found in it in the unit family."""
    # "R-35" says R already
    return text if system == "si" else _QUANTITY.sub(_in_ip, text).replace("R R-", "R-")


def _in_ip(found: re.Match[str]) -> str:
    first, joint, last, unit = found.groups()
    kind = _KINDS[unit]

    def say(number: str, *, unit_too: bool) -> str:
        value = parse(f"{number} {unit}", kind)
        return show(value, kind, system="ip", unit=unit_too)

    if last is None:
        return say(first, unit_too=True)
    return f"{say(first, unit_too=False)}{joint}{say(last, unit_too=True)}"
