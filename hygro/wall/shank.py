"""Temperature of a metal shank that crosses an insulation layer, as a one-dimensional fin.

Owns the fin estimate and its bounds; knows nothing of walls beyond two planes and what joins them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from hygro.errors import InputError


@dataclass(frozen=True)
class Shank:
    """A round fastener through a layer of insulation.

    Attributes
    ----------
    diameter : float
        Of the core. [m]
    conductivity : float
        Of the metal; carbon steel about 50, stainless 15 (handbook values, from memory). [W/(m·K)]
    length : float
        Through the insulation. [m]
    insulation : float
        Conductivity of the insulation. [W/(m·K)]
    radius : float
        Where the insulation is undisturbed: half the spacing, or the insulation thickness where
        that is less (common practice, no source). [m]
    outer, inner : float
        Conductance from the ends of the shank to the undisturbed planes there. [W/K]
    """

    diameter: float
    conductivity: float
    length: float
    insulation: float
    radius: float
    outer: float
    inner: float

    def __post_init__(self) -> None:
        for key in ("diameter", "conductivity", "length", "insulation", "radius"):
            value = getattr(self, key)
            if not (np.isfinite(value) and value > 0.0):
                raise InputError(f"shank: {key} = {value}: must be above 0, in SI units")
        if self.outer < 0.0 or self.inner < 0.0:
            raise InputError("shank: outer and inner conductances must not be negative")
        if self.diameter >= 2.0 * self.radius:
            raise InputError(f"shank: diameter = {self.diameter}: wider than 2·radius; in mm?")


class ShankState(NamedTuple):
    """Shank where it enters and leaves the insulation, and the heat it adds."""

    outer: float
    """Temperature at the outer plane. [K]"""
    inner: float
    """Temperature at the inner plane, where it meets the sheathing. [K]"""
    chi: float
    """Heat drawn from the inner plane over the difference of the two planes' temperatures. [W/K]"""


def embedded_conductance(*, diameter: float, depth: float, conductivity: float) -> float:
    """Conductance from a shank embedded at right angles in a thick board to the board's face. [W/K]

    Shape factor of a vertical cylinder in a half space, S = 2πL/ln(4L/D), L ≫ D (handbook, from
    memory).

    Parameters
    ----------
    diameter, depth : float
        Of the shank, and how deep it is embedded. [m]
    conductivity : float
        Of the board. [W/(m·K)]
    """
    if not depth > diameter > 0.0:
        raise InputError(f"shank: depth = {depth} must exceed diameter = {diameter}; both in m")
    return float(2.0 * np.pi * depth * conductivity / np.log(4.0 * depth / diameter))


def disc_conductance(*, diameter: float, conductivity: float) -> float:
    """Conductance from a washer or head to the board it lies on: S = 2·D, thin disc. [W/K]"""
    return 2.0 * diameter * conductivity


def film_conductance(*, diameter: float, coefficient: float) -> float:
    """Conductance from a head's face to air, coefficient in W/(m²·K). [W/K]"""
    return float(0.25 * np.pi * diameter**2 * coefficient)


def shank_temperature(shank: Shank, *, T_outer: float, T_inner: float) -> ShankState:
    """Temperatures of the shank at both planes and its point transmittance.

    With the undisturbed insulation linear between the planes, the excess θ of the shank obeys
    k·A·θ'' = g·θ, g = 2π·λ/ln(2·r/d), and at the ends k·A·(s + θ') = G_o·θ(0),
    −k·A·(s + θ') = G_i·θ(L), where s is the slope of the undisturbed profile. The heat drawn from
    the inner plane, through the end and through the insulation (a line sink at x draws x/L of its
    heat from the inner plane), adds up to k·A·(T(L) − T(0))/L.

    Valid for one slender shank (d ≪ L) far from others, whose neighbourhood leaves the two planes'
    temperatures as they are; lateral flow enters as radial conduction only. Bounds: the shank lies
    between the two planes' temperatures, and χ ≤ k·A/L, the parallel path, reached as both G → ∞.

    Parameters
    ----------
    shank : Shank
        Geometry and conductances.
    T_outer, T_inner : float
        Undisturbed temperatures of the outer and inner face of the insulation. [K]
    """
    kA = shank.conductivity * 0.25 * np.pi * shank.diameter**2
    g = 2.0 * np.pi * shank.insulation / np.log(2.0 * shank.radius / shank.diameter)
    m = np.sqrt(g / kA)
    slope = (T_inner - T_outer) / shank.length
    decay = np.exp(-m * shank.length)
    # θ = a·exp(−m·x) + b·exp(−m·(L − x)): no exponential grows.
    system = np.array(
        [
            [-kA * m - shank.outer, (kA * m - shank.outer) * decay],
            [(kA * m - shank.inner) * decay, -kA * m - shank.inner],
        ]
    )
    a, b = np.linalg.solve(system, [-kA * slope, kA * slope])
    at_outer, at_inner = float(a + b * decay), float(a * decay + b)
    T0, T1 = T_outer + at_outer, T_inner + at_inner
    span = T_inner - T_outer
    if span == 0.0:
        raise InputError("shank: T_outer equals T_inner; a temperature difference is needed for χ")
    return ShankState(T0, T1, kA / shank.length * (T1 - T0) / span)


def parallel_path_temperature(*, R_outer: float, R_inner: float, T_o: float, T_i: float) -> float:
    """Temperature at a plane on a path of its own from air to air, no lateral flow. [K]

    The cold bound for a point on a fastener: R_outer with the metal in place of the insulation.

    Parameters
    ----------
    R_outer, R_inner : float
        Along the path, films included, outside and inside of the plane. [m²·K/W]
    T_o, T_i : float
        Air temperatures. [K]
    """
    if R_outer < 0.0 or R_inner < 0.0 or R_outer + R_inner <= 0.0:
        raise InputError("parallel path: resistances must not be negative and not both 0")
    return T_o + (T_i - T_o) * R_outer / (R_outer + R_inner)
