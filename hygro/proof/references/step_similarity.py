"""Coupled heat and moisture step into a half space, as a boundary value problem in x/√t.

Owns the similarity form of the coupled equations (EN 15026 benchmark) and its solution with an
adaptive collocation method; knows no time stepping and no grid of the engine.

With η = x/√t the balances ∂w/∂t = -∂g/∂x and ∂H/∂t = -∂q/∂x become
g̃' = (η/2) w' and q̃' = (η/2) H' with g̃ = √t·g, q̃ = √t·q and ' = d/dη. The stretched
coordinate s = ln(1 + η/η0) resolves the moisture front (η ≈ 1e-5 m/√s) and the thermal front
(η ≈ 3e-3 m/√s) together.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from scipy.integrate import solve_bvp

from hygro.proof.references import benchmark_material as material
from hygro.proof.references.physics import (
    CURVE_TEMPERATURE,
    ZERO_CELSIUS,
    Array,
    Constants,
    humidity_from_suction,
    saturation_pressure,
    saturation_pressure_slope,
    suction_from_humidity,
)

STRETCH = 1e-6
"""Length η0 of the stretched coordinate, a tenth of the moisture front. [m/√s]"""
FAR = 0.012
"""Place of the undisturbed state: η² / (4 a) = 33 at a = 1.1e-6 m²/s. [m/√s]"""


class StepCase(NamedTuple):
    """Uniform start and the state imposed on the surface from t = 0.

    Attributes
    ----------
    initial_temperature, surface_temperature : float
        Temperatures. [K]
    initial_humidity, surface_humidity : float
        Relative humidities, between 0 and 1. [-]
    constants : Constants
        Physical constants.
    """

    initial_temperature: float = 293.15
    surface_temperature: float = 303.15
    initial_humidity: float = 0.50
    surface_humidity: float = 0.95
    constants: Constants = Constants()


class SimilaritySolution(NamedTuple):
    """Profiles over η = x/√t.

    Attributes
    ----------
    case : StepCase
        What was solved.
    solution : callable
        s -> (T, ln ψ, g̃, q̃).
    residual : float
        Largest relative residual of the collocation solution. [-]
    """

    case: StepCase
    solution: Callable[[Array], Array]
    residual: float

    def at(self, position: Array, time: float) -> tuple[Array, Array]:
        """Temperature [K] and water content [kg/m³] at positions [m] and a time [s]."""
        eta = np.asarray(position, dtype=float) / np.sqrt(time)
        state = self.solution(np.log1p(np.minimum(eta, FAR) / STRETCH))
        return state[0], material.water_content(np.exp(state[1]))


def solve_step(case: StepCase, *, tolerance: float = 1e-8) -> SimilaritySolution:
    """Solve the similarity problem, stepping up to the full change of state.

    Raises
    ------
    RuntimeError
        If the collocation method does not reach the tolerance.
    """
    end = np.log1p(FAR / STRETCH)
    mesh = np.linspace(0.0, end, 400)
    guess = _first_guess(mesh, case)
    outcome = None
    for share in (0.02, 0.1, 0.25, 0.5, 0.75, 0.9, 1.0):
        part = _partial(case, share)
        limit = tolerance if share == 1.0 else 1e-3
        outcome = solve_bvp(
            lambda s, y, c=part.constants: _derivative(s, y, c),
            lambda left, right, p=part: _ends(left, right, p),
            mesh,
            guess,
            tol=limit,
            max_nodes=200_000,
        )
        if not outcome.success:
            raise RuntimeError(f"similarity solution at {share:.0%} of the step: {outcome.message}")
        mesh, guess = outcome.x, outcome.y
    assert outcome is not None
    return SimilaritySolution(case, outcome.sol, float(outcome.rms_residuals.max()))


def _log_suction(humidity: float, constants: Constants) -> float:
    """Logarithm of the suction at the curve temperature: the moisture unknown. [ln Pa]"""
    return float(np.log(suction_from_humidity(humidity, CURVE_TEMPERATURE, constants)))


def _partial(case: StepCase, share: float) -> StepCase:
    """The same case with a part of the step in temperature and in log suction."""
    first = _log_suction(case.initial_humidity, case.constants)
    last = _log_suction(case.surface_humidity, case.constants)
    value = np.exp(first + share * (last - first))
    rise = case.surface_temperature - case.initial_temperature
    return case._replace(
        surface_temperature=case.initial_temperature + share * rise,
        surface_humidity=float(humidity_from_suction(value, CURVE_TEMPERATURE, case.constants)),
    )


def _first_guess(mesh: Array, case: StepCase) -> Array:
    """A uniform field without flux."""
    guess = np.zeros((4, mesh.size))
    guess[0] = case.initial_temperature
    guess[1] = _log_suction(case.initial_humidity, case.constants)
    return guess


def _ends(left: Array, right: Array, case: StepCase) -> Array:
    """Departure from the imposed states at the surface and far away."""
    return np.array(
        [
            left[0] - case.surface_temperature,
            left[1] - _log_suction(case.surface_humidity, case.constants),
            right[0] - case.initial_temperature,
            right[1] - _log_suction(case.initial_humidity, case.constants),
        ]
    )


def _derivative(s: Array, state: Array, constants: Constants) -> Array:
    """Right side d(T, ln ψ, g̃, q̃)/ds of the similarity equations."""
    temperature, log_suction, moisture, heat = state
    eta = STRETCH * np.expm1(s)
    suction = np.exp(log_suction)
    content = material.water_content(suction)
    theta = temperature - ZERO_CELSIUS
    vapour_t, vapour_u, liquid_t, liquid_u = _coefficients(temperature, suction, content, constants)
    h_vapour = constants.evaporation_heat + constants.vapour_heat * theta
    h_liquid = constants.water_heat * theta
    # moisture = -(a11 T' + a12 u'), heat = -(a21 T' + a22 u'): two equations for T' and u'
    a11, a12 = vapour_t + liquid_t, vapour_u + liquid_u
    a21 = material.thermal_conductivity(content) + vapour_t * h_vapour + liquid_t * h_liquid
    a22 = vapour_u * h_vapour + liquid_u * h_liquid
    determinant = a11 * a22 - a12 * a21
    slope_t = -(moisture * a22 - heat * a12) / determinant
    slope_u = -(heat * a11 - moisture * a21) / determinant
    slope_w = material.water_content_log_slope(suction) * slope_u
    capacity = material.DRY_HEAT_CAPACITY + content * constants.water_heat
    slope_h = capacity * slope_t + h_liquid * slope_w
    stretch = eta + STRETCH
    return stretch * np.array([slope_t, slope_u, 0.5 * eta * slope_w, 0.5 * eta * slope_h])


def _coefficients(
    temperature: Array, suction: Array, content: Array, constants: Constants
) -> tuple[Array, Array, Array, Array]:
    """Factors of -T' and -u' in the vapour and the liquid flux, u = ln ψ.

    Vapour pressure p = φ(ψ) p_sat(T); local suction = ψ T / T_curve.
    """
    permeability = material.vapour_permeability(content, temperature, constants)
    conductivity = material.liquid_conductivity(content)
    humidity = humidity_from_suction(suction, CURVE_TEMPERATURE, constants)
    scale = constants.water_density * constants.vapour_gas_constant * CURVE_TEMPERATURE
    vapour_t = permeability * humidity * saturation_pressure_slope(temperature)
    vapour_u = -permeability * saturation_pressure(temperature) * humidity * suction / scale
    liquid_t = -conductivity * suction / CURVE_TEMPERATURE
    liquid_u = -conductivity * suction * temperature / CURVE_TEMPERATURE
    return vapour_t, vapour_u, liquid_t, liquid_u
