"""Periodic heat transfer through plane layers after EN ISO 13786. Owns the matrices, nothing else.

Formulas of ISO 13786:2007 (from memory). Layers are counted from inside to outside and the wall
matrix is the product Z = Z_se · … · Z_si; amplitudes of temperature and flux on the two sides
are joined by it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

DAY = 86400.0
"""Period of the daily variation. [s]"""
Matrix = NDArray[np.complex128]


class Layer(NamedTuple):
    """One homogeneous layer: thickness [m], conductivity [W/(m·K)], volumetric heat [J/(m³·K)]."""

    thickness: float
    conductivity: float
    capacity: float


class PeriodicResult(NamedTuple):
    """Dynamic thermal quantities of a wall; side 1 is inside, side 2 outside.

    Attributes
    ----------
    steady : float
        Steady transmittance U. [W/(m²·K)]
    transmittance, admittance_inside, admittance_outside : complex
        Y12, Y11 and Y22. [W/(m²·K)]
    capacity_inside, capacity_outside : float
        Areal heat capacities κ1, κ2. [J/(m²·K)]
    """

    steady: float
    transmittance: complex
    admittance_inside: complex
    admittance_outside: complex
    capacity_inside: float
    capacity_outside: float

    @property
    def decrement(self) -> float:
        """Decrement factor f = |Y12| / U. [-]"""
        return abs(self.transmittance) / self.steady


def time_shift(admittance: complex, *, period: float = DAY) -> float:
    """Time by which a flux leads (positive) or lags (negative) the temperature. [s]

    Principal value, between minus and plus half a period: a lag of more than half a period shows
    as a lead, to be read modulo the period.
    """
    return float(period / (2.0 * np.pi) * np.angle(admittance))


def layer_matrix(layer: Layer, *, period: float = DAY) -> Matrix:
    """Heat transfer matrix of one layer (ISO 13786:2007 eq. 14-17, numbers from memory)."""
    depth = np.sqrt(layer.conductivity * period / (np.pi * layer.capacity))
    x = layer.thickness / depth
    sc, cs = np.sinh(x) * np.cos(x), np.cosh(x) * np.sin(x)
    diagonal = np.cosh(x) * np.cos(x) + 1j * np.sinh(x) * np.sin(x)
    upper = -depth / (2.0 * layer.conductivity) * (sc + cs + 1j * (cs - sc))
    lower = -layer.conductivity / depth * (sc - cs + 1j * (sc + cs))
    return np.array([[diagonal, upper], [lower, diagonal]])


def resistance_matrix(resistance: float) -> Matrix:
    """Matrix of a pure resistance: a film or an air space. [m²·K/W]"""
    return np.array([[1.0, -resistance], [0.0, 1.0]], dtype=complex)


def periodic_wall(
    layers: Sequence[Layer],
    *,
    inside_resistance: float,
    outside_resistance: float,
    period: float = DAY,
) -> PeriodicResult:
    """Dynamic quantities of a wall whose layers run from inside to outside.

    Parameters
    ----------
    layers : sequence of Layer
        Layers, the innermost first.
    inside_resistance, outside_resistance : float
        Surface resistances R_si and R_se, positive. [m²·K/W]
    period : float
        Period of the variation. [s]
    """
    matrix = resistance_matrix(inside_resistance)
    for layer in layers:
        matrix = layer_matrix(layer, period=period) @ matrix
    matrix = resistance_matrix(outside_resistance) @ matrix
    (z11, z12), (_, z22) = matrix
    total = inside_resistance + outside_resistance
    total += sum(layer.thickness / layer.conductivity for layer in layers)
    turn = period / (2.0 * np.pi)
    return PeriodicResult(
        steady=1.0 / total,
        transmittance=complex(-1.0 / z12),
        admittance_inside=complex(-z11 / z12),
        admittance_outside=complex(-z22 / z12),
        capacity_inside=float(turn * abs((z11 - 1.0) / z12)),
        capacity_outside=float(turn * abs((z22 - 1.0) / z12)),
    )
