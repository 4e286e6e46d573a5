"""Liquid transport forms over water content. Owns the curves, not the driving potential.

A form gives either K [s], driven by suction, or D_w [m²/s], driven by water content; `driving`
on each class says which, and asking for the other raises, because the conversion needs the
slope of the storage curve at the state of the solver.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Annotated, ClassVar, Literal, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from hygro.declare import declared, tag
from hygro.errors import InputError
from hygro.fields import Number, Positive
from hygro.material.curves import SUCTION_PER_S, Array, Linked, Points, linear
from hygro.material.points import DIFFUSIVITY, LIQUID_K, LOG_SUCTION, WATER, along

Driving: TypeAlias = Literal["conductivity", "diffusivity"]


class _Conductivity:
    driving: ClassVar[Driving] = "conductivity"

    def diffusivity(self, w: ArrayLike) -> Array:  # noqa: ARG002
        """Refuse: this form is driven by suction."""
        raise InputError("liquid transport is given as conductivity K, not as diffusivity D_w")


class _Diffusivity:
    driving: ClassVar[Driving] = "diffusivity"

    def conductivity(self, w: ArrayLike) -> Array:  # noqa: ARG002
        """Refuse: this form is driven by water content."""
        raise InputError("liquid transport is given as diffusivity D_w, not as conductivity K")


@declared
class PolynomialConductivity(_Conductivity):
    """K = exp(Σ cᵢ·(w − w0)ⁱ) in s, w in kg/m³.

    Parameters
    ----------
    w0 : of the formula [kg/m³]
    coefficients : c₀, c₁, ... [-]
    allow_non_monotone : why a curve that falls somewhere is used as given
    """

    form: Literal["conductivity-polynomial"] = tag(default="conductivity-polynomial", kw_only=True)
    w0: Number
    coefficients: tuple[Number, ...]
    allow_non_monotone: str | None = None

    def conductivity(self, w: ArrayLike) -> Array:
        """Liquid conductivity. [s]"""
        z = np.asarray(w, dtype=float) - self.w0
        return np.exp(np.polynomial.polynomial.polyval(z, self.coefficients))


@declared
class ConductivityOverWater(_Conductivity):
    """Points of log10 K over water content; linear between, held beyond the ends.

    Parameters
    ----------
    points : (w [kg/m³], log10 K [s]), rising in w
    allow_non_monotone : why a curve that falls somewhere is used as given
    """

    form: Literal["conductivity-table"] = tag(default="conductivity-table", kw_only=True)
    points: Annotated[Points, *along(WATER, LIQUID_K)]
    allow_non_monotone: str | None = None

    def conductivity(self, w: ArrayLike) -> Array:
        """Liquid conductivity. [s]"""
        return 10.0 ** linear(self.points, w)


@declared
class ConductivityOverSuction(_Conductivity):
    """Points of log10 K over log10 suction; linear between, held beyond the ends.

    Holds the storage of its own material to find the suction that belongs to w.

    Parameters
    ----------
    points : (log10 suction at 20 °C [Pa], log10 K [s]), rising in suction
    allow_non_monotone : why a curve that falls somewhere is used as given
    """

    form: Literal["conductivity-suction-table"] = tag(
        default="conductivity-suction-table", kw_only=True
    )
    points: Annotated[Points, *along(LOG_SUCTION, LIQUID_K)]
    storage: Linked = None
    allow_non_monotone: str | None = None

    def conductivity(self, w: ArrayLike) -> Array:
        """Liquid conductivity. [s]"""
        return 10.0 ** linear(_over_water(self), w)


@lru_cache(maxsize=128)
def _over_water(table: ConductivityOverSuction) -> Points:
    first, last = table.points[0][0], table.points[-1][0]
    log_p = np.linspace(last, first, 801)  # dry to wet; fine enough that K bends are kept
    w = table.storage.water_content(10.0**log_p / SUCTION_PER_S)
    log_k = linear(table.points, log_p)
    rising = np.concatenate(([True], np.diff(w) > 0.0))
    return tuple(zip(w[rising].tolist(), log_k[rising].tolist(), strict=True))


@declared
class PowerConductivity(_Conductivity):
    """K = saturated·(w/w_s)^exponent in s, w and w_s in kg/m³.

    Parameters
    ----------
    saturated : liquid conductivity at w_s [s]
    exponent : of the power [-]
    w_s : saturation [kg/m³]
    """

    form: Literal["conductivity-power"] = tag(default="conductivity-power", kw_only=True)
    saturated: Positive
    exponent: Number
    w_s: Positive

    def conductivity(self, w: ArrayLike) -> Array:
        """Liquid conductivity. [s]"""
        filled = np.asarray(w, dtype=float) / self.w_s
        # far below any flux; a conductivity of exactly 0 has no logarithm and no harmonic mean
        return np.asarray(np.maximum(self.saturated * filled**self.exponent, 1e-40))


@declared
class ConstantDiffusivity(_Diffusivity):
    """D_w = value.

    Parameters
    ----------
    value : D_w [m²/s]
    """

    form: Literal["diffusivity-constant"] = tag(default="diffusivity-constant", kw_only=True)
    value: Positive

    def diffusivity(self, w: ArrayLike) -> Array:
        """Liquid diffusivity. [m²/s]"""
        return np.full_like(np.asarray(w, dtype=float), self.value)


@declared
class AbsorptionDiffusivity(_Diffusivity):
    """D_w = 3.8·(A/w_free)²·1000^(w/w_free − 1), from the water absorption coefficient.

    Parameters
    ----------
    a : water absorption coefficient A [kg/(m²·s^0.5)]
    w_free : free saturation [kg/m³]

    References
    ----------
    Künzel 1995 (from memory).
    """

    form: Literal["absorption"] = tag(default="absorption", kw_only=True)
    a: Number
    w_free: Number

    def diffusivity(self, w: ArrayLike) -> Array:
        """Liquid diffusivity; held at its value at w_free above it. [m²/s]"""
        filled = np.minimum(np.asarray(w, dtype=float) / self.w_free, 1.0)
        return 3.8 * (self.a / self.w_free) ** 2 * 1000.0 ** (filled - 1.0)


@declared
class DiffusivityTable(_Diffusivity):
    """Points of log10 D_w over water content; linear between, held beyond the ends.

    Parameters
    ----------
    points : (w [kg/m³], log10 D_w [m²/s]), rising in w
    allow_non_monotone : why a curve that falls somewhere is used as given
    """

    form: Literal["diffusivity-table"] = tag(default="diffusivity-table", kw_only=True)
    points: Annotated[Points, *along(WATER, DIFFUSIVITY)]
    allow_non_monotone: str | None = None

    def diffusivity(self, w: ArrayLike) -> Array:
        """Liquid diffusivity. [m²/s]"""
        return 10.0 ** linear(self.points, w)
