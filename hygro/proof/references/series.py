"""Fourier solutions of linear diffusion. Owns a slab with imposed ends and a buffered half space.

Crank, The Mathematics of Diffusion, 2nd ed. 1975, section 4.3 (from memory) for the slab; the
buffer value is the sum over the harmonics of a square humidity cycle.
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import minimize_scalar

from hygro.proof.references.physics import Array


def slab_profile(
    position: Array,
    time: float,
    *,
    thickness: float,
    diffusivity: float,
    initial: float,
    left: float,
    right: float,
    terms: int = 4000,
) -> Array:
    """Value in a slab with a uniform start and imposed values on both faces from t = 0.

    Parameters
    ----------
    position : array
        Distance from the left face, 0 to `thickness`. [m]
    time : float
        Time since the step, positive. [s]
    thickness : float
        Thickness of the slab. [m]
    diffusivity : float
        Constant diffusivity. [m²/s]
    initial, left, right : float
        Start and the values on the two faces, any unit; the result has the same unit.
    terms : int
        Number of terms; 4000 leaves less than 1e-12 of the step after one minute for
        D t / d² > 1e-6.
    """
    x = np.atleast_1d(np.asarray(position, dtype=float))[:, None] / thickness
    n = np.arange(1, terms + 1)[None, :]
    sign = np.where(n % 2 == 0, 1.0, -1.0)
    amplitude = 2.0 / (np.pi * n) * ((initial - left) - (initial - right) * sign)
    decay = np.exp(-diffusivity * (np.pi * n / thickness) ** 2 * time)
    steady = left + (right - left) * x[:, 0]
    return steady + (amplitude * np.sin(np.pi * n * x) * decay).sum(axis=1)


def slab_mean(
    time: float,
    *,
    thickness: float,
    diffusivity: float,
    initial: float,
    left: float,
    right: float,
    terms: int = 4000,
) -> float:
    """Mean over the slab of `slab_profile`; only odd terms carry a mean."""
    n = np.arange(1, 2 * terms, 2)
    decay = np.exp(-diffusivity * (np.pi * n / thickness) ** 2 * time)
    middle = 0.5 * (left + right)
    return float(middle + 8.0 / np.pi**2 * (initial - middle) * np.sum(decay / n**2))


def buffer_effusivity(
    *, permeability: float, density: float, sorption_slope: float, saturation: float
) -> float:
    """Moisture effusivity b_m = √(δ ρ (∂u/∂φ) / p_sat). [kg/(m²·Pa·s½)]

    Nordtest protocol, Rode et al. 2005 (from memory).
    """
    return float(np.sqrt(permeability * density * sorption_slope / saturation))


def buffer_uptake_square(
    *, effusivity: float, saturation: float, period: float, share: float, terms: int = 2_000_000
) -> float:
    """Moisture exchanged per unit of relative humidity step in a square cycle. [kg/m²]

    The surface humidity of a half space is high for a `share` of the period and low for the rest.
    About the middle of the high phase the square wave has the harmonics
    2 sin(nπ·share)/(nπ)·cos(nωt); each drives a surface flux with the factor b_m p_sat √(nω) that
    leads by 45°. Integrated over the high phase they add up to

        b_m p_sat √(t_p/π) · (2/π) Σ sin²(nπ·share) / n^1.5.

    For a share of 1/3 the sum is (ζ(3/2)/4)(3 - 1/√3), so the last two factors give 1.00729
    and the uptake is 0.56829 b_m p_sat √t_p (the protocol prints 0.00568 per % RH).
    The tail beyond `terms` is replaced by its mean, 1/√N, which leaves less than 1e-9.
    """
    n = np.arange(1, terms + 1, dtype=float)
    body = float(np.sum(np.sin(n * np.pi * share) ** 2 / n**1.5))
    tail = 1.0 / np.sqrt(terms + 0.5)
    factor = 2.0 / np.pi * (body + tail) * np.sqrt(period / np.pi)
    return float(factor * effusivity * saturation)


def buffer_uptake_ramped(
    *, effusivity: float, saturation: float, period: float, share: float, ramp: float
) -> float:
    """Moisture exchanged when the square cycle changes in ramps instead of jumps. [kg/m²]

    Loads given each hour and joined by lines ramp for an hour; every harmonic shrinks by
    sin(nω·ramp/2)/(nω·ramp/2). The largest and the smallest mass are searched over the period,
    because a ramp moves them. 6000 harmonics leave less than 1e-6 of the sum for ramps above
    one hundredth of the period.

    Parameters
    ----------
    effusivity : float
        Moisture effusivity b_m. [kg/(m²·Pa·s½)]
    saturation : float
        Saturation pressure. [Pa]
    period : float
        Period of the cycle. [s]
    share : float
        Share of the period at high humidity. [-]
    ramp : float
        Duration of each change, below `share` and 1 - `share` of the period. [s]
    """
    n = np.arange(1, 6001, dtype=float)
    omega = 2.0 * np.pi * n / period
    square = 2.0 * np.sin(n * np.pi * share) / (n * np.pi)
    size = square * np.sinc(n * ramp / period) * effusivity * saturation / np.sqrt(omega)

    def mass(time: float) -> float:
        return float(np.sum(size * np.cos(omega * time - np.pi / 4.0)))

    half = 0.5 * share * period
    high = minimize_scalar(lambda t: -mass(t), bounds=(0.0, half + ramp), method="bounded")
    low = minimize_scalar(mass, bounds=(-period + half, -half + ramp), method="bounded")
    return mass(high.x) - mass(low.x)


def buffer_uptake_sine(*, effusivity: float, saturation: float, period: float) -> float:
    """Moisture exchanged between the turning points of a sine cycle, per unit amplitude. [kg/m²]

    Surface humidity amplitude 1 (peak to mean) gives a flux amplitude b_m p_sat √ω; the mass
    swings by twice flux amplitude / ω: 2 b_m p_sat / √ω with ω = 2π/t_p.
    """
    return float(2.0 * effusivity * saturation / np.sqrt(2.0 * np.pi / period))


def penetration_depth(*, diffusivity: float, period: float, share: float = 0.01) -> float:
    """Depth at which a sine wave has decayed to `share` of its surface amplitude. [m]

    ln(1/share)·√(D t_p/π); the factor is 4.605 for 1 % (the protocol prints 4.61, from memory).
    """
    return float(np.log(1.0 / share) * np.sqrt(diffusivity * period / np.pi))
