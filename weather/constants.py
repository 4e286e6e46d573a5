"""Physical and calendar constants of weather, SI, each once."""

from __future__ import annotations

ZERO_CELSIUS = 273.15
"""0 °C on the absolute scale. [K]"""
STEFAN_BOLTZMANN = 5.670374e-8
"""Stefan-Boltzmann constant (CODATA). [W/(m²·K⁴)]"""
STANDARD_PRESSURE = 101325.0
"""Standard atmosphere at sea level. [Pa]"""
GAS_CONSTANT_VAPOUR = 461.5
"""Specific gas constant of water vapour (EN 15026: 462; CODATA: 461.52). [J/(kg·K)]"""
MASS_RATIO = 0.621945
"""Molar mass of water over that of dry air, ASHRAE Fundamentals ch. 1 (from memory). [1]"""
HEAT_CAPACITY_AIR = 1006.0
"""Specific heat capacity of dry air at constant pressure. [J/(kg·K)]"""
HEAT_CAPACITY_VAPOUR = 1860.0
"""Specific heat capacity of water vapour at constant pressure. [J/(kg·K)]"""
VAPOUR_ENTHALPY = 2.501e6
"""Enthalpy of vapour over that of water at 0 °C, ASHRAE Fundamentals ch. 1 (memory). [J/kg]"""
TRIPLE_PRESSURE = 610.5
"""Saturation pressure at 0 °C in ISO 13788 (from memory). [Pa]"""

HOUR_SECONDS = 3600.0
"""[s]"""
DAY_HOURS = 24
"""[h]"""
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
"""Days of the months of a year without leap day. [d]"""
YEAR_DAYS = sum(MONTH_DAYS)
"""Days of a year without leap day. [d]"""
YEAR_HOURS = DAY_HOURS * YEAR_DAYS
"""Hours of a year without leap day. [h]"""
MEAN_YEAR_HOURS = 8766.0
"""Mean hours of a year, one of four a leap year. [h]"""
NOMINAL_YEAR = 2001
"""Year that typical and leap-stripped years are stamped with; not a leap year."""
