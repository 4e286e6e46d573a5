"""Material of the EN 15026 benchmark, as printed functions. Owns these curves and no equation.

EN 15026:2007 annex A, from memory; p is the suction in Pa, w the water content in kg/m³.
"""

from __future__ import annotations

import numpy as np

from hygro.proof.references.physics import Array, Constants

SATURATION = 146.0
"""Water content at saturation. [kg/m³]"""
DRY_HEAT_CAPACITY = 1.824e6
"""Volumetric heat capacity of the dry material. [J/(m³·K)]"""


def water_content(suction: Array) -> Array:
    """Retention curve w(p). [kg/m³]"""
    return SATURATION / (1.0 + (8e-8 * np.asarray(suction)) ** 1.6) ** 0.375


def water_content_log_slope(suction: Array) -> Array:
    """Derivative dw/d(ln p) of the retention curve. [kg/m³]"""
    power = (8e-8 * np.asarray(suction)) ** 1.6
    return -0.375 * 1.6 * SATURATION * power * (1.0 + power) ** -1.375


def suction(content: Array) -> Array:
    """Inverse of the retention curve, 0 < w < 146. [Pa]"""
    return 0.125e8 * ((SATURATION / np.asarray(content)) ** (1.0 / 0.375) - 1.0) ** 0.625


def liquid_conductivity(content: Array) -> Array:
    """Liquid conductivity K(w), for the gradient of suction. [s]"""
    z = np.asarray(content) - 73.0
    terms = (-39.2619, 0.0704, -1.7420e-4, -2.7953e-6, -1.1566e-7, 2.5969e-9)
    return np.exp(np.polynomial.polynomial.polyval(z, terms))


def vapour_permeability(content: Array, temperature: Array, constants: Constants) -> Array:
    """Vapour permeability, for the gradient of vapour pressure. [kg/(m·s·Pa)]"""
    dry = 1.0 - np.asarray(content) / SATURATION
    factor = dry / (0.503 * dry**2 + 0.497)
    return 26.1e-6 / 200.0 / (constants.vapour_gas_constant * temperature) * factor


def thermal_conductivity(content: Array) -> Array:
    """Thermal conductivity λ(w). [W/(m·K)]"""
    return 1.5 + 15.8e-3 * np.asarray(content)
