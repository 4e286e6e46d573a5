"""Exact heat conduction: step with a surface coefficient, layers in series, radiating surface.

Owns three closed forms (Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, section
2.7, from memory; series resistances; a surface balance solved by a root find); knows no moisture.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq
from scipy.special import erfc, erfcx

from hygro.proof.references.physics import ZERO_CELSIUS, Array

STEFAN_BOLTZMANN = 5.670374e-8
"""CODATA 2018. [W/(m²·K⁴)]"""


def step_with_coefficient(
    position: Array,
    time: float,
    *,
    conductivity: float,
    capacity: float,
    coefficient: float,
) -> Array:
    """Share of an air temperature step that has reached a depth of a half space. [-]

    erfc(ξ) - exp(-ξ²)·erfcx(ξ + η), ξ = x / (2√(a t)), η = (h/λ)√(a t), a = λ/C; the scaled
    function keeps the product exp·erfc finite at late times.

    Parameters
    ----------
    position : array
        Depth below the surface, not negative. [m]
    time : float
        Time since the step, positive. [s]
    conductivity : float
        Thermal conductivity λ. [W/(m·K)]
    capacity : float
        Volumetric heat capacity C. [J/(m³·K)]
    coefficient : float
        Surface heat transfer coefficient h. [W/(m²·K)]
    """
    spread = np.sqrt(conductivity / capacity * time)
    xi = np.asarray(position) / (2.0 * spread)
    return erfc(xi) - np.exp(-(xi**2)) * erfcx(xi + coefficient / conductivity * spread)


def step_heat_taken(
    time: float, *, conductivity: float, capacity: float, coefficient: float
) -> float:
    """Heat that has entered the half space per unit area and unit step. [J/(m²·K)]

    The integral of h (1 - share at the surface): (C λ / h) [2η/√π - 1 + erfcx(η)].
    """
    eta = coefficient / conductivity * np.sqrt(conductivity / capacity * time)
    front = capacity * conductivity / coefficient
    return float(front * (2.0 * eta / np.sqrt(np.pi) - 1.0 + erfcx(eta)))


def layer_temperatures(
    resistances: Sequence[float], outside: float, inside: float
) -> tuple[Array, float]:
    """Steady temperatures between resistances in series, and the heat flux inward.

    Parameters
    ----------
    resistances : sequence of float
        Resistances from outside to inside, films included. [m²·K/W]
    outside, inside : float
        Air temperatures. [K]

    Returns
    -------
    array, float
        Temperature at each joint, outside air first [K]; flux, positive inward [W/m²].
    """
    total = float(np.sum(resistances))
    share = np.concatenate([[0.0], np.cumsum(resistances)]) / total
    return outside + share * (inside - outside), (outside - inside) / total


class RadiatingWall(NamedTuple):
    """Two layers, convection and long-wave exchange with sky and ground outside, a film inside.

    Attributes
    ----------
    resistances : tuple of float
        Resistances of the layers from outside to inside, without films. [m²·K/W]
    outside_coefficient, inside_coefficient : float
        Convective coefficient outside, combined coefficient inside. [W/(m²·K)]
    outside, inside, sky, ground : float
        Temperatures of the airs, the sky and the ground. [K]
    emissivity : float
        Long-wave emissivity of the outer surface. [-]
    sky_view, ground_view : float
        View factors, sum at most 1. [-]
    absorbed : float
        Absorbed short-wave radiation. [W/m²]
    """

    resistances: tuple[float, ...]
    outside_coefficient: float
    inside_coefficient: float
    outside: float
    inside: float
    sky: float
    ground: float
    emissivity: float
    sky_view: float
    ground_view: float
    absorbed: float


def radiating_surface_balance(surface: float, wall: RadiatingWall) -> float:
    """Heat gained by the outer surface at a trial temperature. [W/m²]

    α·I + h(T_e - T) + εσ[F_sky(T_sky⁴ - T⁴) + F_gr(T_gr⁴ - T⁴)] - (T - T_i)/R.
    """
    inward = sum(wall.resistances) + 1.0 / wall.inside_coefficient
    sky = wall.sky_view * (wall.sky**4 - surface**4)
    ground = wall.ground_view * (wall.ground**4 - surface**4)
    return (
        wall.absorbed
        + wall.outside_coefficient * (wall.outside - surface)
        + wall.emissivity * STEFAN_BOLTZMANN * (sky + ground)
        - (surface - wall.inside) / inward
    )


def radiating_wall_temperatures(wall: RadiatingWall) -> Array:
    """Steady temperatures at the outer surface, each joint and the inner surface. [K]

    The balance falls strictly with the surface temperature, so the root between -150 °C and
    +300 °C is the only one.
    """
    low, high = ZERO_CELSIUS - 150.0, ZERO_CELSIUS + 300.0
    surface = float(brentq(radiating_surface_balance, low, high, args=(wall,), xtol=1e-11))
    resistances = [*wall.resistances, 1.0 / wall.inside_coefficient]
    return layer_temperatures(resistances, surface, wall.inside)[0][:-1]
