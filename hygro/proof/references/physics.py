"""Moist-air and pore-water relations of the reference solutions. Owns them; knows no wall.

Written a second time on purpose: the engine has its own copies, and a mistake in one of them
shows as a difference.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

ZERO_CELSIUS = 273.15
"""0 °C on the absolute scale. [K]"""
CURVE_TEMPERATURE = 293.15
"""Temperature at which retention curves are read as functions of humidity. [K]"""


class Constants(NamedTuple):
    """Physical constants of one reference run.

    Attributes
    ----------
    vapour_gas_constant : float
        Specific gas constant of water vapour. [J/(kg·K)]
    water_density : float
        Density of liquid water. [kg/m³]
    water_heat : float
        Specific heat capacity of liquid water. [J/(kg·K)]
    vapour_heat : float
        Specific heat capacity of water vapour. [J/(kg·K)]
    evaporation_heat : float
        Enthalpy of evaporation at 0 °C. [J/kg]
    """

    vapour_gas_constant: float = 461.5
    water_density: float = 1000.0
    water_heat: float = 4180.0
    vapour_heat: float = 1860.0
    evaporation_heat: float = 2.5e6


def saturation_pressure(temperature: Array) -> Array:
    """Saturation vapour pressure, over ice below 0 °C. [Pa]

    ISO 13788:2012 annex E (from memory): 610.5 exp(17.269 θ/(237.3 + θ)) at and above 0 °C,
    610.5 exp(21.875 θ/(265.5 + θ)) below; the two meet at 0 °C with different slopes.

    Parameters
    ----------
    temperature : array
        Temperature, -40 to 60 °C. [K]
    """
    theta = np.asarray(temperature) - ZERO_CELSIUS
    water = 17.269 * theta / (237.3 + theta)
    ice = 21.875 * theta / (265.5 + theta)
    return 610.5 * np.exp(np.where(np.real(theta) >= 0.0, water, ice))


def saturation_pressure_slope(temperature: Array) -> Array:
    """Derivative of `saturation_pressure` by temperature. [Pa/K]"""
    theta = np.asarray(temperature) - ZERO_CELSIUS
    water = 17.269 * 237.3 / (237.3 + theta) ** 2
    ice = 21.875 * 265.5 / (265.5 + theta) ** 2
    return saturation_pressure(temperature) * np.where(np.real(theta) >= 0.0, water, ice)


def suction_from_humidity(
    humidity: ArrayLike, temperature: ArrayLike, constants: Constants
) -> Array:
    """Kelvin relation: suction of pore water in equilibrium with a relative humidity. [Pa]"""
    scale = constants.water_density * constants.vapour_gas_constant
    return -scale * np.asarray(temperature) * np.log(humidity)


def humidity_from_suction(
    suction: ArrayLike, temperature: ArrayLike, constants: Constants
) -> Array:
    """Kelvin relation, inverse of `suction_from_humidity`. [-]"""
    scale = constants.water_density * constants.vapour_gas_constant
    return np.exp(-np.asarray(suction) / (scale * np.asarray(temperature)))
