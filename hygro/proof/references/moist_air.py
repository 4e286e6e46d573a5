"""Moist air by formulas other than those of the package: saturation, mixtures, enthalpy.

Owns them; knows nothing of walls. Coefficients from memory; `tests/twin` holds them to two
libraries.
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq

from hygro.proof.references.physics import ZERO_CELSIUS, Array

RATIO = 0.621945
"""Molar mass of water over that of dry air. [-]"""
_REGION_4 = (
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5,
    -0.32325550322333e7, 0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6,
    -0.23855557567849, 0.65017534844798e3,
)  # fmt: skip
_TRIPLE_T, _TRIPLE_P = 273.16, 611.657
_SUBLIMATION = (
    (-21.2144006, 0.333333333e-2),
    (27.3203819, 1.20666667),
    (-6.10598130, 1.70333333),
)


def over_water(temperature: Array) -> Array:
    """Saturation pressure over water, IAPWS-IF97 equation 30, 0 to 374 °C. [Pa]

    Parameters
    ----------
    temperature : array
        [K]
    """
    n = _REGION_4
    theta = temperature + n[8] / (temperature - n[9])
    a = theta**2 + n[0] * theta + n[1]
    b = n[2] * theta**2 + n[3] * theta + n[4]
    c = n[5] * theta**2 + n[6] * theta + n[7]
    found: Array = 1e6 * (2.0 * c / (-b + np.sqrt(b**2 - 4.0 * a * c))) ** 4
    return found


def over_ice(temperature: Array) -> Array:
    """Sublimation pressure, IAPWS R14-08 equation 6, down to 50 K. [Pa]

    Parameters
    ----------
    temperature : array
        Below 273.16. [K]
    """
    theta = temperature / _TRIPLE_T
    found: Array = _TRIPLE_P * np.exp(sum(a * theta**b for a, b in _SUBLIMATION) / theta)
    return found


def dew_point(pressure: float) -> float:
    """Temperature at which `over_water` is a pressure [Pa], 0 to 100 °C. [K]"""
    return float(brentq(lambda t: float(over_water(np.array(t))) - pressure, 273.15, 373.15))


def humidity_ratio(vapour_pressure: Array, pressure: float) -> Array:
    """Vapour per dry air, both ideal. [kg/kg]"""
    return RATIO * vapour_pressure / (pressure - vapour_pressure)


def enhancement(pressure: float) -> float:
    """Saturation pressure in air over that of pure water, Buck 1981, at room temperatures. [-]

    Parameters
    ----------
    pressure : float
        Of the air. [Pa]
    """
    hectopascal = 0.01 * pressure
    return 1.0016 + 3.15e-6 * hectopascal - 0.074 / hectopascal


def enthalpy(temperature: Array, ratio: Array) -> Array:
    """Per dry air, 0 at 0 °C and dry: 1.006 θ + x (2501 + 1.86 θ) in kJ. [J/kg]"""
    theta = temperature - ZERO_CELSIUS
    return 1006.0 * theta + ratio * (2.501e6 + 1860.0 * theta)
