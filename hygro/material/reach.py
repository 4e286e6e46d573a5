"""How deep moisture reaches into a material within a day, by which its cells are sized."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from hygro.constants import GAS_CONSTANT_VAPOUR, REFERENCE_TEMPERATURE, WATER_DENSITY
from hygro.material.model import Material

DAY = 86400.0
AT_RH, APART = 0.8, 0.01
LIQUID = 0.25
"""Share at which liquid counts: it carries less and less as a layer dries; our choice. [1]"""
SATURATION_20C = 2339.0
"""Saturation pressure at 20 °C (ISO 13788). [Pa]"""


@lru_cache(maxsize=256)
def daily_reach(material: Material) -> float:
    """Penetration depth of a daily swing of the humidity at 20 °C and 80 % RH. [m]

    d = √(D P / π), D = (δ p_sat + m/4) / (dw/drh), P a day, m what liquid carries per drh: the
    depth at which a sine has fallen to 1/e (ISO 13786 writes it for heat). Infinite where the
    storage curve is flat.
    """
    dry, wet = (-math.log(AT_RH + x) for x in (-APART, APART))
    held = material.storage.water_content(np.array([dry, wet]))
    slope = float(held[1] - held[0]) / (2.0 * APART)
    if slope <= 0.0:
        return math.inf
    permeability = float(material.vapour.permeability(np.array([AT_RH]))[0])
    carries = permeability * SATURATION_20C + LIQUID * _liquid(material, slope)
    return math.sqrt(carries / slope * DAY / math.pi)


def _liquid(material: Material, slope: float) -> float:
    """What liquid carries per gradient of the humidity. [kg/(m·s)]"""
    liquid = material.liquid
    if liquid is None:
        return 0.0
    w = material.storage.water_content(np.array([-math.log(AT_RH)]))
    if liquid.driving == "diffusivity":
        return float(liquid.diffusivity(w)[0]) * slope
    per_rh = WATER_DENSITY * GAS_CONSTANT_VAPOUR * REFERENCE_TEMPERATURE / AT_RH
    return float(liquid.conductivity(w)[0]) * per_rh
