"""Vapour permeability of layers and permeance of sheets over humidity. Owns the curves.

Values hold at 20 °C; `temperature_law` names how a solver carries them to another temperature:
"constant", "air" (T/293.15)^0.81, "inverse" 293.15/T. Beyond the ends of a table the last value
holds.
"""

from __future__ import annotations

from typing import Annotated, Literal, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from hygro.constants import (
    PERM,
    REFERENCE_TEMPERATURE,
    STANDARD_PRESSURE,
    STILL_AIR_PERMEABILITY,
)
from hygro.declare import declared, tag
from hygro.fields import Number, Positive, within
from hygro.material.curves import Array, Linked, Points, linear, monotone, s_of_rh
from hygro.material.points import PERMEABILITY, PERMEANCE, RH, along

Mu: TypeAlias = Annotated[float, *within(1.0, 1e9, "still air has 1, and nothing less")]
TemperatureLaw: TypeAlias = Literal["constant", "air", "inverse"]

THROUGH_AIR = frozenset({"mu", "mu-dry-wet", "benchmark", "sd"})
"""Forms written as a multiple of still air: vapour diffuses through air in the pores, so that they
hold at standard pressure and open in thinner air. Boards and films given by permeability or
permeance are left as measured."""


def through_air(curve: object) -> bool:
    """Say whether a vapour curve is written as a multiple of still air."""
    return getattr(curve, "form", None) in THROUGH_AIR


def thinner(pressure: float) -> float:
    """Vapour permeability of air at a pressure [Pa] over that at standard pressure, p0/p. [1]

    Schirmer: D = 0.083 p0/p (T/273)^1.81 m²/h, as in ISO 12572 (from memory). The same factor holds
    for vapour transfer at surfaces by the Lewis relation at a given heat transfer coefficient.
    """
    return STANDARD_PRESSURE / pressure


DRY_CUP_RH = 0.25
WET_CUP_RH = 0.75
"""Mean humidity in the cup tests 0/50 % and 50/100 % (ASTM E96 A and B, from memory). [-]"""


@declared
class ConstantMu:
    """δ = still-air permeability / mu.

    Parameters
    ----------
    mu : vapour resistance factor [-]
    temperature_law : how the value changes with temperature; see the start of this section
    """

    form: Literal["mu"] = tag(default="mu", kw_only=True)
    mu: Mu
    temperature_law: TemperatureLaw = "air"

    def permeability(self, rh: ArrayLike) -> Array:
        """Permeability at 20 °C. [kg/(m·s·Pa)]"""
        return np.full_like(np.asarray(rh, dtype=float), STILL_AIR_PERMEABILITY / self.mu)


@declared
class DryWetMu:
    """mu of the dry cup (25 % mean rh) and of the wet cup (75 %): ln δ linear in rh between.

    The exponential bridge is this library's choice; outside 25 to 75 % the cup values hold.

    Parameters
    ----------
    dry : mu of the dry cup [-]
    wet : mu of the wet cup [-]
    temperature_law : how the value changes with temperature; see the start of this section
    """

    form: Literal["mu-dry-wet"] = tag(default="mu-dry-wet", kw_only=True)
    dry: Mu
    wet: Mu
    temperature_law: TemperatureLaw = "air"

    def permeability(self, rh: ArrayLike) -> Array:
        """Permeability at 20 °C. [kg/(m·s·Pa)]"""
        log_mu = linear(((DRY_CUP_RH, np.log(self.dry)), (WET_CUP_RH, np.log(self.wet))), rh)
        return STILL_AIR_PERMEABILITY * np.exp(-log_mu)


@declared
class PermeabilityTable:
    """A shape-preserving cubic through points of δ over rh.

    Parameters
    ----------
    points : (rh [-], δ [kg/(m·s·Pa)]), rising in rh
    temperature_law : how the value changes with temperature; see the start of this section
    """

    form: Literal["permeability-table"] = tag(default="permeability-table", kw_only=True)
    points: Annotated[Points, *along(RH, PERMEABILITY)]
    temperature_law: TemperatureLaw = "constant"

    def permeability(self, rh: ArrayLike) -> Array:
        """Permeability at 20 °C. [kg/(m·s·Pa)]"""
        return monotone(self.points, rh)


@declared
class PermeanceOfThickness:
    """A shape-preserving cubic through the permeance of a board, times the thickness tested.

    Parameters
    ----------
    thickness : of the board as tested [m]
    points : (rh [-], permeance [perm]), rising in rh
    temperature_law : how the value changes with temperature; see the start of this section
    """

    form: Literal["perm-table"] = tag(default="perm-table", kw_only=True)
    thickness: Positive
    points: Annotated[Points, *along(RH, PERMEANCE)]
    temperature_law: TemperatureLaw = "constant"

    def permeability(self, rh: ArrayLike) -> Array:
        """Permeability at 20 °C. [kg/(m·s·Pa)]"""
        return self.thickness * PERM * monotone(self.points, rh)


