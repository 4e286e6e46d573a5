"""Moisture that is built in: the state of layers when the wall is closed.

Owns the rules for protected and unprotected construction; the state itself is an `Initial`.
"""

from __future__ import annotations

from hygro.material import Material
from hygro.wall.assembly import Initial

PROTECTED_RH = 0.80
"""Equilibrium of layers kept dry on site, ASHRAE 160 (as quoted in papers that apply it). [1]"""
CONCRETE_RH = 0.90
"""The same for concrete, ASHRAE 160 (from memory). [1]"""
UNPROTECTED_FACTOR = 2.0
"""Unprotected construction holds twice the water of 80 % RH, ASHRAE 160 (as quoted in papers that
apply it: about 24 % by mass in timber). [1]"""


def unprotected(material: Material, *, factor: float = UNPROTECTED_FACTOR) -> Initial:
    """State of a layer built in unprotected: `factor` times its water at 80 % RH.

    Never more than full pores hold. A material that holds next to no water at 80 % RH (wool, foam)
    gets next to none.
    """
    water = factor * float(material.water_content(PROTECTED_RH))
    return Initial(moisture_content=min(water, material.w_max) / material.density)
