"""Physical constants of the engine, SI; those that outdoor air needs too come from `weather`.

Values follow EN 15026 and ISO 13788 where these give one (from memory), otherwise the source
stands beside the number.
"""

from __future__ import annotations

from weather.constants import (
    GAS_CONSTANT_VAPOUR,
    HEAT_CAPACITY_AIR,
    HEAT_CAPACITY_VAPOUR,
    STANDARD_PRESSURE,
    STEFAN_BOLTZMANN,
    ZERO_CELSIUS,
)

__all__ = [
    "GAS_CONSTANT_AIR",
    "GAS_CONSTANT_VAPOUR",
    "HEAT_CAPACITY_AIR",
    "HEAT_CAPACITY_ICE",
    "HEAT_CAPACITY_VAPOUR",
    "HEAT_CAPACITY_WATER",
    "HEAT_OF_EVAPORATION",
    "HEAT_OF_FUSION",
    "PERM",
    "REFERENCE_TEMPERATURE",
    "STANDARD_PRESSURE",
    "STEFAN_BOLTZMANN",
    "STILL_AIR_PERMEABILITY",
    "WATER_DENSITY",
    "ZERO_CELSIUS",
]

REFERENCE_TEMPERATURE = 293.15
"""Temperature at which material curves are given. [K]"""
WATER_DENSITY = 1000.0
"""Density of liquid water. [kg/m³]"""
HEAT_CAPACITY_WATER = 4180.0
"""Specific heat capacity of liquid water. [J/(kg·K)]"""
HEAT_CAPACITY_ICE = 2100.0
"""Specific heat capacity of ice near 0 °C. [J/(kg·K)]"""
HEAT_OF_EVAPORATION = 2.5e6
"""Specific enthalpy of evaporation at 0 °C. [J/kg]"""
HEAT_OF_FUSION = 3.34e5
"""Specific enthalpy of fusion at 0 °C. [J/kg]"""
GAS_CONSTANT_AIR = 287.06
"""Specific gas constant of dry air. [J/(kg·K)]"""
PERM = 57.2e-12
"""One US perm (rounded, common practice). [kg/(m²·s·Pa)]"""
STILL_AIR_PERMEABILITY = 2.0e-10
"""Vapour permeability of still air, ISO 13788. [kg/(m·s·Pa)]"""
AIR_DENSITY = 1.2
"""Density of air in exchange and leakage, EN 15026 (from memory). [kg/m³]"""
GRAVITY = 9.81
"""Acceleration by gravity. [m/s²]"""
