"""Moist air: saturation pressure and its inverses, humidity ratio, enthalpy; knows no files.

Saturation pressure is the Magnus form of ISO 13788:2012 (from memory):
p = 610.5·exp(17.269 θ/(237.3 + θ)) over water, 610.5·exp(21.875 θ/(265.5 + θ)) over ice.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from weather.arrays import Numbers, Value
from weather.constants import (
    GAS_CONSTANT_VAPOUR,
    HEAT_CAPACITY_AIR,
    HEAT_CAPACITY_VAPOUR,
    MASS_RATIO,
    STANDARD_PRESSURE,
    TRIPLE_PRESSURE,
    VAPOUR_ENTHALPY,
    ZERO_CELSIUS,
)
from weather.errors import fault

Surface = Literal["water", "ice", "iso13788"]


class Magnus(NamedTuple):
    """Numbers of the Magnus form: factor [1] and offset [K]."""

    factor: float
    offset: float


WATER = Magnus(17.269, 237.3)
ICE = Magnus(21.875, 265.5)


def saturation_pressure(temperature: Value, *, over: Surface = "water") -> Value:
    """Saturation vapour pressure. [Pa]

    Parameters
    ----------
    temperature : float or array
        Air temperature. [K]
    over : {"water", "ice", "iso13788"}
        Liquid water also below 0 °C (the WMO convention of relative humidity), ice, or water
        above and ice below 0 °C as ISO 13788:2012 has it.

    Notes
    -----
    ISO 13788:2012, equations E.7 and E.8 (numbers from memory). Valid −40..60 °C: within 0.2 % of
    the reference equation of state above 0 °C, within 3 % over supercooled water at −40 °C and 2 %
    over ice at −40 °C.
    """
    theta = temperature - ZERO_CELSIUS
    if over == "iso13788":
        return _choose(theta, magnus(theta, WATER), magnus(theta, ICE))
    return magnus(theta, _coefficients(over))


def saturation_slope(temperature: Value, *, over: Surface = "water") -> Value:
    """Derivative of `saturation_pressure` by temperature. [Pa/K]"""
    theta = temperature - ZERO_CELSIUS
    if over == "iso13788":
        return _choose(theta, _slope(theta, WATER), _slope(theta, ICE))
    return _slope(theta, _coefficients(over))


def dew_point(vapour_pressure: Value, *, over: Surface = "water") -> Value:
    """Temperature at which the vapour is saturated; the inverse of `saturation_pressure`. [K]

    Parameters
    ----------
    vapour_pressure : float or array
        Partial pressure of water vapour, above 0. [Pa]
    over : {"water", "ice", "iso13788"}
        Dew point, frost point, or dew point above and frost point below 0 °C.

    Raises
    ------
    WeatherError
        If a pressure is not above 0: dry air has no dew point.
    """
    if np.any(np.asarray(vapour_pressure) <= 0.0):
        raise fault("dew_point", "vapour pressure must be above 0 Pa", "dry air has no dew point")
    logarithm: Value = np.log(vapour_pressure / TRIPLE_PRESSURE)
    if over == "iso13788":
        return _choose(logarithm, _inverse(logarithm, WATER), _inverse(logarithm, ICE))
    return _inverse(logarithm, _coefficients(over))


def vapour_pressure(
    temperature: Value, relative_humidity: Value, *, over: Surface = "water"
) -> Value:
    """Partial pressure of water vapour from temperature [K] and relative humidity [1]. [Pa]"""
    return relative_humidity * saturation_pressure(temperature, over=over)


def humidity_ratio(vapour_pressure: Value, pressure: Numbers = STANDARD_PRESSURE) -> Value:
    """Mass of vapour per mass of dry air, ideal gas. [kg/kg]

    Parameters
    ----------
    vapour_pressure, pressure : float or array
        Partial pressure of vapour and total pressure. [Pa]
    """
    ratio: Value = MASS_RATIO * vapour_pressure / (pressure - vapour_pressure)  # type: ignore[assignment]
    return ratio


def enthalpy(temperature: Value, humidity_ratio: Value) -> Value:
    """Enthalpy of moist air per kg of dry air, zero for dry air and liquid water at 0 °C. [J/kg]

    ASHRAE Fundamentals ch. 1 (from memory): h = 1006 θ + W (2 501 000 + 1860 θ).
    """
    theta = temperature - ZERO_CELSIUS
    vapour = VAPOUR_ENTHALPY + HEAT_CAPACITY_VAPOUR * theta
    return HEAT_CAPACITY_AIR * theta + humidity_ratio * vapour


def vapour_density(temperature: Value, vapour_pressure: Value) -> Value:
    """Mass of vapour per volume of air, ideal gas. [kg/m³]"""
    return vapour_pressure / (GAS_CONSTANT_VAPOUR * temperature)


def standard_pressure(altitude: Value) -> Value:
    """Pressure of the standard atmosphere at an altitude [m] below 11 km. [Pa]

    ASHRAE Fundamentals ch. 1 (from memory): 101325·(1 − 2.25577e-5 z)^5.2559.
    """
    pressure: Value = STANDARD_PRESSURE * (1.0 - 2.25577e-5 * altitude) ** 5.2559
    return pressure


def _coefficients(over: str) -> Magnus:
    if over not in ("water", "ice"):
        raise fault("over", f"'{over}' is not known", "choose 'water', 'ice' or 'iso13788'")
    return WATER if over == "water" else ICE


def magnus(theta: Value, form: Magnus) -> Value:
    """Saturation pressure over `WATER` or `ICE` at a temperature in °C; compiles as it is. [Pa]"""
    pressure: Value = TRIPLE_PRESSURE * np.exp(form.factor * theta / (form.offset + theta))
    return pressure


def _slope(theta: Value, form: Magnus) -> Value:
    return magnus(theta, form) * form.factor * form.offset / (form.offset + theta) ** 2


def _inverse(logarithm: Value, form: Magnus) -> Value:
    return ZERO_CELSIUS + form.offset * logarithm / (form.factor - logarithm)


def _choose(key: Value, above: Value, below: Value) -> Value:
    """Take `above` where key is 0 or more; keep scalars scalar."""
    chosen = np.where(np.asarray(key) >= 0.0, above, below)
    result: Value = float(chosen) if np.ndim(key) == 0 else chosen  # type: ignore[assignment]
    return result