@declared
class ExponentialPermeability:
    """δ = exp(b0 + b1·rh + b2·rh²) kg/(m·s·Pa).

    Parameters
    ----------
    b0, b1, b2 : of the formula [-]
    temperature_law : how the value changes with temperature; see the start of this section

    References
    ----------
    Burch, Thomas, Fanney 1992, ASHRAE Trans. 98(2), 486-494 (form from memory).
    """

    form: Literal["exponential"] = tag(default="exponential", kw_only=True)
    b0: Number
    b1: Number
    b2: Number
    temperature_law: TemperatureLaw = "constant"

    def permeability(self, rh: ArrayLike) -> Array:
        """Permeability at 20 °C. [kg/(m·s·Pa)]"""
        x = np.clip(np.asarray(rh, dtype=float), 0.0, 1.0)
        return np.exp(self.b0 + self.b1 * x + self.b2 * x**2)


@declared
class PowerPermeability:
    """δ = low·(1 + rise·rh^power).

    Parameters
    ----------
    low : δ when dry [kg/(m·s·Pa)]
    rise : of the formula [-]
    power : of the formula [-]
    temperature_law : how the value changes with temperature; see the start of this section
    """

    form: Literal["power"] = tag(default="power", kw_only=True)
    low: Positive
    rise: Number
    power: Number
    temperature_law: TemperatureLaw = "constant"

    def permeability(self, rh: ArrayLike) -> Array:
        """Permeability at 20 °C. [kg/(m·s·Pa)]"""
        return np.asarray(self.low * (1.0 + self.rise * np.asarray(rh, float) ** self.power))


@declared
class BenchmarkPermeability:
    """δ = M_w/(R·T)·(26.1e-6/mu)·(1 − w/w_sat)/(0.503·(1 − w/w_sat)² + 0.497).

    Holds the storage of its own material, because the formula is written over w.

    Parameters
    ----------
    mu : vapour resistance factor when dry [-]
    w_sat : water content at which nothing passes as vapour [kg/m³]
    temperature_law : how the value changes with temperature; see the start of this section

    References
    ----------
    EN 15026:2007 and Hagentoft et al. 2004 (from memory). M_w/R = 0.018016/8.314.
    """

    form: Literal["benchmark"] = tag(default="benchmark", kw_only=True)
    mu: Positive
    w_sat: Positive
    storage: Linked = None
    temperature_law: TemperatureLaw = "inverse"

    def permeability(self, rh: ArrayLike) -> Array:
        """Permeability at 20 °C. [kg/(m·s·Pa)]"""
        w = self.storage.water_content(s_of_rh(rh))
        empty = np.maximum(1.0 - w / self.w_sat, 0.0)
        molar = 0.018016 / (8.314 * REFERENCE_TEMPERATURE)
        return molar * 26.1e-6 / self.mu * empty / (0.503 * empty**2 + 0.497)


@declared
class ConstantPermeability:
    """δ = value, whatever the humidity.

    Parameters
    ----------
    value : permeability [kg/(m·s·Pa)]
    temperature_law : how the value changes with temperature; see the start of this section
    """

    form: Literal["permeability"] = tag(default="permeability", kw_only=True)
    value: Positive
    temperature_law: TemperatureLaw = "constant"

    def permeability(self, rh: ArrayLike) -> Array:
        """Permeability at 20 °C. [kg/(m·s·Pa)]"""
        return np.full_like(np.asarray(rh, dtype=float), self.value)


@declared
class SheetPerm:
    """A constant permeance in US perm.

    Parameters
    ----------
    perm : permeance [perm]
    """

    form: Literal["perm"] = tag(default="perm", kw_only=True)
    perm: Positive

    def permeance(self, rh: ArrayLike) -> Array:
        """Permeance. [kg/(m²·s·Pa)]"""
        return np.full_like(np.asarray(rh, dtype=float), self.perm * PERM)


@declared
class SheetConstant:
    """A constant permeance.

    Parameters
    ----------
    value : permeance [kg/(m²·s·Pa)]
    """

    form: Literal["permeance"] = tag(default="permeance", kw_only=True)
    value: Positive

    def permeance(self, rh: ArrayLike) -> Array:
        """Permeance. [kg/(m²·s·Pa)]"""
        return np.full_like(np.asarray(rh, dtype=float), self.value)


@declared
class SheetAirLayer:
    """A permeance given as the thickness of a still-air layer of equal resistance.

    Parameters
    ----------
    sd : that thickness, s_d [m]
    """

    form: Literal["sd"] = tag(default="sd", kw_only=True)
    sd: Positive

    def permeance(self, rh: ArrayLike) -> Array:
        """Permeance. [kg/(m²·s·Pa)]"""
        value = STILL_AIR_PERMEABILITY / self.sd
        return np.full_like(np.asarray(rh, dtype=float), value)


@declared
class SheetPermTable:
    """A shape-preserving cubic through the logarithm of permeance over mean humidity.

    Parameters
    ----------
    points : (mean rh [-], permeance [perm]), rising in rh
    """

    form: Literal["perm-table"] = tag(default="perm-table", kw_only=True)
    points: Annotated[Points, *along(RH, PERMEANCE)]

    def permeance(self, rh: ArrayLike) -> Array:
        """Permeance. [kg/(m²·s·Pa)]"""
        logs = tuple((x, float(np.log(y))) for x, y in self.points)
        return PERM * np.exp(monotone(logs, rh))
