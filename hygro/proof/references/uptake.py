"""Capillary uptake into a dry half space. Owns the similarity solutions for D(w).

Boltzmann's transform ξ = x/√t turns ∂w/∂t = ∂(D ∂w/∂x)/∂x into -(ξ/2) w' = (D w')'; the
uptake is A·√t with A the integral of w over ξ (Crank 1975, section 7.2, from memory).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.integrate import solve_bvp
from scipy.special import erfc

from hygro.proof.references.physics import Array


def constant_profile(position: Array, time: float, *, diffusivity: float) -> Array:
    """Share of the surface value at depths of a half space, D constant: erfc(x/2√(D t)). [-]"""
    return erfc(np.asarray(position) / (2.0 * np.sqrt(diffusivity * time)))


def diffusivity_from_uptake(coefficient: float, content: float) -> float:
    """Constant diffusivity that takes up A√t from a dry start, exact: (π/4)(A/w_f)². [m²/s]

    Parameters
    ----------
    coefficient : float
        Uptake coefficient A. [kg/(m²·s½)]
    content : float
        Surface water content w_f. [kg/m³]
    """
    return float(np.pi / 4.0 * (coefficient / content) ** 2)


class ExponentialUptake(NamedTuple):
    """Similarity profile for D = D1·ratio^(c - 1), c = w/w_f, scaled with √D1.

    Attributes
    ----------
    ratio : float
        D at the wet surface over D of the dry material. [-]
    front : float
        Depth at which c falls below 0.001, over √(D1 t). [-]
    uptake : float
        A / (w_f √D1). [-]
    depth, content : array
        Scaled depth x/√(D1 t) and relative content c. [-]
    """

    ratio: float
    front: float
    uptake: float
    depth: Array
    content: Array

    @property
    def constant(self) -> float:
        """C in D1 = C·(A/w_f)². [-]"""
        return 1.0 / self.uptake**2

    def profile(self, position: Array, time: float, *, wet_diffusivity: float) -> Array:
        """Relative content at depths [m] and a time [s]; D1 in m²/s. [-]"""
        scaled = np.asarray(position) / np.sqrt(wet_diffusivity * time)
        return np.interp(scaled, self.depth, self.content, right=0.0)


def solve_exponential(ratio: float = 1000.0, *, tolerance: float = 1e-9) -> ExponentialUptake:
    """Solve the uptake problem for an exponential diffusivity, by collocation.

    In y = x/√(D1 t) and F = -(D/D1) dc/dy: dc/dy = -F D1/D, dF/dy = (y/2) dc/dy, c(0) = 1 and
    c = 0 far away. The uptake is twice the surface flux.

    Parameters
    ----------
    ratio : float
        D at the wet surface over D of the dry material, 1 to 1e5. [-]
    tolerance : float
        Relative residual of the collocation method. [-]

    Raises
    ------
    RuntimeError
        If the collocation method does not reach the tolerance.
    """
    far = 2.5 + 10.0 / np.sqrt(ratio)
    mesh = np.linspace(0.0, far, 2001)
    guess = np.vstack([np.exp(-mesh), np.exp(-mesh)])
    exponents = np.linspace(0.0, np.log(ratio), 1 + int(np.ceil(np.log(ratio) / 0.7)))
    outcome = None
    for steep in exponents:
        final = steep == exponents[-1]
        outcome = solve_bvp(
            lambda y, state, k=steep: _uptake_derivative(y, state, k),
            lambda left, right: np.array([left[0] - 1.0, right[0]]),
            mesh,
            guess,
            tol=tolerance if final else 1e-4,
            max_nodes=400_000,
        )
        if not outcome.success:
            raise RuntimeError(f"uptake at D ratio {np.exp(steep):.0f}: {outcome.message}")
        mesh, guess = outcome.x, outcome.y
    assert outcome is not None
    depth = np.linspace(0.0, far, 20_001)
    content = outcome.sol(depth)[0]
    front = float(depth[np.argmax(content < 1e-3)])
    return ExponentialUptake(ratio, front, 2.0 * float(outcome.y[1, 0]), depth, content)


def _uptake_derivative(y: Array, state: Array, steep: float) -> Array:
    """Right side d(c, F)/dy of the similarity equations."""
    slope = -state[1] * np.exp(-steep * (state[0] - 1.0))
    return np.array([slope, 0.5 * y * slope])
