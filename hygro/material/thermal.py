"""Thermal conductivity over water content. Owns the curves; the solver owns temperature.

`temperature_factor` holds (mean temperature [K], factor [-]) points for materials whose
conductivity depends on temperature, or None; the factor multiplies `conductivity(w)`.
"""

from __future__ import annotations

from typing import Annotated, Literal

import numpy as np
from numpy.typing import ArrayLike

from hygro.declare import declared, tag
from hygro.fields import Number
from hygro.material.curves import Array, Points, linear
from hygro.material.points import CONDUCTIVITY, FACTOR, TEMPERATURE, WATER, along


@declared
class ConstantConductivity:
    """λ = value, whatever the moisture.

    Parameters
    ----------
    value : λ [W/(m·K)]
    temperature_factor : (mean temperature [K], factor [-]); left out: none
    """

    form: Literal["constant"] = tag(default="constant", kw_only=True)
    value: Number
    temperature_factor: Annotated[Points | None, *along(TEMPERATURE, FACTOR)] = None

    def conductivity(self, w: ArrayLike) -> Array:
        """Thermal conductivity. [W/(m·K)]"""
        return np.full_like(np.asarray(w, dtype=float), self.value)


@declared
class LinearConductivity:
    """λ = dry + per_water·w.

    Parameters
    ----------
    dry : λ of the dry material [W/(m·K)]
    per_water : rise of λ with water content [W/(m·K) per kg/m³]
    temperature_factor : (mean temperature [K], factor [-]); left out: none
    """

    form: Literal["linear"] = tag(default="linear", kw_only=True)
    dry: Number
    per_water: Number
    temperature_factor: Annotated[Points | None, *along(TEMPERATURE, FACTOR)] = None

    def conductivity(self, w: ArrayLike) -> Array:
        """Thermal conductivity. [W/(m·K)]"""
        return self.dry + self.per_water * np.asarray(w, dtype=float)


@declared
class ConductivityTable:
    """Points of λ over water content; linear between, held beyond the ends.

    Parameters
    ----------
    points : (w [kg/m³], λ [W/(m·K)]), rising in w
    temperature_factor : (mean temperature [K], factor [-]); left out: none
    """

    form: Literal["table"] = tag(default="table", kw_only=True)
    points: Annotated[Points, *along(WATER, CONDUCTIVITY)]
    temperature_factor: Annotated[Points | None, *along(TEMPERATURE, FACTOR)] = None

    def conductivity(self, w: ArrayLike) -> Array:
        """Thermal conductivity. [W/(m·K)]"""
        return linear(self.points, w)
