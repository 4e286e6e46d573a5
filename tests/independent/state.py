"""State of a node of the independent model from what it holds: temperature, humidity, transport.

Formulas: `docs/numerics.md` (1) to (6) and `docs/real-walls.md`, written anew.
"""

from __future__ import annotations

import numpy as np
from independent.constants import (
    C_ICE,
    C_W,
    COLD,
    COLD_STEP,
    FREE,
    FULL,
    HEAT,
    HUMID,
    ICE,
    L_F,
    LAMBDA,
    LAMBDA_W,
    LIQUID,
    MOVES,
    POWER,
    PS,
    R_HEAT,
    R_V,
    R_VAPOUR,
    RANGE,
    RH,
    T_REF,
    THETA,
    WARM,
    ZERO,
    P,
    T,
)
from numba import njit


@njit
def ramp(x):
    x = min(max(x, 0.0), 1.0)
    return x * x * (3.0 - 2.0 * x)


@njit
def saturation(temperature):
    """Over water, below 0 °C over ice; ISO 13788 (from memory). [Pa]"""
    theta = temperature - ZERO
    if theta >= 0.0:
        return 610.5 * np.exp(17.269 * theta / (237.3 + theta))
    return 610.5 * np.exp(21.875 * theta / (265.5 + theta))


@njit
def ice_of(held, number, theta, w):
    """Ice [kg/m³] and its rise per kelvin of frost, from what the pores hold liquid."""
    if theta >= 0.0:
        return 0.0, 0.0
    at = min(-theta / COLD_STEP, COLD - 1.0)
    k = int(at)
    rise = held[k + 1] - held[k]
    base = min(w, number[FREE])
    frozen = base - (held[k] + (at - k) * rise)
    slope = -rise / COLD_STEP
    if frozen <= 0.0:
        frozen, slope = 0.0, 0.0
    x = min(-theta / RANGE, 1.0)
    loose = w - base
    return frozen + loose * ramp(x), slope + loose * 6.0 * x * (1.0 - x) / RANGE


@njit
def temperature_of(held, number, H, w, guess):
    """Celsius temperature at which a volume of water w has the enthalpy H."""
    heat = number[HEAT] + w * C_W
    if H >= 0.0:
        return H / heat
    low, high = H / heat, 0.0
    if ice_of(held, number, low, w)[0] <= 0.0:
        return low
    theta = min(max(guess, low), high)
    for _ in range(60):
        ice, rise = ice_of(held, number, theta, w)
        latent = L_F + (C_W - C_ICE) * theta
        f = heat * theta - ice * latent - H
        if f > 0.0:
            high = theta
        else:
            low = theta
        slope = heat + rise * latent - ice * (C_W - C_ICE)
        new = theta - f / slope
        if not low < new < high:
            new = 0.5 * (low + high)
        if abs(new - theta) < 1e-13:
            return new
        theta = new
    return theta


@njit
def humidity(w_of, rh_of, w):
    """Relative humidity of a content, by bisection in the storage curve."""
    low, high = 0, len(w_of) - 1
    if w >= w_of[high]:
        return 1.0
    if w <= 0.0:
        return 0.0
    while high - low > 1:
        middle = (low + high) // 2
        if w_of[middle] > w:
            high = middle
        else:
            low = middle
    share = (w - w_of[low]) / (w_of[high] - w_of[low])
    return rh_of[low] + share * (rh_of[high] - rh_of[low])


@njit
def diffused(number, w):
    """Integral of the liquid diffusivity 3.8 (A/w_f)² 1000^(w/w_f - 1) over w. [kg/(m·s)]"""
    at_free, free = number[LIQUID], number[FREE]
    if w >= free:
        return at_free * (free / np.log(1000.0) + (w - free))
    return at_free * free / np.log(1000.0) * 1000.0 ** (w / free - 1.0)


@njit
def state_of(i, H, w, m, curves, at):
    """Fills row i of `at`; resistances per metre."""
    number = curves.number[m]
    theta = temperature_of(curves.held[m], number, H, w, at[i, T] - ZERO)
    t = theta + ZERO
    rh = humidity(curves.w[m], curves.rh[m], w)
    ps = saturation(t)
    ice, shut, moves = 0.0, 1.0, 1.0
    p = rh * ps
    if theta < 0.0:
        ice = min(ice_of(curves.held[m], number, theta, w)[0], max(w, 0.0))
        p = min(rh * ps * np.exp(L_F * -theta / (R_V * ZERO * t)), ps)
        moves = (1.0 - ice / max(w, 1e-12)) ** 2
        if number[LIQUID] > 0.0:
            shut = max(1.0 - 0.99 * ice / number[FULL], 0.01)
    x = min(rh, 1.0) * HUMID
    k = min(int(x), HUMID - 1)
    delta = curves.delta[m, k] + (x - k) * (curves.delta[m, k + 1] - curves.delta[m, k])
    delta *= (t / T_REF) ** number[POWER] * shut
    x = min(max((theta + 60.0) * (WARM / 120.0), 0.0), WARM - 1e-9)
    k = int(x)
    factor = curves.factor[m, k] + (x - k) * (curves.factor[m, k + 1] - curves.factor[m, k])
    conductivity = (number[LAMBDA] + number[LAMBDA_W] * min(w, number[FULL])) * factor
    at[i, T], at[i, RH], at[i, P], at[i, PS], at[i, ICE] = t, rh, p, ps, ice
    at[i, R_HEAT], at[i, R_VAPOUR] = 1.0 / conductivity, 1.0 / delta
    at[i, THETA], at[i, MOVES] = diffused(number, w), moves
