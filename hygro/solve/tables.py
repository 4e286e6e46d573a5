"""Material curves as tables over one smooth moisture potential; knows no grid and no time.

The moisture unknown u of a cell parametrises the storage curve of its material:

    u = (rh + w/w_free) / 2          for 0 <= u <= 1 (up to free saturation)
    w = w_free + excess (u - 1)     for u > 1 (over-saturated)

so that both rh(u) and w(u) have bounded slopes from dry to full pores: it behaves like relative
humidity where the curve is flat and like water content where nearly all the water sits between
0.999 and 1. Every curve is a monotone piecewise cubic over equal intervals in u, stored as four
coefficients per interval, lowest power first. Curves that are read together stand side by side, so
that the kernels work on all of them at once.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hygro.constants import (
    GAS_CONSTANT_VAPOUR,
    HEAT_OF_FUSION,
    REFERENCE_TEMPERATURE,
    STANDARD_PRESSURE,
    WATER_DENSITY,
    ZERO_CELSIUS,
)
from hygro.material import Material, SheetMaterial
from hygro.material.cubic import monotone_cubic
from hygro.material.vapour import thinner, through_air
from hygro.solve.kernels.layout import (
    CURVE_ROWS,
    FREEZING_ROUND,
    ICE_INV,
    ICE_ROWS,
    LN_S_MAX,
    LN_S_MIN,
    MATERIAL_SIZE,
    SHEET_ROWS,
    T_ROWS,
    T_TABLE_INV,
    T_TABLE_MIN,
)
from weather.moistair import saturation_pressure

Array = NDArray[np.floating]

T_STEP, ICE_STEP = 1.0 / T_TABLE_INV, 1.0 / ICE_INV
PRESSURE_SCALE = WATER_DENSITY * GAS_CONSTANT_VAPOUR * REFERENCE_TEMPERATURE
"""Suction per unit of s = -ln(rh) at 20 °C (Kelvin). [Pa]"""
_GAUSS_X, _GAUSS_W = np.polynomial.legendre.leggauss(8)


def cubic_table(x: Array, y: Array, intervals: int) -> Array:
    """Monotone cubic through points: (intervals, 4) coefficients over the local coordinate 0-1."""
    curve = monotone_cubic(x, y)
    knots = np.linspace(x[0], x[-1], intervals + 1)
    step = knots[1] - knots[0]
    value, slope = curve.value(knots), curve.slope(knots) * step
    return _hermite(value[:-1], value[1:], slope[:-1], slope[1:])


def _hermite(y0: Array, y1: Array, d0: Array, d1: Array) -> Array:
    rise = y1 - y0
    return np.stack([y0, d0, 3 * rise - 2 * d0 - d1, d0 + d1 - 2 * rise], axis=-1)


@lru_cache(maxsize=256)
def excess_per_u(material: Material) -> float:
    """Water per unit of u beyond free saturation. [kg/m³]

    What the pores still hold, but in a capillary material at least half of w_free, so that storage
    does not turn nearly vertical at saturation; `full_potential` then lies below 2.
    """
    room = max(material.w_max - material.w_free, 1e-6 * material.w_free)
    return room if material.liquid is None else max(room, 0.5 * material.w_free)


@lru_cache(maxsize=256)
def full_potential(material: Material) -> float:
    """Moisture potential u with all pores full. [1]"""
    room = max(material.w_max - material.w_free, 1e-6 * material.w_free)
    return 1.0 + room / excess_per_u(material)


def potential_of_s(material: Material, s: Array) -> Array:
    """Moisture potential u at s = -ln(rh). [1]"""
    return 0.5 * np.exp(-s) + 0.5 * material.storage.water_content(s) / material.w_free


def potential_at_water_content(material: Material, w: float) -> float:
    """Moisture potential u at a water content [kg/m³], over-saturation included. [1]"""
    if w > material.w_free:
        return 1.0 + (w - material.w_free) / excess_per_u(material)
    low, high = np.log(1e-12), LN_S_MAX
    for _ in range(80):
        middle = 0.5 * (low + high)
        wetter = material.storage.water_content(np.array([np.exp(middle)]))[0] > w
        low, high = (middle, high) if wetter else (low, middle)
    return float(potential_of_s(material, np.array([np.exp(low)]))[0])


def potential_at_rh(material: Material, rh: float) -> float:
    """Moisture potential u in equilibrium with a relative humidity. [1]"""
    s = np.array([-np.log(min(max(rh, 1e-15), 1.0))])
    return float(potential_of_s(material, s)[0])


def _knots(material: Material) -> Array:
    """The s at equal steps of u, by bisection on ln(s); infinite (cut at 40) at u = 0."""
    u = np.linspace(0.0, 1.0, CURVE_ROWS + 1)[1:-1]
    low, high = np.full(u.shape, np.log(1e-14)), np.full(u.shape, LN_S_MAX)
    for _ in range(70):
        middle = 0.5 * (low + high)
        wetter = potential_of_s(material, np.exp(middle)) > u
        low, high = np.where(wetter, middle, low), np.where(wetter, high, middle)
    return np.concatenate([[40.0], np.exp(0.5 * (low + high)), [0.0]])


def _integral(function: Callable[[Array], ArrayLike], low: Array, high: Array) -> Array:
    """Eight-point Gauss quadrature on each interval."""
    half = 0.5 * (high - low)[:, None]
    points = 0.5 * (high + low)[:, None] + half * _GAUSS_X
    values = np.asarray(function(points.ravel())).reshape(points.shape)
    return (values * _GAUSS_W * half).sum(axis=1)


def _liquid(material: Material, s: Array, w: Array) -> tuple[Array, Array, Array]:
    """Liquid potential Theta (Kirchhoff), thermal coefficient and dTheta/drh at the knots.

    With K(w): g_l = K dp_suc/dx, p_suc = rho R_v T s, so dTheta = -K rho R_v T_ref ds and the
    gradient of temperature drives K rho R_v s. With D_w(w): dTheta = D_w dw alone.
    """
    liquid = material.liquid
    if liquid is None:
        return np.zeros_like(w), np.zeros_like(w), np.zeros_like(w)
    if liquid.driving == "diffusivity":
        steps = _integral(liquid.diffusivity, w[:-1], w[1:])
        slope = liquid.diffusivity(w) * _storage_slope(material, s)
        return np.concatenate([[0.0], np.cumsum(steps)]), np.zeros_like(w), slope

    def scaled(points: Array) -> Array:
        return liquid.conductivity(material.storage.water_content(points)) * PRESSURE_SCALE

    steps = _integral(scaled, s[1:], s[:-1])
    thermal = liquid.conductivity(w) * WATER_DENSITY * GAS_CONSTANT_VAPOUR * s
    slope = liquid.conductivity(w) * PRESSURE_SCALE * np.exp(s)
    slope[0] = slope[1]
    return np.concatenate([[0.0], np.cumsum(steps)]), thermal, slope


def _storage_slope(material: Material, s: Array) -> Array:
    """dw/drh by central differences in ln(s), bounded where the curve turns vertical. [kg/m³]"""
    at = np.clip(s, 1e-8, 30.0)
    step = 1e-3
    rise = material.storage.water_content(at * np.exp(-step)) - material.storage.water_content(
        at * np.exp(step)
    )
    return rise / (2 * step * at) * np.exp(at)


def _unfrozen(material: Material) -> Array:
    """Pore water that stays liquid over temperature: what the curve holds at the rh of ice.

    The freezing-point depression follows from equal vapour pressure of ice and pore water:
    rh_ice = p_sat,ice / p_sat,water = exp(-L_f (T0 - T) / (R_v T0 T)). The curve is averaged over
    the interval of the table above T, so that wide pores do not freeze at one point, and starts
    above w_free by the rounding of the kernel so that no ice stands at 0 °C.
    """
    fine = 4
    step = ICE_STEP / fine
    T = ZERO_CELSIUS - ICE_STEP * ICE_ROWS + step * np.arange(fine * (ICE_ROWS + 1) + 1)
    depth = np.maximum(ZERO_CELSIUS - T, 0.0)
    s = HEAT_OF_FUSION * depth / (GAS_CONSTANT_VAPOUR * ZERO_CELSIUS * T)
    held = material.storage.water_content(np.maximum(s, 1e-14))
    total = np.concatenate([[0.0], np.cumsum(0.5 * (held[1:] + held[:-1]))])
    mean = (total[fine:] - total[:-fine]) / fine
    T = T[: len(mean)]
    x = np.clip((ZERO_CELSIUS - T) / ICE_STEP, 0.0, 1.0)
    lift = FREEZING_ROUND * material.w_free * (1.0 - x * x * (3.0 - 2.0 * x))
    return cubic_table(T, mean + lift, ICE_ROWS)


@lru_cache(maxsize=256)
def full_liquid_potential(material: Material) -> float:
    """Liquid potential Theta at free saturation. [kg/(m·s)]"""
    s = _knots(material)
    return float(_liquid(material, s, material.storage.water_content(s))[0][-1])


@lru_cache(maxsize=64)  # a quarter of a megabyte each
def material_table(material: Material, pressure: float = STANDARD_PRESSURE) -> Array:
    """One material in air of a pressure [Pa] for the kernels, `MATERIAL_SIZE` numbers.

    In order: over temperature saturation pressure [Pa], law and factor on the vapour and thermal
    resistivity [1]; over u the curves rh [1], w [kg/m³], vapour resistivity [m·s·Pa/kg], liquid
    potential [kg/(m·s)], thermal liquid coefficient [kg/(m·s·K)], thermal resistivity [m·K/W],
    dTheta/drh [kg/(m·s)], with a last row for u > 1; ln(s) over u; u over ln(s); water that stays
    liquid over temperature [kg/m³].
    """
    u = np.linspace(0.0, 1.0, CURVE_ROWS + 1)
    s = _knots(material)
    rh = np.exp(-s)
    rh[0] = 0.0
    w = material.storage.water_content(s)
    w[0] = 0.0
    theta, thermal, mobility = _liquid(material, s, w)
    delta = material.vapour.permeability(rh)
    if through_air(material.vapour):
        delta = delta * thinner(pressure)
    # the benchmark form of EN 15026 is exactly zero at saturation
    resistivity = 1.0 / np.maximum(delta, 1e-3 * delta.max())
    conductivity = material.thermal.conductivity(w)
    columns = (rh, w, resistivity, theta, thermal, 1.0 / conductivity, mobility)
    beyond = _beyond(material, w, theta, conductivity)
    curves = [_extended(u, y, b) for y, b in zip(columns, beyond, strict=True)]
    ln_s = np.linspace(LN_S_MIN, LN_S_MAX, CURVE_ROWS + 1)
    parts = [
        _side_by_side([*_temperature_curves(material)], 4),
        _side_by_side(curves, 8),
        _extended(u, np.log(np.clip(s, 1e-8, 40.0)), 0.0).ravel(),
        cubic_table(ln_s, potential_of_s(material, np.exp(ln_s)), CURVE_ROWS).ravel(),
        _unfrozen(material).ravel(),
    ]
    table = np.zeros(MATERIAL_SIZE)
    np.concatenate(parts, out=table[: sum(len(part) for part in parts)])
    return table


def _side_by_side(curves: list[Array], places: int) -> Array:
    """Coefficients (intervals, 4) of some curves in rows of 4 x places, flat."""
    rows = np.zeros((len(curves[0]), 4, places))
    for k, curve in enumerate(curves):
        rows[:, :, k] = curve
    return rows.ravel()


def _extended(u: Array, y: Array, beyond: float) -> Array:
    """A curve over u with a last row for u > 1, straight with the slope `beyond` over u."""
    last = [y[-1], beyond / CURVE_ROWS, 0.0, 0.0]
    return np.concatenate([cubic_table(u, y, CURVE_ROWS), [last]])


def _temperature_curves(material: Material) -> tuple[Array, ...]:
    """Saturation pressure, law of the vapour resistivity, factor on the thermal one, over water.

    Laws over T: 1, (T/293.15)^-0.81, T/293.15. One-sided slopes of the pressure at 0 °C keep the
    change from water to ice sharp (ISO 13788).
    """
    T = T_TABLE_MIN + T_STEP * np.arange(T_ROWS + 1)
    eps = 1e-4
    p, p1, p2, m1, m2 = (
        saturation_pressure(T + k * eps, over="iso13788") for k in (0, 1, 2, -1, -2)
    )
    right = (-3 * p + 4 * p1 - p2) / (2 * eps) * T_STEP
    left = (3 * p - 4 * m1 + m2) / (2 * eps) * T_STEP
    # over water it is p_ice exp(L_f (T0 - T) / (R_v T0 T)) by the freezing-point depression
    slope_of_lift = -HEAT_OF_FUSION / (GAS_CONSTANT_VAPOUR * T**2)
    lift = np.exp(np.maximum(ZERO_CELSIUS - T, 0.0) * -slope_of_lift * T / ZERO_CELSIUS)
    cold, colder = T < ZERO_CELSIUS, T <= ZERO_CELSIUS
    water_right = lift * (right + p * slope_of_lift * cold * T_STEP)
    water_left = lift * (left + p * slope_of_lift * colder * T_STEP)
    power = {"constant": 0.0, "air": -0.81, "inverse": 1.0}[material.vapour.temperature_law]
    law = (T / REFERENCE_TEMPERATURE) ** power
    slope = power * law / T * T_STEP
    factor = np.ones_like(T)
    pairs = material.thermal.temperature_factor
    if pairs:
        known, given = (np.array(column) for column in zip(*pairs, strict=True))
        factor = 1.0 / monotone_cubic(known, given).value(np.clip(T, known[0], known[-1]))
    return (
        _hermite(p[:-1], p[1:], right[:-1], left[1:]),
        _hermite(law[:-1], law[1:], slope[:-1], slope[1:]),
        cubic_table(T, factor, T_ROWS),
        _hermite(p[:-1] * lift[:-1], p[1:] * lift[1:], water_right[:-1], water_left[1:]),
    )


def _beyond(material: Material, w: Array, theta: Array, conductivity: Array) -> Array:
    """Slopes over u past saturation: water rises, liquid keeps its last mobility.

    The vapour pressure stays that of saturation: in wool and foam the water lies between the
    fibres, a capillary material takes no vapour beyond free saturation (`half.intake`).
    """
    excess = excess_per_u(material)
    room = max(material.w_max - material.w_free, 1e-6 * material.w_free)
    last = CURVE_ROWS // 16
    mobility = (theta[-1] - theta[-1 - last]) / max(w[-1] - w[-1 - last], 1e-12)
    full = float(material.thermal.conductivity(np.array([material.w_max]))[0])
    resistivity = (1.0 / full - 1.0 / conductivity[-1]) * min(excess / room, 1.0)
    return np.array([0.0, excess, 0.0, mobility * excess, 0.0, resistivity, 0.0])


@lru_cache(maxsize=256)
def sheet_table(sheets: tuple[SheetMaterial, ...], pressure: float = STANDARD_PRESSURE) -> Array:
    """Vapour resistance of sheets in series over the mean rh, `SHEET_ROWS` rows of 4, flat.

    [m²·s·Pa/kg]
    """
    rh = np.linspace(0.0, 1.0, 4 * SHEET_ROWS + 1)
    factor = {True: thinner(pressure), False: 1.0}
    resistance = sum(
        1.0 / (factor[through_air(sheet.permeance)] * sheet.permeance.permeance(rh))
        for sheet in sheets
    )
    return cubic_table(rh, np.asarray(resistance), SHEET_ROWS).ravel()
