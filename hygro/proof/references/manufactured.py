"""Sources that make chosen fields an exact solution of the coupled equations. Owns no solver.

Choose smooth T(x, t) and φ(x, t); the source terms
    s_w = ∂w/∂t + ∂(g_v + g_l)/∂x          [kg/(m³·s)]
    s_h = ∂H/∂t + ∂q/∂x                    [W/m³]
put into a solver with the same material make these fields its solution, and the error of the
solver is known at each point.

The equations:
    g_v = -δ(φ, T) ∂p_v/∂x,  p_v = φ p_sat(T)
    g_l = K(φ, T) ∂p_suc/∂x, p_suc = -ρ_w R_v T ln φ
    q = -λ(φ, T) ∂T/∂x + g_v (h_v0 + c_v θ) + g_l c_w θ,  θ = T - 273.15
    H = (C + w c_w) θ

Interface: every callable takes arrays and must be analytic (numpy functions only, no branches
on the value, no `abs`), because inner derivatives are taken with a complex step: real types stand
for what is complex there. The chosen T
has to stay on one side of 0 °C, where the saturation curve has a kink.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple, cast

import numpy as np

from hygro.proof.references.physics import ZERO_CELSIUS, Array, Constants, saturation_pressure

Field = Callable[[Array, float], Array]
"""Function of position [m] and time [s]."""
Curve = Callable[[Array, Array], Array]
"""Function of relative humidity [-] and temperature [K]."""

COMPLEX_STEP = 1e-30
"""Imaginary step; the derivative is free of cancellation, so any tiny number does."""
OUTER_WEIGHTS = (4.0 / 5.0, -1.0 / 5.0, 4.0 / 105.0, -1.0 / 280.0)
"""Central difference of eighth order."""


class Material(NamedTuple):
    """Material functions of humidity [-] and temperature [K].

    Attributes
    ----------
    water_content : callable
        w(φ, T); the engine's curves do not depend on T. [kg/m³]
    vapour_permeability : callable
        δ(φ, T). [kg/(m·s·Pa)]
    liquid_conductivity : callable
        K(φ, T), for the gradient of suction. [s]
    thermal_conductivity : callable
        λ(φ, T). [W/(m·K)]
    dry_capacity : float
        Volumetric heat capacity of the dry material. [J/(m³·K)]
    """

    water_content: Curve
    vapour_permeability: Curve
    liquid_conductivity: Curve
    thermal_conductivity: Curve
    dry_capacity: float


class Manufactured(NamedTuple):
    """Chosen fields with their material.

    Attributes
    ----------
    temperature : callable
        T(x, t), on one side of 0 °C. [K]
    humidity : callable
        φ(x, t), between 0 and 1. [-]
    material : Material
        Material functions.
    length, duration : float
        Scales of the fields, used for the size of the outer difference. [m], [s]
    constants : Constants
        Physical constants.
    """

    temperature: Field
    humidity: Field
    material: Material
    length: float
    duration: float
    constants: Constants = Constants()


def _inner(function: Field, x: Array, t: float) -> Array:
    """Derivative by x, exact to round-off."""
    return np.imag(function(cast(Array, x + 1j * COMPLEX_STEP), t)) / COMPLEX_STEP


def _time(function: Field, x: Array, t: float) -> Array:
    """Derivative by t, exact to round-off."""
    return np.imag(function(x, cast(float, t + 1j * COMPLEX_STEP))) / COMPLEX_STEP


def _outer(function: Field, x: Array, t: float, step: float) -> Array:
    """Derivative by x with an eighth-order central difference."""
    total = np.zeros_like(np.asarray(x, dtype=float))
    for k, weight in enumerate(OUTER_WEIGHTS, start=1):
        total = total + weight * (function(x + k * step, t) - function(x - k * step, t))
    return total / step


def water(problem: Manufactured, x: Array, t: float) -> Array:
    """Water content w. [kg/m³]"""
    return problem.material.water_content(problem.humidity(x, t), problem.temperature(x, t))


def enthalpy(problem: Manufactured, x: Array, t: float) -> Array:
    """Volumetric enthalpy H, zero at 0 °C dry. [J/m³]"""
    capacity = problem.material.dry_capacity + water(problem, x, t) * problem.constants.water_heat
    return capacity * (problem.temperature(x, t) - ZERO_CELSIUS)


def moisture_fluxes(problem: Manufactured, x: Array, t: float) -> tuple[Array, Array]:
    """Vapour and liquid flux in the direction of x. [kg/(m²·s)]"""
    scale = problem.constants.water_density * problem.constants.vapour_gas_constant

    def pressure(x: Array, t: float) -> Array:
        return problem.humidity(x, t) * saturation_pressure(problem.temperature(x, t))

    def suction(x: Array, t: float) -> Array:
        return -scale * problem.temperature(x, t) * np.log(problem.humidity(x, t))

    state = problem.humidity(x, t), problem.temperature(x, t)
    vapour = -problem.material.vapour_permeability(*state) * _inner(pressure, x, t)
    liquid = problem.material.liquid_conductivity(*state) * _inner(suction, x, t)
    return vapour, liquid


def heat_flux(problem: Manufactured, x: Array, t: float) -> Array:
    """Heat flux in the direction of x, with the enthalpy of both moisture fluxes. [W/m²]"""
    constants = problem.constants
    vapour, liquid = moisture_fluxes(problem, x, t)
    temperature = problem.temperature(x, t)
    theta = temperature - ZERO_CELSIUS
    conductivity = problem.material.thermal_conductivity(problem.humidity(x, t), temperature)
    conduction = -conductivity * _inner(problem.temperature, x, t)
    latent = constants.evaporation_heat + constants.vapour_heat * theta
    return conduction + vapour * latent + liquid * constants.water_heat * theta


def sources(
    problem: Manufactured, x: Array, t: float, *, step: float = 0.01
) -> tuple[Array, Array]:
    """Moisture source [kg/(m³·s)] and heat source [W/m³] at positions [m] and a time [s].

    Parameters
    ----------
    problem : Manufactured
        Fields and material; the fields must be defined a few per cent beyond the wall.
    x : array
        Positions. [m]
    t : float
        Time. [s]
    step : float
        Step of the outer difference as a share of `length`. [-]
    """
    width = step * problem.length

    def moisture(x: Array, t: float) -> Array:
        vapour, liquid = moisture_fluxes(problem, x, t)
        return vapour + liquid

    storage_w = _time(lambda x, t: water(problem, x, t), x, t)
    storage_h = _time(lambda x, t: enthalpy(problem, x, t), x, t)
    source_w = storage_w + _outer(moisture, x, t, width)
    source_h = storage_h + _outer(lambda x, t: heat_flux(problem, x, t), x, t, width)
    return source_w, source_h
