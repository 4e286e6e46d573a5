"""Freezing front in a half space at a constant surface temperature. Owns Neumann's solution.

Carslaw & Jaeger 1959, section 11.2 (from memory). The front is at X = 2 k √(a_s t); k solves a
transcendental equation. Densities of the two phases are taken as equal and all water freezes at
one temperature.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq
from scipy.special import erf, erfc

from hygro.proof.references.physics import Array


class FreezingCase(NamedTuple):
    """A wet half space cooled below the freezing point at its face.

    Attributes
    ----------
    frozen_conductivity, liquid_conductivity : float
        Thermal conductivity of the frozen and the unfrozen zone. [W/(m·K)]
    frozen_capacity, liquid_capacity : float
        Volumetric heat capacity of the two zones. [J/(m³·K)]
    latent : float
        Latent heat per volume: water content times heat of fusion. [J/m³]
    surface, freezing, initial : float
        Temperatures, surface < freezing <= initial. [K]
    """

    frozen_conductivity: float
    liquid_conductivity: float
    frozen_capacity: float
    liquid_capacity: float
    latent: float
    surface: float
    freezing: float
    initial: float

    @property
    def frozen_diffusivity(self) -> float:
        """Thermal diffusivity of the frozen zone. [m²/s]"""
        return self.frozen_conductivity / self.frozen_capacity

    @property
    def liquid_diffusivity(self) -> float:
        """Thermal diffusivity of the unfrozen zone. [m²/s]"""
        return self.liquid_conductivity / self.liquid_capacity


def front_constant(case: FreezingCase) -> float:
    """Constant k of the front X = 2 k √(a_s t). [-]

    Root of the heat balance at the front; with initial = freezing this is Stefan's one-phase
    equation √π k exp(k²) erf k = C_s (T_f - T_s) / L.
    """
    ratio = np.sqrt(case.frozen_diffusivity / case.liquid_diffusivity)
    drop = case.freezing - case.surface
    warm = case.initial - case.freezing

    def balance(k: float) -> float:
        give = case.frozen_conductivity * drop / erf(k) * np.exp(-(k**2))
        take = case.liquid_conductivity * warm * ratio
        take *= np.exp(-((k * ratio) ** 2)) / erfc(k * ratio)
        latent = case.latent * k * np.sqrt(np.pi) * case.frozen_diffusivity
        return float(give - take - latent)

    return float(brentq(balance, 1e-6, 3.0, xtol=1e-14))


def front_position(case: FreezingCase, time: Array) -> Array:
    """Depth of the freezing front. [m]"""
    return 2.0 * front_constant(case) * np.sqrt(case.frozen_diffusivity * np.asarray(time))


def temperature(case: FreezingCase, position: Array, time: float) -> Array:
    """Temperature at depths [m] and a time [s]. [K]"""
    k = front_constant(case)
    x = np.asarray(position, dtype=float)
    frozen = x / (2.0 * np.sqrt(case.frozen_diffusivity * time))
    liquid = x / (2.0 * np.sqrt(case.liquid_diffusivity * time))
    ratio = np.sqrt(case.frozen_diffusivity / case.liquid_diffusivity)
    below = case.surface + (case.freezing - case.surface) * erf(frozen) / erf(k)
    above = case.initial - (case.initial - case.freezing) * erfc(liquid) / erfc(k * ratio)
    return np.where(frozen < k, below, above)


def heat_extracted(case: FreezingCase, time: float) -> float:
    """Heat taken out through the face since the start. [J/m²]"""
    k = front_constant(case)
    drop = case.freezing - case.surface
    slope = case.frozen_conductivity * drop / (erf(k) * np.sqrt(np.pi * case.frozen_diffusivity))
    return float(2.0 * slope * np.sqrt(time))
