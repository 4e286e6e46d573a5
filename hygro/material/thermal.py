"""Thermal conductivity over water content. Owns the curves; the solver owns temperature.

`temperature_factor` holds (mean temperature [K], factor [-]) points for materials whose
conductivity depends on temperature, or None; the factor multiplies `conductivity(w)`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import ArrayLike

from hygro.material.curves import Array, Points, linear


@dataclass(frozen=True)
class ConstantConductivity:
    """λ = value, whatever the moisture. [W/(m·K)]"""

    tag: ClassVar[str] = "constant"
    value: float
    temperature_factor: Points | None = None

    def conductivity(self, w: ArrayLike) -> Array:
        """Thermal conductivity. [W/(m·K)]"""
        return np.full_like(np.asarray(w, dtype=float), self.value)


@dataclass(frozen=True)
class LinearConductivity:
    """λ = dry + per_water·w; per_water in W/(m·K) per kg/m³."""

    tag: ClassVar[str] = "linear"
    dry: float
    per_water: float
    temperature_factor: Points | None = None

    def conductivity(self, w: ArrayLike) -> Array:
        """Thermal conductivity. [W/(m·K)]"""
        return self.dry + self.per_water * np.asarray(w, dtype=float)


@dataclass(frozen=True)
class ConductivityTable:
    """Points (w [kg/m³], λ [W/(m·K)]); linear between, held beyond the ends."""

    tag: ClassVar[str] = "table"
    points: Points
    temperature_factor: Points | None = None

    def conductivity(self, w: ArrayLike) -> Array:
        """Thermal conductivity. [W/(m·K)]"""
        return linear(self.points, w)
