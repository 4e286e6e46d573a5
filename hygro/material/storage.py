"""Moisture storage forms: water content over s = -ln(rh). Owns the curves, not the materials.

Every form answers `water_content(s)` in kg/m³ for s from 0 (saturation) to infinity (dry), is
continuous and does not rise with s. Storage does not depend on temperature.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Annotated, Literal

import numpy as np
from numpy.typing import ArrayLike

from hygro.constants import GRAVITY, WATER_DENSITY
from hygro.declare import declared, tag
from hygro.fields import AboveOne, Number, Positive
from hygro.material.curves import (
    SUCTION_PER_S,
    Array,
    Points,
    monotone,
    s_of_rh,
    stretched,
)
from hygro.material.points import RH, SUCTION, WATER, along

SATURATED_VAPOUR_20C = 0.01728
"""Vapour density of saturated air at 20 °C: 2339 Pa / (461.5 J/(kg·K) · 293.15 K). [kg/m³]"""


@declared
class TableStorage:
    """Points through which a monotone cubic runs, over rh and, near saturation, over suction.

    Parameters
    ----------
    rh : points (rh [-], w [kg/m³]), rising; (0, 0) is added when absent
    w_free : water content at rh = 1 [kg/m³]
    suction : points (suction at 20 °C [Pa], w [kg/m³]), wetter than the last rh point, any order

    Notes
    -----
    The interpolation coordinate is linear in rh when dry and in the logarithm of suction near
    saturation, so that the step from the last sorption point to free saturation is spread over
    the capillary range instead of being crowded at rh = 1.
    """

    form: Literal["table"] = tag(default="table", kw_only=True)
    rh: Annotated[Points, *along(RH, WATER)]
    w_free: Positive
    suction: Annotated[Points, *along(SUCTION, WATER, rising=False)] = ()

    def water_content(self, s: ArrayLike) -> Array:
        """Water content. [kg/m³]"""
        return monotone(_stretched_points(self), stretched(s))


@lru_cache(maxsize=512)
def _stretched_points(table: TableStorage) -> Points:
    dry = [(float(s_of_rh(rh)), w) for rh, w in table.rh]
    wet = [(p / SUCTION_PER_S, w) for p, w in table.suction]
    start = [] if table.rh and table.rh[0][0] == 0.0 else [(np.inf, 0.0)]
    points = sorted([*start, *dry, *wet, (0.0, table.w_free)], reverse=True)
    return tuple((float(stretched(s)), w) for s, w in points)


@declared
class VanGenuchten:
    """w = w_s·Σ l·[1 + (a·p)ⁿ]^(−m) over suction p.

    Parameters
    ----------
    w_s : water content at zero suction [kg/m³]
    modes : (l [-], a [1/Pa], n [-]) or (l, a, n, m); m = 1 − 1/n when absent

    References
    ----------
    van Genuchten 1980, Soil Sci. Soc. Am. J. 44, 892-898 (from memory).
    """

    form: Literal["van-genuchten"] = tag(default="van-genuchten", kw_only=True)
    w_s: Positive
    modes: Points

    def water_content(self, s: ArrayLike) -> Array:
        """Water content. [kg/m³]"""
        return self.w_s * _modes(self.modes, np.asarray(s, dtype=float) * SUCTION_PER_S)


@declared
class VanGenuchtenHead:
    """w = w_s·Σ l·[1 + (a·h)ⁿ]^(−m) over the head h = p/(ρ_w·g) in m.

    Parameters
    ----------
    w_s : water content at zero suction [kg/m³]
    modes : (l [-], a [1/m], n [-]) or (l, a, n, m); m = 1 − 1/n when absent
    """

    form: Literal["van-genuchten-head"] = tag(default="van-genuchten-head", kw_only=True)
    w_s: Positive
    modes: Points

    def water_content(self, s: ArrayLike) -> Array:
        """Water content. [kg/m³]"""
        head = np.asarray(s, dtype=float) * (SUCTION_PER_S / (WATER_DENSITY * GRAVITY))
        return self.w_s * _modes(self.modes, head)


def _modes(modes: Points, x: Array) -> Array:
    total = np.zeros_like(x)
    for share, a, n, *exponent in modes:
        m = exponent[0] if exponent else 1.0 - 1.0 / n
        total = total + share * (1.0 + (a * x) ** n) ** (-m)
    return total


@declared
class BForm:
    """w = w_free·(b − 1)·rh/(b − rh), b > 1; a single curve from sorption to saturation.

    Parameters
    ----------
    w_free : water content at rh = 1 [kg/m³]
    b : shape; near 1 the curve rises late and steeply [-]
    """

    form: Literal["b-form"] = tag(default="b-form", kw_only=True)
    w_free: Positive
    b: AboveOne

    def water_content(self, s: ArrayLike) -> Array:
        """Water content. [kg/m³]"""
        s = np.asarray(s, dtype=float)
        return self.w_free * (self.b - 1.0) * np.exp(-s) / (self.b - 1.0 - np.expm1(-s))


@declared
class Hansen:
    """w = w0/(1 − ln(rh)/A)^(1/n), written with the exponent as given: (1 + s/A)^(−exponent).

    Parameters
    ----------
    w0 : water content at rh = 1 [kg/m³]
    a : A, of the sorption isotherm [-]
    exponent : 1/n [-]

    References
    ----------
    Hansen 1986, Sorption isotherms, Technical University of Denmark (from memory).
    """

    form: Literal["hansen"] = tag(default="hansen", kw_only=True)
    w0: Positive
    a: Positive
    exponent: Positive

    def water_content(self, s: ArrayLike) -> Array:
        """Water content. [kg/m³]"""
        return self.w0 * (1.0 + np.asarray(s, dtype=float) / self.a) ** (-self.exponent)


@declared
class LinearStorage:
    """w = slope·rh; w_free equals the slope.

    Parameters
    ----------
    slope : water content at rh = 1 [kg/m³]
    """

    form: Literal["linear"] = tag(default="linear", kw_only=True)
    slope: Positive

    def water_content(self, s: ArrayLike) -> Array:
        """Water content. [kg/m³]"""
        return self.slope * np.exp(-np.asarray(s, dtype=float))


@declared
class MoistAir:
    """Storage of the pore air alone: porosity × saturated vapour at 20 °C × rh.

    Parameters
    ----------
    porosity : share of pores [-]
    """

    form: Literal["moist-air"] = tag(default="moist-air", kw_only=True)
    porosity: Positive

    def water_content(self, s: ArrayLike) -> Array:
        """Water content. [kg/m³]"""
        return self.porosity * SATURATED_VAPOUR_20C * np.exp(-np.asarray(s, dtype=float))


@declared
class WoodSorption:
    """Hailwood-Horrobin sorption of wood with a capillary tail that ends at w_free.

    Parameters
    ----------
    density : dry density that turns moisture ratio into water content [kg/m³]
    w_free : water content at rh = 1, tail included [kg/m³]
    temperature : at which the sorption is read, 21.1 °C by default [K]
    scale : factor on the sorption, for boards that take up less than solid wood [-]
    tail_suction : suction at which the tail is about half filled [Pa]
    tail_exponent : steepness of the tail (van Genuchten n) [-]

    References
    ----------
    Simpson 1973; US Forest Products Laboratory, Wood Handbook ch. 4. The tail is a modelling
    choice of this library (no source): at 95 % rh it adds less than 0.3 % moisture content.
    """

    form: Literal["wood-sorption"] = tag(default="wood-sorption", kw_only=True)
    density: Positive
    w_free: Positive
    temperature: Number = 294.25
    scale: Positive = 1.0
    tail_suction: Positive = 1e5
    tail_exponent: AboveOne = 2.5

    def water_content(self, s: ArrayLike) -> Array:
        """Water content. [kg/m³]"""
        s = np.asarray(s, dtype=float)
        per_ratio = self.density * self.scale
        sorbed = per_ratio * wood_moisture_ratio(np.exp(-s), self.temperature)
        rest = self.w_free - per_ratio * float(wood_moisture_ratio(1.0, self.temperature))
        return sorbed + rest * _tail(s, self.tail_suction, self.tail_exponent)


def wood_moisture_ratio(rh: ArrayLike, temperature: float) -> Array:
    """Equilibrium moisture ratio of wood. [kg/kg]

    Parameters
    ----------
    rh : float or array
        Relative humidity. [-]
    temperature : float
        Fitted over about 0 to 130 °C (from memory). [K]

    References
    ----------
    Simpson 1973; US Forest Products Laboratory, Wood Handbook ch. 4, Hailwood-Horrobin equation.
    """
    t = temperature - 273.15
    w = 349.0 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 2.73e-6 * t**2
    k1 = 6.27 - 0.00938 * t - 3.03e-4 * t**2
    k2 = 1.91 + 0.0407 * t - 2.93e-4 * t**2
    kh = k * np.asarray(rh, dtype=float)
    single, double = k1 * kh, k1 * k2 * kh**2
    return 18.0 / w * (kh / (1.0 - kh) + (single + 2.0 * double) / (1.0 + single + double))


@declared
class RationalSorption:
    """u = A1·rh/((1 + A2·rh)(1 − A3·rh)) in kg/kg, times density, with a tail to w_free.

    Parameters
    ----------
    density : dry density that turns kg/kg into water content [kg/m³]
    a1, a2, a3 : of the formula [-]
    w_free : water content at rh = 1, tail included [kg/m³]
    tail_suction : suction at which the tail is about half filled [Pa]
    tail_exponent : steepness of the tail (van Genuchten n) [-]

    References
    ----------
    Richards, Burch, Thomas 1992, ASHRAE Trans. 98(2), 475-485 (form from memory). The tail is
    that of `WoodSorption`.
    """

    form: Literal["rational-sorption"] = tag(default="rational-sorption", kw_only=True)
    density: Positive
    a1: Positive
    a2: Number
    a3: Number
    w_free: Positive
    tail_suction: Positive = 1e5
    tail_exponent: AboveOne = 2.5

    def water_content(self, s: ArrayLike) -> Array:
        """Water content. [kg/m³]"""
        s = np.asarray(s, dtype=float)
        rest = self.w_free - float(self._sorbed(np.asarray(1.0)))
        return self._sorbed(np.exp(-s)) + rest * _tail(s, self.tail_suction, self.tail_exponent)

    def _sorbed(self, rh: Array) -> Array:
        return self.density * self.a1 * rh / ((1.0 + self.a2 * rh) * (1.0 - self.a3 * rh))


def _tail(s: Array, suction: float, n: float) -> Array:
    return (1.0 + (s * SUCTION_PER_S / suction) ** n) ** (1.0 / n - 1.0)
