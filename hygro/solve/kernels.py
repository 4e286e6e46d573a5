"""The arithmetic of the engine: curves, fluxes, Jacobian, stages, steps. Arrays and floats only.

Owns the discrete equations and the march over hours. Knows no wall, weather, file or message: it
returns a status and where it happened. Everything that calls each other lives in this one file,
since the compiler's cache on disk watches the file of the outer function only.

Conventions
-----------
Cells run from outside (0) to inside (n-1); face f lies on the outer side of cell f, so that face 0
is the outdoor and face n the indoor surface. Fluxes are positive inward. The unknowns of a cell are
its temperature T [K] and moisture potential u [1] (see `tables`); X = (enthalpy [J/m²], water
[kg/m²]) is what is conserved, F = dX/dt. 2x2 blocks are stored as 4 numbers
(energy-T, energy-u, water-T, water-u).
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numba import njit

OPTIONS: Any = {"cache": True, "nogil": True, "error_model": "numpy", "_nrt": False}
# no kernel allocates, so the compiler may leave out counting references: a quarter of the time

T0 = 273.15
T_REF = 293.15
R_V = 461.5
C_W = 4180.0
C_ICE = 2100.0
C_VAP = 1860.0
C_AIR = 1006.0
RHO_AIR = 1.2
L_V = 2.5e6
L_F = 3.34e5
G_EARTH = 9.81

# rows of the tables, each four cubic coefficients
T_ROWS, CURVES, CURVE_ROWS, SHEET_ROWS, ICE_ROWS = 400, 7, 512, 64, 1600
SUCTION_AT = CURVES * CURVE_ROWS
FACTOR_AT = SUCTION_AT + 2 * CURVE_ROWS
UNFROZEN_AT = FACTOR_AT + T_ROWS
MATERIAL_ROWS = UNFROZEN_AT + ICE_ROWS
# columns of the material scalars
W_FREE, W_MAX, RHO_C, LAW, HAS_LIQUID, HAS_FACTOR, BEYOND = range(7)
# columns of the face integers
KIND, SHEET_A, SHEET_B, LIQUID, GAP_INDEX = range(5)

T_TABLE_MIN = T0 - 80.0
T_TABLE_INV = 2.0
ICE_MIN = T0 - 80.0
ICE_INV = 20.0
FREEZING_RANGE = 0.2
FREEZING_ROUND = 0.01
FREEZING_CLOSE = 2e-3
LN_S_MIN = math.log(1e-8)
LN_S_MAX = math.log(40.0)
GAMMA = 1.0 - math.sqrt(0.5)
U_MIN = 1e-7
T_LOW, T_HIGH = T0 - 79.0, T0 + 119.0
DRAIN_TIME = 600.0
FILL_TIME = 60.0
NEGLIGIBLE_STORAGE = 1e-6

OK, STEP_TOO_SMALL = 0, 1

# columns of the cell property array
(RH, RH_U, PV, PV_T, PV_U, W, W_U, RK, RK_T, RK_U, RV, RV_T, RV_U, TH, TH_U, KT, KT_U, FL, FL_T,
 FL_U, ICE, PS, PS_T, MO, MO_U) = range(25)  # fmt: skip
N_PROP = 25

# columns of the ledger; then energy and water per gap, then energy and water of sources per layer
(E_OUT, G_OUT, RAIN_IN, E_IN, G_IN, WET_IN, LEAK, DRAINED, AIR_DROP, FIXED) = range(10)
DIRTY = DRAINED

# columns of the surface loads
B_T, B_P, B_H, B_BETA, B_RADIATION, B_RAIN = range(6)
# control of the march: see `control.control`
(STEP_T, STEP_U, NEWTON_T, NEWTON_U, NEWTON_CLOSE, NEWTON_LIMIT, MAX_STEP, MIN_STEP, JUMP,
 REJECT) = range(10)  # fmt: skip


class Problem(NamedTuple):
    """A wall as arrays; see `problem.build_problem`.

    tab holds every curve as rows of four cubic coefficients: first the temperature table, then one
    block per material (curves, suction, conductivity factor, unfrozen water), then the sheets.
    """

    tab: np.ndarray
    scalars: np.ndarray
    cell: np.ndarray
    mat: np.ndarray
    face: np.ndarray
    contact: np.ndarray
    gap: np.ndarray
    source: np.ndarray
    source_length: np.ndarray
    side: np.ndarray
    layer: np.ndarray
    flags: np.ndarray


class HourlyLoads(NamedTuple):
    """Loads as arrays: instants (N+1, 2, 4), means (N, 2, 2), per hour gaps, sources, air flow."""

    instant: np.ndarray
    mean: np.ndarray
    gap_rate: np.ndarray
    wind: np.ndarray
    source: np.ndarray
    source_instant: np.ndarray
    air: np.ndarray


@njit(**OPTIONS)
def _value(tab, row, t):
    return ((tab[row, 3] * t + tab[row, 2]) * t + tab[row, 1]) * t + tab[row, 0]


@njit(**OPTIONS)
def _slope(tab, row, t):
    return (3.0 * tab[row, 3] * t + 2.0 * tab[row, 2]) * t + tab[row, 1]


@njit(**OPTIONS)
def _saturation(tab, T):
    """Saturation pressure and its slope. [Pa], [Pa/K]"""
    x = (T - T_TABLE_MIN) * T_TABLE_INV
    j = min(max(int(x), 0), T_ROWS - 1)
    return _value(tab, 2 * j, x - j), _slope(tab, 2 * j, x - j) * T_TABLE_INV


@njit(**OPTIONS)
def _curve(tab, scalars, m, column, u):
    """One material curve and its slope over the moisture potential."""
    base = 2 * T_ROWS + m * MATERIAL_ROWS + column
    if u >= 1.0:
        row = base + CURVES * (CURVE_ROWS - 1)
        b = scalars[m, BEYOND + column]
        return tab[row, 0] + tab[row, 1] + tab[row, 2] + tab[row, 3] + b * (u - 1.0), b
    x = u * CURVE_ROWS
    j = int(x)
    return _value(tab, base + CURVES * j, x - j), _slope(tab, base + CURVES * j, x - j) * CURVE_ROWS


@njit(**OPTIONS)
def _suction(tab, m, u):
    """ln(s) and its slope over u; cut at the wet end of the table."""
    if u >= 1.0:
        return LN_S_MIN, 0.0
    x = u * CURVE_ROWS
    j = int(x)
    row = 2 * T_ROWS + m * MATERIAL_ROWS + SUCTION_AT + 2 * j
    return _value(tab, row, x - j), _slope(tab, row, x - j) * CURVE_ROWS


@njit(**OPTIONS)
def _potential(tab, m, ln_s):
    """U of material m at a given ln(s), and its slope."""
    inv = CURVE_ROWS / (LN_S_MAX - LN_S_MIN)
    x = (min(max(ln_s, LN_S_MIN), LN_S_MAX) - LN_S_MIN) * inv
    j = min(int(x), CURVE_ROWS - 1)
    row = 2 * T_ROWS + m * MATERIAL_ROWS + SUCTION_AT + 2 * j + 1
    return _value(tab, row, x - j), _slope(tab, row, x - j) * inv


@njit(**OPTIONS)
def _sheet(tab, first, rh):
    """Vapour resistance of a sheet and its slope over the mean rh. [m²·s·Pa/kg]"""
    if first < 0:
        return 0.0, 0.0
    x = min(max(rh, 0.0), 1.0) * SHEET_ROWS
    j = min(int(x), SHEET_ROWS - 1)
    slope = _slope(tab, first + j, x - j) * SHEET_ROWS
    if rh <= 0.0 or rh >= 1.0:
        slope = 0.0
    return _value(tab, first + j, x - j), slope


@njit(**OPTIONS)
def _cells(tab, scalars, mat, cell, freezing, T, u, P, X, D):
    """Properties of all cells; X conserved per area, D = dX/d(T,u)."""
    for i in range(T.shape[0]):
        m = mat[i]
        Ti, ui, dx = T[i], u[i], cell[i, 0]
        x = (Ti - T_TABLE_MIN) * T_TABLE_INV
        j = int(x)
        t = x - j
        ps = _value(tab, 2 * j, t)
        ps_T = _slope(tab, 2 * j, t) * T_TABLE_INV
        block = 2 * T_ROWS + m * MATERIAL_ROWS
        liquid = scalars[m, HAS_LIQUID] != 0.0
        th, th_u, kt, kt_u, mo, mo_u = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
        if ui < 1.0:
            y = ui * CURVE_ROWS
            k = int(y)
            s = y - k
            row = block + CURVES * k
            rh, rh_u = _value(tab, row, s), _slope(tab, row, s) * CURVE_ROWS
            w, w_u = _value(tab, row + 1, s), _slope(tab, row + 1, s) * CURVE_ROWS
            zv, zv_u = _value(tab, row + 2, s), _slope(tab, row + 2, s) * CURVE_ROWS
            zk, zk_u = _value(tab, row + 5, s), _slope(tab, row + 5, s) * CURVE_ROWS
            if liquid:
                th, th_u = _value(tab, row + 3, s), _slope(tab, row + 3, s) * CURVE_ROWS
                kt, kt_u = _value(tab, row + 4, s), _slope(tab, row + 4, s) * CURVE_ROWS
                mo, mo_u = _value(tab, row + 6, s), _slope(tab, row + 6, s) * CURVE_ROWS
        else:
            rh, rh_u = _curve(tab, scalars, m, 0, ui)
            w, w_u = _curve(tab, scalars, m, 1, ui)
            zv, zv_u = _curve(tab, scalars, m, 2, ui)
            zk, zk_u = _curve(tab, scalars, m, 5, ui)
            if liquid:
                th, th_u = _curve(tab, scalars, m, 3, ui)
                kt, kt_u = _curve(tab, scalars, m, 4, ui)
                mo, mo_u = _curve(tab, scalars, m, 6, ui)
        law, law_T = 1.0, 0.0
        if scalars[m, LAW] == 1.0:
            law, law_T = _value(tab, 2 * j + 1, t), _slope(tab, 2 * j + 1, t) * T_TABLE_INV
        elif scalars[m, LAW] == 2.0:
            law, law_T = Ti / T_REF, 1.0 / T_REF
        fac, fac_T = 1.0, 0.0
        if scalars[m, HAS_FACTOR] != 0.0:
            row = block + FACTOR_AT + j
            fac, fac_T = _value(tab, row, t), _slope(tab, row, t) * T_TABLE_INV
        theta = Ti - T0
        heat = (scalars[m, RHO_C] + w * C_W) * theta
        heat_T = scalars[m, RHO_C] + w * C_W
        heat_u = w_u * C_W * theta
        ice = 0.0
        fl, fl_T, fl_u = 1.0, 0.0, 0.0
        shut, shut_T, shut_u = 1.0, 0.0, 0.0
        if Ti < T0 and freezing != 0:
            z = (Ti - ICE_MIN) * ICE_INV
            k = min(max(int(z), 0), ICE_ROWS - 1)
            row = block + UNFROZEN_AT + k
            base, base_u, excess, excess_u = w, w_u, 0.0, 0.0
            if ui > 1.0:
                base, base_u = scalars[m, W_FREE], 0.0
                excess, excess_u = w - base, w_u
            d = base - _value(tab, row, z - k)
            eps = FREEZING_ROUND * scalars[m, W_FREE]
            if d > -eps or excess > 0.0:
                if d <= -eps:
                    ice, s1 = 0.0, 0.0
                elif d < eps:
                    ice = (d + eps) ** 2 / (4.0 * eps)
                    s1 = (d + eps) / (2.0 * eps)
                else:
                    ice, s1 = d, 1.0
                ice_T = -s1 * _slope(tab, row, z - k) * ICE_INV
                ice_u = s1 * base_u
                x = min((T0 - Ti) / FREEZING_RANGE, 1.0)
                frozen = x * x * (3.0 - 2.0 * x)
                ice += excess * frozen
                ice_T -= excess * 6.0 * x * (1.0 - x) / FREEZING_RANGE
                ice_u += excess_u * frozen
                fusion = L_F + (C_W - C_ICE) * theta
                heat -= ice * fusion
                heat_T -= ice_T * fusion + ice * (C_W - C_ICE)
                heat_u -= ice_u * fusion
                free = 1.0 - ice / w
                fl = free * free
                fl_T = -2.0 * free * ice_T / w
                fl_u = -2.0 * free * (ice_u * w - ice * w_u) / (w * w)
                open_ = 1.0 - 0.99 * ice / scalars[m, W_MAX]
                if open_ < 0.01:
                    shut = 100.0
                else:
                    shut = 1.0 / open_
                    shut_T = shut * shut * 0.99 * ice_T / scalars[m, W_MAX]
                    shut_u = shut * shut * 0.99 * ice_u / scalars[m, W_MAX]
        half = 0.5 * dx
        P[i, RH] = rh
        P[i, RH_U] = rh_u
        P[i, PV] = rh * ps
        P[i, PV_T] = rh * ps_T
        P[i, PV_U] = rh_u * ps
        P[i, W] = w
        P[i, W_U] = w_u
        P[i, RK] = half * zk * fac
        P[i, RK_T] = half * zk * fac_T
        P[i, RK_U] = half * zk_u * fac
        zh = half * zv
        P[i, RV] = zh * law * shut
        P[i, RV_T] = zh * (law_T * shut + law * shut_T)
        P[i, RV_U] = half * law * (zv_u * shut + zv * shut_u)
        P[i, TH] = th
        P[i, TH_U] = th_u
        P[i, KT] = kt
        P[i, KT_U] = kt_u
        P[i, MO] = mo
        P[i, MO_U] = mo_u
        P[i, FL] = fl
        P[i, FL_T] = fl_T
        P[i, FL_U] = fl_u
        P[i, ICE] = ice
        P[i, PS] = ps
        P[i, PS_T] = ps_T
        X[i, 0] = dx * heat
        X[i, 1] = dx * w
        D[i, 0] = dx * heat_T
        D[i, 1] = dx * heat_u
        D[i, 2] = 0.0
        D[i, 3] = dx * w_u


@njit(**OPTIONS)
def _surface_potential(tab, scalars, m, dx, P, i, T, b, Ts, ps, guess):
    """Moisture potential of a capillary surface from its water balance; at most free saturation."""
    k = 2.0 / dx * P[i, FL]
    ratio = 0.5 * (T + Ts) / T_REF
    lift = 0.5 * (T - Ts)
    low, high = 0.0, 1.0
    us = 1.0
    for trial in range(60):
        rh, rh_u = _curve(tab, scalars, m, 0, us)
        th, th_u = _curve(tab, scalars, m, 3, us)
        kt, kt_u = _curve(tab, scalars, m, 4, us)
        f = (
            b[B_BETA] * (b[B_P] - rh * ps)
            + b[B_RAIN]
            - (rh * ps - P[i, PV]) / P[i, RV]
            - k * (ratio * (th - P[i, TH]) + lift * (kt + P[i, KT]))
        )
        if trial == 0:
            if f >= 0.0:
                return 1.0
            us = min(guess, 1.0 - 1e-9)
            continue
        if f > 0.0:
            low = us
        else:
            high = us
        slope = -rh_u * ps * (b[B_BETA] + 1.0 / P[i, RV]) - k * (ratio * th_u + lift * kt_u)
        new = us - f / slope if slope < 0.0 else 0.5 * (low + high)
        if not low < new < high:
            new = 0.5 * (low + high)
        if abs(new - us) < 1e-10:
            return new
        us = new
    return us


@njit(**OPTIONS)
def _half(P, i, dx):
    """Vapour resistance of a half cell towards a face that no liquid crosses, d/dT, d/du.

    Inside the half cell liquid still moves; as a conductance over vapour pressure it is
    2/dx dTheta/drh / p_sat, beside vapour diffusion.
    """
    r, r_T, r_u = P[i, RV], P[i, RV_T], P[i, RV_U]
    if P[i, MO] == 0.0:
        return r, r_T, r_u
    k = 2.0 / dx * P[i, MO] * P[i, FL] / P[i, PS]
    k_T = 2.0 / dx * P[i, MO] * (P[i, FL_T] / P[i, PS] - P[i, FL] * P[i, PS_T] / P[i, PS] ** 2)
    k_u = 2.0 / dx * (P[i, MO_U] * P[i, FL] + P[i, MO] * P[i, FL_U]) / P[i, PS]
    x = 1.0 / (1.0 + r * k)
    return r * x, x * x * (r_T - r * r * k_T), x * x * (r_u - r * r * k_u)


@njit(**OPTIONS)
def _wetness(P, i, dx, sheet, rain, imposed):
    """How far liquid counts in the outer half of a surface cell, with d/dT and d/du.

    1 in rain, for an imposed state and where liquid carries 4 % of what vapour does; 0 below 1 %.
    """
    if P[i, MO] == 0.0 or sheet >= 0:
        return 0.0, 0.0, 0.0
    if rain > 0.0 or imposed != 0:
        return 1.0, 0.0, 0.0
    x = 2.0 / dx * P[i, MO] * P[i, FL] / P[i, PS] * P[i, RV]
    z = (x - 0.01) / 0.03
    if z <= 0.0:
        return 0.0, 0.0, 0.0
    if z >= 1.0:
        return 1.0, 0.0, 0.0
    slope = 6.0 * z * (1.0 - z) / 0.03 * x
    d_T = P[i, FL_T] / P[i, FL] - P[i, PS_T] / P[i, PS] + P[i, RV_T] / P[i, RV]
    d_u = P[i, MO_U] / P[i, MO] + P[i, FL_U] / P[i, FL] + P[i, RV_U] / P[i, RV]
    return z * z * (3.0 - 2.0 * z), slope * d_T, slope * d_u


@njit(**OPTIONS)
def _boundary(tab, scalars, m, dx, contact, sheet, eps, imposed, P, i, T, b, out, node):
    """Fluxes into the cell at a surface, with derivatives over the cell's T and u.

    out rows: energy [W/m²], vapour from the air and rain absorbed [kg/(m²·s)]; columns: value,
    d/dT, d/du. Returns the surface temperature [K] and vapour pressure [Pa].
    """
    wet, wet_T, wet_u = _wetness(P, i, dx, sheet, b[B_RAIN], imposed)
    R = P[i, RK] + contact
    if wet >= 1.0:
        return _wet_surface(tab, scalars, m, dx, R, eps, imposed, P, i, T, b, out)
    Ts, ps = _dry_surface(tab, dx, R, sheet, eps, imposed, P, i, T, b, out)
    if wet > 0.0:
        Tn, pn = _wet_surface(tab, scalars, m, dx, R, eps, imposed, P, i, T, b, node)
        for row in range(3):
            gain = node[row, 0] - out[row, 0]
            out[row, 0] += wet * gain
            out[row, 1] += wet * (node[row, 1] - out[row, 1]) + wet_T * gain
            out[row, 2] += wet * (node[row, 2] - out[row, 2]) + wet_u * gain
        Ts += wet * (Tn - Ts)
        ps += wet * (pn - ps)
    return Ts, ps


@njit(**OPTIONS)
def _dry_surface(tab, dx, R, sheet, eps, imposed, P, i, T, b, out):
    """Surface that vapour alone crosses; evaporation happens in the cell. See `_boundary`."""
    Ta = b[B_T]
    Ts, Ts_T, Ts_R = Ta, 0.0, 0.0
    if imposed == 0:
        Ts = T
        drop = 1.0
        for _ in range(6):
            f = b[B_H] * (Ta - Ts) + b[B_RADIATION] - eps * Ts**4 - (Ts - T) / R
            drop = b[B_H] + 4.0 * eps * Ts**3 + 1.0 / R
            f /= drop
            Ts += f
            if eps == 0.0 or abs(f) < 1e-5:
                break
        Ts_T = 1.0 / (R * drop)
        Ts_R = (Ts - T) / (R * R * drop)
    q = (Ts - T) / R
    q_R = (Ts_R - q) / R
    Ts_u = Ts_R * P[i, RK_U]
    Ts_T += Ts_R * P[i, RK_T]
    q_T = (Ts_T - 1.0 - q * P[i, RK_T]) / R
    q_u = q_R * P[i, RK_U]
    psa, _ = _saturation(tab, Ta)
    mean = 0.5 * (P[i, RH] + min(b[B_P] / psa, 1.0))
    Z, Z_rh = _sheet(tab, sheet, mean)
    film = 0.0 if imposed != 0 else 1.0 / b[B_BETA]
    half, half_T, half_u = _half(P, i, dx)
    Rv = film + Z + half
    vap = (b[B_P] - P[i, PV]) / Rv
    vap_T = -P[i, PV_T] / Rv - vap * half_T / Rv
    vap_u = -P[i, PV_U] / Rv - vap * (half_u + 0.5 * Z_rh * P[i, RH_U]) / Rv
    hv = L_V + C_VAP * (0.5 * (Ts + T) - T0)
    out[0, 0] = q + vap * hv
    out[0, 1] = q_T + vap_T * hv + vap * C_VAP * 0.5 * (Ts_T + 1.0)
    out[0, 2] = q_u + vap_u * hv + vap * C_VAP * 0.5 * Ts_u
    out[1, 0], out[1, 1], out[1, 2] = vap, vap_T, vap_u
    out[2, 0], out[2, 1], out[2, 2] = 0.0, 0.0, 0.0
    return Ts, b[B_P] - vap * film


@njit(**OPTIONS)
def _wet_surface(tab, scalars, m, dx, R, eps, imposed, P, i, T, b, out):
    """Capillary surface with a state of its own (temperature, potential). See `_boundary`.

    Water: film + rain = vapour + liquid into the cell, at most free saturation (the rest of the
    rain runs off). Heat: film + radiation + latent heat of what changes phase at the surface =
    conduction into the cell.
    """
    Ta, beta = b[B_T], b[B_BETA]
    k, fl = 2.0 / dx, P[i, FL]
    Ts = Ta if imposed != 0 else T
    us = 0.5 * P[i, RH] + 0.5 * min(P[i, W] / scalars[m, W_FREE], 1.0)
    for _ in range(12):
        ps, ps_T = _saturation(tab, Ts)
        if imposed != 0:
            dry = max(-math.log(max(min(b[B_P] / ps, 1.0), 1e-17)), 1e-8)
            us, _ = _potential(tab, m, math.log(dry))
        else:
            us = _surface_potential(tab, scalars, m, dx, P, i, T, b, Ts, ps, us)
        rh, rh_u = _curve(tab, scalars, m, 0, us)
        th, th_u = _curve(tab, scalars, m, 3, us)
        kt, kt_u = _curve(tab, scalars, m, 4, us)
        ratio, lift = 0.5 * (T + Ts) / T_REF, 0.5 * (T - Ts)
        rise, both = th - P[i, TH], kt + P[i, KT]
        core = ratio * rise + lift * both
        gv, gl = (rh * ps - P[i, PV]) / P[i, RV], k * fl * core
        gv_s, gv_us = rh * ps_T / P[i, RV], rh_u * ps / P[i, RV]
        gl_s = k * fl * (0.5 / T_REF * rise - 0.5 * both)
        gl_us = k * fl * (ratio * th_u + lift * kt_u)
        air, air_s, air_us = beta * (b[B_P] - rh * ps), -beta * rh * ps_T, -beta * rh_u * ps
        # water balance f2(Ts, us) = 0 where the surface is not saturated
        free = us < 1.0
        f2_us = air_us - gv_us - gl_us
        f2_s = air_s - gv_s - gl_s
        us_s = -f2_s / f2_us if free else 0.0
        he = L_V + (C_VAP - C_W) * (Ts - T0)
        f1 = b[B_H] * (Ta - Ts) + b[B_RADIATION] - eps * Ts**4 + he * (air - gv) - (Ts - T) / R
        f1_us = he * (air_us - gv_us)
        f1_s = (
            -b[B_H] - 4.0 * eps * Ts**3 + he * (air_s - gv_s) - 1.0 / R + (C_VAP - C_W) * (air - gv)
        )
        if imposed != 0:
            break
        step = -f1 / (f1_s + f1_us * us_s)
        if abs(step) < 1e-9:
            break
        Ts += min(max(step, -20.0), 20.0)
    gv_T = -(P[i, PV_T] + gv * P[i, RV_T]) / P[i, RV]
    gv_u = -(P[i, PV_U] + gv * P[i, RV_U]) / P[i, RV]
    gl_T = k * fl * (0.5 / T_REF * rise + 0.5 * both) + k * P[i, FL_T] * core
    gl_u = k * fl * (-ratio * P[i, TH_U] + lift * P[i, KT_U]) + k * P[i, FL_U] * core
    q = (Ts - T) / R
    Ts_T, Ts_u, us_T, us_u = 0.0, 0.0, 0.0, 0.0
    if imposed == 0:
        # d(Ts, us)/d(T, u) from the two balances
        own = us_s * f1_us + f1_s
        f1_T = -(L_V + (C_VAP - C_W) * (Ts - T0)) * gv_T + 1.0 / R + q / R * P[i, RK_T]
        f1_u = -(L_V + (C_VAP - C_W) * (Ts - T0)) * gv_u + q / R * P[i, RK_U]
        at_T = (gv_T + gl_T) / f2_us if free else 0.0
        at_u = (gv_u + gl_u) / f2_us if free else 0.0
        Ts_T = -(f1_T + f1_us * at_T) / own
        Ts_u = -(f1_u + f1_us * at_u) / own
        us_T = at_T + us_s * Ts_T
        us_u = at_u + us_s * Ts_u
    q_T = (Ts_T - 1.0 - q * P[i, RK_T]) / R
    q_u = (Ts_u - q * P[i, RK_U]) / R
    gv_T += gv_s * Ts_T + gv_us * us_T
    gv_u += gv_s * Ts_u + gv_us * us_u
    gl_T += gl_s * Ts_T + gl_us * us_T
    gl_u += gl_s * Ts_u + gl_us * us_u
    theta, theta_T, theta_u = 0.5 * (Ts + T) - T0, 0.5 * (Ts_T + 1.0), 0.5 * Ts_u
    hv, hw = L_V + C_VAP * theta, C_W * theta
    out[0, 0] = q + gv * hv + gl * hw
    out[0, 1] = q_T + gv_T * hv + gl_T * hw + (gv * C_VAP + gl * C_W) * theta_T
    out[0, 2] = q_u + gv_u * hv + gl_u * hw + (gv * C_VAP + gl * C_W) * theta_u
    if imposed != 0:
        rain, rain_T, rain_u = 0.0, 0.0, 0.0
    elif free:
        rain, rain_T, rain_u = b[B_RAIN], 0.0, 0.0
    else:
        rain = gv + gl - air
        rain_T = gv_T + gl_T - air_s * Ts_T
        rain_u = gv_u + gl_u - air_s * Ts_u
    out[1, 0], out[1, 1], out[1, 2] = gv + gl - rain, gv_T + gl_T - rain_T, gv_u + gl_u - rain_u
    out[2, 0], out[2, 1], out[2, 2] = rain, rain_T, rain_u
    # rain comes with the temperature of the air
    if rain > 0.0:
        warm = C_W * (Ta - T0 - theta)
        out[0, 0] += rain * warm
        out[0, 1] += rain_T * warm - rain * C_W * theta_T
        out[0, 2] += rain_u * warm - rain * C_W * theta_u
    return Ts, rh * ps


@njit(**OPTIONS)
def _contact(tab, scalars, a, b, dx_a, dx_b, P, i, j, ui, uj, out):
    """Liquid flow across a capillary contact of two materials, over mean T/T_ref = 1.

    Each half drops from its own suction to the other's; the two in series. out: value, d/du_i,
    d/du_j.
    """
    sa, sa_u = _suction(tab, a, ui)
    sb, sb_u = _suction(tab, b, uj)
    out[0], out[1], out[2] = 0.0, 0.0, 0.0
    ua, ua_s = _potential(tab, a, sb)
    ub, ub_s = _potential(tab, b, sa)
    tha, tha_u = _curve(tab, scalars, a, 3, ua)
    thb, thb_u = _curve(tab, scalars, b, 3, ub)
    ka, kb = 2.0 / dx_a, 2.0 / dx_b
    fa = ka * (P[i, TH] - tha)
    fb = kb * (thb - P[j, TH])
    fa_i, fa_j = ka * P[i, TH_U], -ka * tha_u * ua_s * sb_u
    fb_i, fb_j = kb * thb_u * ub_s * sa_u, -kb * P[j, TH_U]
    total = fa + fb
    if fa * fb > 0.0 and abs(sa - sb) > 1e-9:
        xa, xb = fb / total, fa / total
        out[0] = fa * xa
    else:
        weight = abs(fa_i) + abs(fb_j)
        if weight == 0.0 or fa * fb < 0.0:
            return
        xa = abs(fb_j) / weight
        xb = 1.0 - xa
    out[1] = xa * xa * fa_i + xb * xb * fb_i
    out[2] = xa * xa * fa_j + xb * xb * fb_j


@njit(**OPTIONS)
def _upwind(peclet):
    """Weight of the upstream cell by exponential fitting; 1/2 for slow flow."""
    if peclet < 1e-3:
        return 0.5 + peclet / 12.0
    if peclet > 50.0:
        return 1.0 - 1.0 / peclet
    return 0.5 + 0.5 * (1.0 / math.tanh(0.5 * peclet) - 2.0 / peclet)


@njit(**OPTIONS)
def _gap_nodes(tab, P, i, j, Ti, Tj, di, dj, gap, g, sheet_a, sheet_b, rate, through, To,
               po):  # fmt: skip
    """Temperatures and vapour pressures in a gap; see `_gap` for the network."""
    k1, k2 = 1.0 / P[i, RK], 1.0 / P[j, RK]
    h = gap[g, 2]
    r = gap[g, 1] * (Ti**2 + Tj**2) * (Ti + Tj)
    G = rate * RHO_AIR * T_REF / To * C_AIR
    A = abs(through) * RHO_AIR * C_AIR
    D = 2.0 * h + G + A
    x = h * h / D
    A1, A2, B = k1 + h + r - x, k2 + h + r - x, r + x
    brought = G * To + A * (Ti if through > 0.0 else Tj)
    S = h * brought / D
    det = A1 * A2 - B * B
    s1 = (A2 * (k1 * Ti + S) + B * (k2 * Tj + S)) / det
    s2 = (A1 * (k2 * Tj + S) + B * (k1 * Ti + S)) / det
    air = (h * (s1 + s2) + brought) / D
    Z1, Z1_rh = _sheet(tab, sheet_a, P[i, RH])
    Z2, Z2_rh = _sheet(tab, sheet_b, P[j, RH])
    y1 = 1.0 / (1.0 / gap[g, 3] + Z1 + _half(P, i, di)[0])
    y2 = 1.0 / (1.0 / gap[g, 3] + Z2 + _half(P, j, dj)[0])
    Gv = rate / (R_V * To)
    a = abs(through) / (R_V * T_REF)
    up = i if through > 0.0 else j
    pa = (y1 * P[i, PV] + y2 * P[j, PV] + Gv * po + a * P[up, PV]) / (y1 + y2 + Gv + a)
    return s1, s2, air, pa, y1, y2, Gv, Z1_rh, Z2_rh


@njit(**OPTIONS)
def _gap(tab, P, i, j, Ti, Tj, di, dj, gap, g, sheet_a, sheet_b, rate, through, To, po, out):
    """Fluxes at the two faces of a gap with air exchange; the air holds nothing.

    Network: cell i - surface 1 - air - surface 2 - cell j, radiation from surface 1 to 2, air to
    outdoors by exchange; straight-through flow leaves the upstream cell at its state, mixes with
    the air, and enters the downstream cell at the state of the air. out rows: energy leaving cell
    i, water leaving cell i, energy entering
    cell j, water entering cell j; columns: value, d/dT_i, d/du_i, d/dT_j, d/du_j.
    """
    s1, s2, mixed, pa, y1, y2, Gv, Z1_rh, Z2_rh = _gap_nodes(
        tab, P, i, j, Ti, Tj, di, dj, gap, g, sheet_a, sheet_b, rate, through, To, po
    )
    k1, k2 = 1.0 / P[i, RK], 1.0 / P[j, RK]
    h = gap[g, 2]
    r = gap[g, 1] * (Ti**2 + Tj**2) * (Ti + Tj)
    r_i = gap[g, 1] * (2.0 * Ti * (Ti + Tj) + Ti**2 + Tj**2)
    r_j = gap[g, 1] * (2.0 * Tj * (Ti + Tj) + Ti**2 + Tj**2)
    A, a = abs(through) * RHO_AIR * C_AIR, abs(through) / (R_V * T_REF)
    D = 2.0 * h + rate * RHO_AIR * T_REF / To * C_AIR + A
    x = h * h / D
    A1, A2, B = k1 + h + r - x, k2 + h + r - x, r + x
    det = A1 * A2 - B * B
    k1_T, k1_u = -k1 * P[i, RK_T] / P[i, RK], -k1 * P[i, RK_U] / P[i, RK]
    k2_T, k2_u = -k2 * P[j, RK_T] / P[j, RK], -k2 * P[j, RK_U] / P[j, RK]
    q1, q2 = k1 * (Ti - s1), k2 * (s2 - Tj)
    theta = 0.5 * (Ti + Tj) - T0
    hv = L_V + C_VAP * theta
    d1, d2 = Ti - s1, Tj - s2
    rad = s2 - s1
    p1, p2 = P[i, PV], P[j, PV]
    total = y1 + y2 + Gv + a
    _, r1_T, r1_u = _half(P, i, di)
    _, r2_T, r2_u = _half(P, j, dj)
    g1, g2 = y1 * (p1 - pa), y2 * (pa - p2)
    out[0, 0], out[1, 0] = q1 + g1 * hv, g1
    out[2, 0], out[3, 0] = q2 + g2 * hv, g2
    inward = through > 0.0
    # rows of what leaves the upstream cell and of what enters the downstream one; sign of the flow
    near, far, sign = (0, 2, 1.0) if inward else (2, 0, -1.0)
    Tu, pu = (Ti, p1) if inward else (Tj, p2)
    if a > 0.0:
        out[near, 0] += sign * (A * (Tu - T0) + a * pu * hv)
        out[near + 1, 0] += sign * a * pu
        out[far, 0] += sign * (A * (mixed - T0) + a * pa * hv)
        out[far + 1, 0] += sign * a * pa
    for v in range(4):
        if v == 0:
            e1, e2 = k1 + k1_T * d1 + r_i * rad, -r_i * rad
            dk1, dk2, own1, own2 = k1_T, 0.0, 1.0, 0.0
        elif v == 1:
            e1, e2 = k1_u * d1, 0.0
            dk1, dk2, own1, own2 = k1_u, 0.0, 0.0, 0.0
        elif v == 2:
            e1, e2 = r_j * rad, k2 + k2_T * d2 - r_j * rad
            dk1, dk2, own1, own2 = 0.0, k2_T, 0.0, 1.0
        else:
            e1, e2 = 0.0, k2_u * d2
            dk1, dk2, own1, own2 = 0.0, k2_u, 0.0, 0.0
        Tu_v = own1 if inward else own2
        e1 += h * A / D * Tu_v
        e2 += h * A / D * Tu_v
        s1_v = (A2 * e1 + B * e2) / det
        s2_v = (A1 * e2 + B * e1) / det
        q1_v = dk1 * d1 + k1 * (own1 - s1_v)
        q2_v = -dk2 * d2 + k2 * (s2_v - own2)
        y1_v = y2_v = p1_v = p2_v = 0.0
        if v == 0:
            y1_v, p1_v = -y1 * y1 * r1_T, P[i, PV_T]
        elif v == 1:
            y1_v, p1_v = -y1 * y1 * (r1_u + Z1_rh * P[i, RH_U]), P[i, PV_U]
        elif v == 2:
            y2_v, p2_v = -y2 * y2 * r2_T, P[j, PV_T]
        else:
            y2_v, p2_v = -y2 * y2 * (r2_u + Z2_rh * P[j, RH_U]), P[j, PV_U]
        pu_v = p1_v if inward else p2_v
        pa_v = (y1_v * (p1 - pa) + y1 * p1_v + y2_v * (p2 - pa) + y2 * p2_v + a * pu_v) / total
        g1_v = y1_v * (p1 - pa) + y1 * (p1_v - pa_v)
        g2_v = y2_v * (pa - p2) + y2 * (pa_v - p2_v)
        half = 0.5 * C_VAP if (v == 0 or v == 2) else 0.0
        out[0, v + 1] = q1_v + g1_v * hv + g1 * half
        out[1, v + 1] = g1_v
        out[2, v + 1] = q2_v + g2_v * hv + g2 * half
        out[3, v + 1] = g2_v
        if a > 0.0:
            mixed_v = (h * (s1_v + s2_v) + A * Tu_v) / D
            out[near, v + 1] += sign * (A * Tu_v + a * pu_v * hv + a * pu * half)
            out[near + 1, v + 1] += sign * a * pu_v
            out[far, v + 1] += sign * (A * mixed_v + a * pa_v * hv + a * pa * half)
            out[far + 1, v + 1] += sign * a * pa_v


@njit(**OPTIONS)
def _sources(tab, scalars, mat, cell, source, source_length, P, T, u, rates, room_p, F, J, led,
             cell_led):  # fmt: skip
    """Rain leaks and wettings, moisture dropped by leaking air, and what drains."""
    n = T.shape[0]
    for s in range(source.shape[0]):
        rate = rates[s]
        if rate == 0.0:
            continue
        for i in range(source[s, 1], source[s, 2]):
            share = rate * cell[i, 0] / source_length[s]
            theta = T[i] - T0
            if source[s, 0] == 0:
                w_cap, _ = _curve(tab, scalars, mat[i], 1, cell[i, 1])
                g, g_T, g_u = share, 0.0, 0.0
                if (w_cap - P[i, W]) * cell[i, 0] < share * FILL_TIME:
                    g = max(w_cap - P[i, W], 0.0) * cell[i, 0] / FILL_TIME
                    g_u = -P[i, W_U] * cell[i, 0] / FILL_TIME if g > 0.0 else 0.0
                e, e_T, e_u = g * C_W * theta, g * C_W, g_u * C_W * theta
                cell_led[0, i, 0] += g
                cell_led[0, i, 2] += g_u
                cell_led[1, i, 0] += share - g
                cell_led[1, i, 2] -= g_u
                led[LEAK, 0] += share
            else:
                share /= R_V * T_REF
                g, g_T, g_u = 0.0, 0.0, 0.0
                if room_p > P[i, PS]:
                    g, g_T = share * (room_p - P[i, PS]), -share * P[i, PS_T]
                elif room_p < P[i, PV]:
                    g = share * (room_p - P[i, PV])
                    g_T, g_u = -share * P[i, PV_T], -share * P[i, PV_U]
                hv = L_V + C_VAP * theta
                e, e_T, e_u = g * hv, g_T * hv + g * C_VAP, g_u * hv
                cell_led[2, i, 0] += g
                cell_led[2, i, 1] += g_T
                cell_led[2, i, 2] += g_u
            _add_source(i, e, e_T, e_u, g, g_T, g_u, F, J, cell_led)
            led[DIRTY, 1] = 1.0
    for i in range(n):
        if u[i] > cell[i, 1]:
            led[DIRTY, 1] = 1.0
            w_cap, _ = _curve(tab, scalars, mat[i], 1, cell[i, 1])
            g = -(P[i, W] - w_cap) * cell[i, 0] / DRAIN_TIME
            g_u = -P[i, W_U] * cell[i, 0] / DRAIN_TIME
            theta = T[i] - T0
            cell_led[0, i, 0] += g
            cell_led[0, i, 2] += g_u
            cell_led[1, i, 0] -= g
            cell_led[1, i, 2] -= g_u
            _add_source(i, g * C_W * theta, g * C_W, g_u * C_W * theta, g, 0.0, g_u, F, J, cell_led)


@njit(**OPTIONS)
def _add_source(i, e, e_T, e_u, g, g_T, g_u, F, J, cell_led):
    F[i, 0] += e
    F[i, 1] += g
    J[i, 4] += e_T
    J[i, 5] += e_u
    J[i, 6] += g_T
    J[i, 7] += g_u
    cell_led[3, i, 0] += e
    cell_led[3, i, 1] += e_T
    cell_led[3, i, 2] += e_u


@njit(**OPTIONS)
def evaluate(tab, scalars, cell, mat, face, contact, gap, source, source_length, side, flags, T, u,
             b, gap_rate, source_rate, room_p, air, P, X, D, F, J, led, gap_led, cell_led, bout, gq,
             small):  # fmt: skip
    """Conserved quantities X, their rates F, and the exact block-tridiagonal Jacobian of F.

    J rows hold the blocks to cell i-1, i, i+1 (4 numbers each). led rows hold (value, d/dT, d/du of
    cell 0 or n-1) at the surfaces; gap_led (gaps, 2, 5) what leaves to outdoors through gaps;
    cell_led (4, n, 3) leak accepted, drained, air drop, energy of sources per cell.
    """
    n = T.shape[0]
    _cells(tab, scalars, mat, cell, flags[0], T, u, P, X, D)
    led[LEAK, 0] = 0.0
    # what the face on the outer side adds to the cell: rates and diagonal block
    in_h, in_w, d0, d1, d2, d3 = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for k in range(4):
        J[0, k] = 0.0
        J[n - 1, 8 + k] = 0.0
    for s in range(2):
        i = 0 if s == 0 else n - 1
        f = 0 if s == 0 else n
        _boundary(
            tab, scalars, mat[i], cell[i, 0], contact[f], face[f, SHEET_A], side[s, 0],
            side[s, 1], P, i, T[i], b[s], bout, gq,
        )  # fmt: skip
        if air != 0.0:
            _through_flow(P, i, T[i], b[s], air if s == 0 else -air, bout)
        e = E_OUT if s == 0 else E_IN
        for k in range(3):
            led[e, k] = bout[0, k]
            led[e + 1, k] = bout[1, k]
            led[e + 2, k] = bout[2, k]
        if s == 0:
            in_h, in_w = bout[0, 0], bout[1, 0] + bout[2, 0]
            d0, d1 = bout[0, 1], bout[0, 2]
            d2, d3 = bout[1, 1] + bout[2, 1], bout[1, 2] + bout[2, 2]
    for f in range(1, n):
        i, j = f - 1, f
        if face[f, KIND] == 2:
            g = face[f, GAP_INDEX]
            _gap(tab, P, i, j, T[i], T[j], cell[i, 0], cell[j, 0], gap, g, face[f, SHEET_A],
                 face[f, SHEET_B], gap_rate[g], air, b[0, B_T], b[0, B_P], gq)  # fmt: skip
            for k in range(5):
                gap_led[g, 0, k] = gq[0, k] - gq[2, k]
                gap_led[g, 1, k] = gq[1, k] - gq[3, k]
            F[i, 0] = in_h - gq[0, 0]
            F[i, 1] = in_w - gq[1, 0]
            J[i, 4], J[i, 5] = d0 - gq[0, 1], d1 - gq[0, 2]
            J[i, 6], J[i, 7] = d2 - gq[1, 1], d3 - gq[1, 2]
            J[i, 8], J[i, 9] = -gq[0, 3], -gq[0, 4]
            J[i, 10], J[i, 11] = -gq[1, 3], -gq[1, 4]
            J[j, 0], J[j, 1], J[j, 2], J[j, 3] = gq[2, 1], gq[2, 2], gq[3, 1], gq[3, 2]
            in_h, in_w = gq[2, 0], gq[3, 0]
            d0, d1, d2, d3 = gq[2, 3], gq[2, 4], gq[3, 3], gq[3, 4]
            continue
        dT = T[i] - T[j]
        C = 1.0 / (P[i, RK] + P[j, RK] + contact[f])
        h0 = C * dT
        h1 = C - h0 * C * P[i, RK_T]
        h2 = -h0 * C * P[i, RK_U]
        h3 = -C - h0 * C * P[j, RK_T]
        h4 = -h0 * C * P[j, RK_U]
        Z, Z_rh = 0.0, 0.0
        if face[f, SHEET_A] >= 0:
            Z, Z_rh = _sheet(tab, face[f, SHEET_A], 0.5 * (P[i, RH] + P[j, RH]))
            Z_rh *= 0.5
        ri, ri_T, ri_u = P[i, RV], P[i, RV_T], P[i, RV_U]
        rj, rj_T, rj_u = P[j, RV], P[j, RV_T], P[j, RV_U]
        if face[f, KIND] == 1 and face[f, LIQUID] == 0:
            ri, ri_T, ri_u = _half(P, i, cell[i, 0])
            rj, rj_T, rj_u = _half(P, j, cell[j, 0])
        V = 1.0 / (ri + rj + Z)
        v0 = V * (P[i, PV] - P[j, PV])
        v1 = V * (P[i, PV_T] - v0 * ri_T)
        v2 = V * (P[i, PV_U] - v0 * (ri_u + Z_rh * P[i, RH_U]))
        v3 = V * (-P[j, PV_T] - v0 * rj_T)
        v4 = V * (-P[j, PV_U] - v0 * (rj_u + Z_rh * P[j, RH_U]))
        theta = 0.5 * (T[i] + T[j]) - T0
        if air != 0.0:
            heat, vap = air * RHO_AIR * C_AIR, air / (R_V * T_REF)
            a = _upwind(abs(heat) / C)
            a = a if air > 0.0 else 1.0 - a
            h0 += heat * (a * T[i] + (1.0 - a) * T[j] - T0)
            h1 += heat * a
            h3 += heat * (1.0 - a)
            a = _upwind(abs(vap) / V)
            a = a if air > 0.0 else 1.0 - a
            v0 += vap * (a * P[i, PV] + (1.0 - a) * P[j, PV])
            v1 += vap * a * P[i, PV_T]
            v2 += vap * a * P[i, PV_U]
            v3 += vap * (1.0 - a) * P[j, PV_T]
            v4 += vap * (1.0 - a) * P[j, PV_U]
        hv = L_V + C_VAP * theta
        half = 0.5 * C_VAP * v0
        q0 = h0 + v0 * hv
        q1 = h1 + v1 * hv + half
        q2 = h2 + v2 * hv
        q3 = h3 + v3 * hv + half
        q4 = h4 + v4 * hv
        if face[f, LIQUID] != 0:
            fl = P[i, FL] * P[j, FL]
            ratio = 0.5 * (T[i] + T[j]) / T_REF
            if face[f, LIQUID] == 1:
                inv = 2.0 / (cell[i, 0] + cell[j, 0])
                core = (P[i, TH] - P[j, TH]) * inv
                core_i, core_j = P[i, TH_U] * inv, -P[j, TH_U] * inv
                km = 0.5 * (P[i, KT] + P[j, KT]) * inv
                km_i, km_j = 0.5 * P[i, KT_U] * inv, 0.5 * P[j, KT_U] * inv
            else:
                _contact(tab, scalars, mat[i], mat[j], cell[i, 0], cell[j, 0], P, i, j, u[i], u[j],
                         small)  # fmt: skip
                core, core_i, core_j = small[0], small[1], small[2]
                km, km_i, km_j = 0.0, 0.0, 0.0
                if P[i, KT] > 0.0 and P[j, KT] > 0.0:
                    both = 1.0 / (cell[i, 0] / P[i, KT] + cell[j, 0] / P[j, KT])
                    km = 2.0 * both
                    km_i = 2.0 * both * both * cell[i, 0] / P[i, KT] ** 2 * P[i, KT_U]
                    km_j = 2.0 * both * both * cell[j, 0] / P[j, KT] ** 2 * P[j, KT_U]
            flow = ratio * core - km * dT
            l0 = fl * flow
            l1 = fl * (0.5 / T_REF * core - km) + P[i, FL_T] * P[j, FL] * flow
            l2 = fl * (ratio * core_i - km_i * dT) + P[i, FL_U] * P[j, FL] * flow
            l3 = fl * (0.5 / T_REF * core + km) + P[i, FL] * P[j, FL_T] * flow
            l4 = fl * (ratio * core_j - km_j * dT) + P[i, FL] * P[j, FL_U] * flow
            hw = C_W * theta
            q0 += l0 * hw
            q1 += l1 * hw + 0.5 * C_W * l0
            q2 += l2 * hw
            q3 += l3 * hw + 0.5 * C_W * l0
            q4 += l4 * hw
            v0 += l0
            v1 += l1
            v2 += l2
            v3 += l3
            v4 += l4
        F[i, 0] = in_h - q0
        F[i, 1] = in_w - v0
        J[i, 4], J[i, 5], J[i, 6], J[i, 7] = d0 - q1, d1 - q2, d2 - v1, d3 - v2
        J[i, 8], J[i, 9], J[i, 10], J[i, 11] = -q3, -q4, -v3, -v4
        J[j, 0], J[j, 1], J[j, 2], J[j, 3] = q1, q2, v1, v2
        in_h, in_w, d0, d1, d2, d3 = q0, v0, q3, q4, v3, v4
    i = n - 1
    F[i, 0] = in_h + bout[0, 0]
    F[i, 1] = in_w + bout[1, 0] + bout[2, 0]
    J[i, 4], J[i, 5] = d0 + bout[0, 1], d1 + bout[0, 2]
    J[i, 6] = d2 + bout[1, 1] + bout[2, 1]
    J[i, 7] = d3 + bout[1, 2] + bout[2, 2]
    if led[DIRTY, 1] != 0.0:
        cell_led[:, :, :] = 0.0
        led[DIRTY, 1] = 0.0
    _sources(tab, scalars, mat, cell, source, source_length, P, T, u, source_rate, room_p, F, J,
             led, cell_led)  # fmt: skip


@njit(**OPTIONS)
def _through_flow(P, i, T, b, inflow, out):
    """Air passing a surface: it brings the air's state in, or takes the cell's state out."""
    heat, vap = inflow * RHO_AIR * C_AIR, inflow / (R_V * T_REF)
    hv = L_V + C_VAP * (T - T0)
    if inflow > 0.0:
        g = vap * b[B_P]
        hv = L_V + C_VAP * (b[B_T] - T0)
        out[0, 0] += heat * (b[B_T] - T0) + g * hv
        out[1, 0] += g
        return
    g, g_T, g_u = vap * P[i, PV], vap * P[i, PV_T], vap * P[i, PV_U]
    out[0, 0] += heat * (T - T0) + g * hv
    out[0, 1] += heat + g_T * hv + g * C_VAP
    out[0, 2] += g_u * hv
    out[1, 0] += g
    out[1, 1] += g_T
    out[1, 2] += g_u


@njit(**OPTIONS)
def _eliminate(n, gdt, base, X, F, D, J, Dinv, Wm, y):
    """LU of D - gdt J and y = (D - gdt J)^-1 (base + gdt F - X), block tridiagonal, 2x2 blocks."""
    w0, w1, w2, w3, y0, y1 = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for i in range(n):
        l0, l1, l2, l3 = -gdt * J[i, 0], -gdt * J[i, 1], -gdt * J[i, 2], -gdt * J[i, 3]
        a = D[i, 0] - gdt * J[i, 4] - (l0 * w0 + l1 * w2)
        b = D[i, 1] - gdt * J[i, 5] - (l0 * w1 + l1 * w3)
        c = D[i, 2] - gdt * J[i, 6] - (l2 * w0 + l3 * w2)
        d = D[i, 3] - gdt * J[i, 7] - (l2 * w1 + l3 * w3)
        r0 = base[i, 0] + gdt * F[i, 0] - X[i, 0] - (l0 * y0 + l1 * y1)
        r1 = base[i, 1] + gdt * F[i, 1] - X[i, 1] - (l2 * y0 + l3 * y1)
        inv = 1.0 / (a * d - b * c)
        ia, ib, ic, id_ = d * inv, -b * inv, -c * inv, a * inv
        Dinv[i, 0], Dinv[i, 1], Dinv[i, 2], Dinv[i, 3] = ia, ib, ic, id_
        u0, u1, u2, u3 = -gdt * J[i, 8], -gdt * J[i, 9], -gdt * J[i, 10], -gdt * J[i, 11]
        w0, w1, w2, w3 = (
            ia * u0 + ib * u2,
            ia * u1 + ib * u3,
            ic * u0 + id_ * u2,
            ic * u1 + id_ * u3,
        )
        Wm[i, 0], Wm[i, 1], Wm[i, 2], Wm[i, 3] = w0, w1, w2, w3
        y0, y1 = ia * r0 + ib * r1, ic * r0 + id_ * r1
        y[i, 0], y[i, 1] = y0, y1
    _back(n, Wm, y)


@njit(**OPTIONS)
def _back(n, Wm, y):
    y0, y1 = y[n - 1, 0], y[n - 1, 1]
    for i in range(n - 2, -1, -1):
        y0, y1 = (
            y[i, 0] - (Wm[i, 0] * y0 + Wm[i, 1] * y1),
            y[i, 1] - (Wm[i, 2] * y0 + Wm[i, 3] * y1),
        )
        y[i, 0], y[i, 1] = y0, y1


@njit(**OPTIONS)
def _solve(n, gdt, J, Dinv, Wm, r, y):
    """Solve with the stored LU: y = (D - gdt J)^-1 r."""
    y0, y1 = 0.0, 0.0
    for i in range(n):
        r0 = r[i, 0] + gdt * (J[i, 0] * y0 + J[i, 1] * y1)
        r1 = r[i, 1] + gdt * (J[i, 2] * y0 + J[i, 3] * y1)
        y0 = Dinv[i, 0] * r0 + Dinv[i, 1] * r1
        y1 = Dinv[i, 2] * r0 + Dinv[i, 3] * r1
        y[i, 0], y[i, 1] = y0, y1
    _back(n, Wm, y)


class Work(NamedTuple):
    """Scratch arrays of a march; see `march.make_work`."""

    P: np.ndarray
    X1: np.ndarray
    X2: np.ndarray
    D: np.ndarray
    F: np.ndarray
    J: np.ndarray
    Dinv: np.ndarray
    Wm: np.ndarray
    led: np.ndarray
    gap_led: np.ndarray
    cell_led: np.ndarray
    bout: np.ndarray
    gq: np.ndarray
    small: np.ndarray
    r: np.ndarray
    y: np.ndarray
    base: np.ndarray
    T: np.ndarray
    u: np.ndarray
    b: np.ndarray
    stage_led: np.ndarray
    step_led: np.ndarray
    gap_rate: np.ndarray
    room_p: np.ndarray


class State(NamedTuple):
    """What a march carries from hour to hour: T, u, the conserved X, and the step memory."""

    T: np.ndarray
    u: np.ndarray
    X: np.ndarray
    slope: np.ndarray
    memory: np.ndarray


@njit(**OPTIONS)
def _loads_at(ld, k, x, b, room_p):
    """Surface loads at the fraction x of hour k: instants linear, means constant."""
    for side in range(2):
        for c in range(4):
            lo = ld.instant[k, side, c]
            b[side, c] = lo + x * (ld.instant[k + 1, side, c] - lo)
        b[side, B_RADIATION] = ld.mean[k, side, 0]
        b[side, B_RAIN] = ld.mean[k, side, 1]
    room_p[0] = ld.source_instant[k] + x * (ld.source_instant[k + 1] - ld.source_instant[k])


@njit(**OPTIONS)
def _evaluate_work(pb, ld, k, wk, T, u, X):
    evaluate(
        pb.tab, pb.scalars, pb.cell, pb.mat, pb.face, pb.contact, pb.gap, pb.source,
        pb.source_length, pb.side, pb.flags, T, u, wk.b, wk.gap_rate, ld.source[k], wk.room_p[0],
        ld.air[k], wk.P, X, wk.D, wk.F, wk.J, wk.led, wk.gap_led, wk.cell_led, wk.bout, wk.gq,
        wk.small,
    )  # fmt: skip


@njit(**OPTIONS)
def _gather_ledger(pb, wk, out):
    """Ledger of a stage: values at the last iterate plus their linear change by the last update."""
    n = wk.T.shape[0]
    for e in range(6):
        c = 0 if e < 3 else n - 1
        out[e] = wk.led[e, 0] + wk.led[e, 1] * wk.y[c, 0] + wk.led[e, 2] * wk.y[c, 1]
    for e in range(6, out.shape[0]):
        out[e] = 0.0
    gaps = wk.gap_rate.shape[0]
    for f in range(1, n):
        if pb.face[f, KIND] == 2:
            g = pb.face[f, GAP_INDEX]
            for r in range(2):
                out[FIXED + 2 * g + r] = (
                    wk.gap_led[g, r, 0]
                    + wk.gap_led[g, r, 1] * wk.y[f - 1, 0]
                    + wk.gap_led[g, r, 2] * wk.y[f - 1, 1]
                    + wk.gap_led[g, r, 3] * wk.y[f, 0]
                    + wk.gap_led[g, r, 4] * wk.y[f, 1]
                )
    out[LEAK] = wk.led[LEAK, 0]
    if wk.led[DIRTY, 1] == 0.0:
        return
    first = FIXED + 2 * gaps
    for i in range(n):
        dT, du = wk.y[i, 0], wk.y[i, 1]
        led = wk.cell_led
        took = led[0, i, 0] + led[0, i, 1] * dT + led[0, i, 2] * du
        drain = led[1, i, 0] + led[1, i, 1] * dT + led[1, i, 2] * du
        drop = led[2, i, 0] + led[2, i, 1] * dT + led[2, i, 2] * du
        out[DRAINED] += drain
        out[AIR_DROP] += drop
        row = first + 2 * pb.layer[i]
        out[row] += led[3, i, 0] + led[3, i, 1] * dT + led[3, i, 2] * du
        out[row + 1] += took + drop


@njit(**OPTIONS)
def _gentle(T, u, y, bent):
    """Whether the storage is straight enough over this update to close on it.

    Where a cell freezes or thaws, heat bends by the latent heat within a part of a kelvin. Where
    it saturates, water bends at u = 1; that counts only when the learnt bend is relied on (`bent`).
    """
    for i in range(T.shape[0]):
        new = T[i] + y[i, 0]
        if abs(y[i, 0]) > FREEZING_CLOSE and min(T[i], new) < T0 and max(T[i], new) > T0 - 1.0:
            return False
        if bent and (u[i] - 1.0) * (u[i] + y[i, 1] - 1.0) < 0.0:
            return False
    return True


@njit(**OPTIONS)
def _stage(pb, ld, k, wk, gdt, base, X, control, memory, counters):
    """Newton for one stage X = base + gdt F: wk.T, wk.u start as the guess. True when converged.

    On return X is the conserved quantity closed linearly at the last iterate, so that the sum over
    cells balances the ledger to round-off.
    """
    n = wk.T.shape[0]
    per_T, per_u = 1.0 / control[NEWTON_T], 1.0 / control[NEWTON_U]
    close = control[NEWTON_CLOSE]
    before, relax = 1e30, 1.0
    T, u, y, D = wk.T, wk.u, wk.y, wk.D
    for it in range(int(control[NEWTON_LIMIT])):
        _evaluate_work(pb, ld, k, wk, T, u, X)
        counters[2] += 1.0
        _eliminate(n, gdt, base, X, wk.F, D, wk.J, wk.Dinv, wk.Wm, y)
        size, total = 0.0, 0.0
        for i in range(n):
            eT, eu = abs(y[i, 0]) * per_T, abs(y[i, 1]) * per_u
            size = max(size, eT, eu)
            total += eT + eu
        if not total < 1e9:
            return False
        # Newton leaves about bend * size^2; bend is learnt from pairs of full updates
        if it > 0 and relax == 1.0 and before > close:
            memory[1] = min(max(0.8 * memory[1], size / (before * before)), 10.0)
        near = size < close
        bent = relax == 1.0 and size < 10.0 and memory[1] * size * size < close
        if (near or bent) and _gentle(T, u, y, not near):
            if it == 0:
                memory[1] *= 1.02
            for i in range(n):
                dT, du = y[i, 0], y[i, 1]
                T[i] += dT
                u[i] = max(u[i] + du, U_MIN)
                X[i, 0] += D[i, 0] * dT + D[i, 1] * du
                X[i, 1] += D[i, 3] * du
            return True
        cut = False
        for i in range(n):
            dT, du = relax * y[i, 0], relax * y[i, 1]
            cut = cut or abs(dT) > 25.0 or abs(du) > 0.3
            T[i] = min(max(T[i] + min(max(dT, -25.0), 25.0), T_LOW), T_HIGH)
            u[i] = max(u[i] + min(max(du, -0.3), 0.3), 0.1 * u[i], U_MIN)
        if not cut:
            relax = max(0.25, 0.5 * relax) if size > 0.7 * before else min(1.0, 2.0 * relax)
        before = size
    return False


@njit(**OPTIONS)
def _step(pb, ld, k, t, dt, wk, st, control, counters):
    """One two-stage step (SDIRK of order 2, gamma = 1 - 1/sqrt(2)) from time t [s] in hour k.

    Stage 1: X1 = X0 + gdt F1. Stage 2: X2 = X0 + (1 - gamma) dt F1 + gdt F2 (Alexander 1977, from
    memory). Error estimate: the embedded first-order result, gdt (F2 - F1), seen through the stage
    matrix. Returns the error norm (< 0: a stage did not converge). wk.T, wk.u, wk.X2 hold the new
    state.
    """
    n = wk.T.shape[0]
    gdt = GAMMA * dt
    for i in range(n):
        wk.T[i] = st.T[i] + gdt * st.slope[i, 0]
        wk.u[i] = max(st.u[i] + gdt * st.slope[i, 1], 0.5 * st.u[i])
    _loads_at(ld, k, (t + gdt) / 3600.0, wk.b, wk.room_p)
    if not _stage(pb, ld, k, wk, gdt, st.X, wk.X1, control, st.memory, counters):
        return -1.0
    _gather_ledger(pb, wk, wk.stage_led)
    entries = wk.step_led.shape[0]
    for e in range(entries):
        wk.step_led[e] = (dt - gdt) * wk.stage_led[e]
    carry, ahead = (1.0 - GAMMA) / GAMMA, 1.0 / GAMMA
    for i in range(n):
        for v in range(2):
            wk.base[i, v] = st.X[i, v] + carry * (wk.X1[i, v] - st.X[i, v])
        wk.T[i] = st.T[i] + ahead * (wk.T[i] - st.T[i])
        wk.u[i] = max(st.u[i] + ahead * (wk.u[i] - st.u[i]), 0.5 * st.u[i])
    _loads_at(ld, k, (t + dt) / 3600.0, wk.b, wk.room_p)
    if not _stage(pb, ld, k, wk, gdt, wk.base, wk.X2, control, st.memory, counters):
        return -1.0
    _gather_ledger(pb, wk, wk.stage_led)
    for e in range(entries):
        wk.step_led[e] += gdt * wk.stage_led[e]
    for i in range(n):
        for v in range(2):
            wk.r[i, v] = (wk.X2[i, v] - wk.base[i, v]) - (wk.X1[i, v] - st.X[i, v])
    _solve(n, gdt, wk.J, wk.Dinv, wk.Wm, wk.r, wk.y)
    total, worst = 0.0, 0.0
    per_T, per_u = 1.0 / control[STEP_T], 1.0 / control[STEP_U]
    for i in range(n):
        eT = wk.y[i, 0] * per_T
        # a cell that holds next to nothing follows its neighbours; its own swing is no error
        eu = wk.y[i, 1] * per_u * min(1.0, wk.D[i, 3] * (1.0 / NEGLIGIBLE_STORAGE))
        e = eT * eT + eu * eu
        total += e
        worst = max(worst, e)
    return math.sqrt(0.5 * (total / n) + 0.02 * worst)


@njit(**OPTIONS)
def _gap_rates(pb, ld, k, st, P, rates):
    """Air flow through each gap in the hour [m³/(s·m²)]: given, or from wind and buoyancy.

    Openings: V = Cd A / sqrt(2) sqrt(2 dp / rho) per metre width over the height between them, dp
    from wind 0.5 rho Cp v² and from the density difference of gap and outdoor air, both thermal and
    by vapour (virtual temperature). The gap state is that at the start of the hour.
    """
    n = st.T.shape[0]
    for f in range(1, n):
        if pb.face[f, KIND] != 2:
            continue
        g = pb.face[f, GAP_INDEX]
        rates[g] = ld.gap_rate[k, g]
        if pb.gap[g, 4] <= 0.0:
            continue
        To, po = ld.instant[k, 0, B_T], ld.instant[k, 0, B_P]
        _, _, air, pa, _, _, _, _, _ = _gap_nodes(
            pb.tab, P, f - 1, f, st.T[f - 1], st.T[f], pb.cell[f - 1, 0], pb.cell[f, 0],
            pb.gap, g, pb.face[f, SHEET_A], pb.face[f, SHEET_B], st.memory[4 + g], ld.air[k],
            To, po,
        )  # fmt: skip
        light_o = To * (1.0 + 0.378 * po / 101325.0)
        light_g = air * (1.0 + 0.378 * pa / 101325.0)
        stack = RHO_AIR * G_EARTH * pb.gap[g, 5] * (light_g - light_o) / light_g
        wind = 0.5 * RHO_AIR * pb.gap[g, 6] * ld.wind[k] ** 2
        dp = abs(stack + wind)
        rates[g] = pb.gap[g, 4] * math.sqrt(dp / RHO_AIR) / pb.gap[g, 5]
        st.memory[4 + g] = rates[g]


@njit(**OPTIONS)
def interfaces_at(pb, ld, k, x, wk, st, faces, T_if, p_if, gap_T, gap_p):
    """Temperature and vapour pressure on both sides of each interface, fraction x of hour k."""
    n = st.T.shape[0]
    _loads_at(ld, k, x, wk.b, wk.room_p)
    for m in range(faces.shape[0]):
        f = faces[m]
        if f == 0 or f == n:
            side, i = (0, 0) if f == 0 else (1, n - 1)
            Ts, ps = _boundary(
                pb.tab, pb.scalars, pb.mat[i], pb.cell[i, 0], pb.contact[f], pb.face[f, SHEET_A],
                pb.side[side, 0], pb.side[side, 1], wk.P, i, st.T[i], wk.b[side], wk.bout, wk.gq,
            )  # fmt: skip
            Rs = wk.P[i, RK] + pb.contact[f]
            inner = st.T[i] + (Ts - st.T[i]) * wk.P[i, RK] / Rs
            p_in = wk.P[i, PV] + wk.bout[1, 0] * _half(wk.P, i, pb.cell[i, 0])[0]
            if pb.face[f, SHEET_A] < 0:
                p_in = ps
            T_if[m, side], T_if[m, 1 - side] = Ts, inner
            p_if[m, side], p_if[m, 1 - side] = ps, p_in
            continue
        i, j = f - 1, f
        if pb.face[f, KIND] == 2:
            g = pb.face[f, GAP_INDEX]
            s1, s2, air, pa, y1, y2, _, _, _ = _gap_nodes(
                pb.tab, wk.P, i, j, st.T[i], st.T[j], pb.cell[i, 0], pb.cell[j, 0], pb.gap, g,
                pb.face[f, SHEET_A], pb.face[f, SHEET_B], wk.gap_rate[g], ld.air[k], wk.b[0, B_T],
                wk.b[0, B_P],
            )  # fmt: skip
            T_if[m, 0], T_if[m, 1] = s1, s2
            film = 1.0 / pb.gap[g, 3]
            p_if[m, 0] = pa + y1 * (wk.P[i, PV] - pa) * film
            p_if[m, 1] = pa + y2 * (wk.P[j, PV] - pa) * film
            gap_T[g], gap_p[g] = air, pa
            continue
        q = (st.T[i] - st.T[j]) / (wk.P[i, RK] + wk.P[j, RK] + pb.contact[f])
        T_if[m, 0] = st.T[i] - q * wk.P[i, RK]
        T_if[m, 1] = st.T[j] + q * wk.P[j, RK]
        Z, _ = _sheet(pb.tab, pb.face[f, SHEET_A], 0.5 * (wk.P[i, RH] + wk.P[j, RH]))
        ri, rj = wk.P[i, RV], wk.P[j, RV]
        if pb.face[f, LIQUID] == 0:
            ri, rj = _half(wk.P, i, pb.cell[i, 0])[0], _half(wk.P, j, pb.cell[j, 0])[0]
        v = (wk.P[i, PV] - wk.P[j, PV]) / (ri + rj + Z)
        p_if[m, 0] = wk.P[i, PV] - v * ri
        p_if[m, 1] = wk.P[j, PV] + v * rj
    # no surface holds more than saturation: what is beyond has condensed or is over-filled pores
    for m in range(faces.shape[0]):
        for s in range(2):
            p_if[m, s] = min(p_if[m, s], _saturation(pb.tab, T_if[m, s])[0])


@njit(**OPTIONS)
def _settle(pb, st, wk):
    """Bring T and u to the carried X cell by cell; they differ by what Newton left open."""
    for _ in range(2):
        _cells(pb.tab, pb.scalars, pb.mat, pb.cell, pb.flags[0], st.T, st.u, wk.P, wk.X1, wk.D)
        for i in range(st.T.shape[0]):
            du = (st.X[i, 1] - wk.X1[i, 1]) / wk.D[i, 3]
            du = min(max(du, -1e-3), 1e-3)
            st.u[i] = max(st.u[i] + du, U_MIN)
            st.T[i] += (st.X[i, 0] - wk.X1[i, 0] - wk.D[i, 1] * du) / wk.D[i, 0]


@njit(**OPTIONS)
def _onset(now, before):
    """Jump of water or air in kelvin of a surface: 20 K for a shower or a leak that starts. [K]"""
    change = abs(now - before)
    return 20.0 * change / (change + 2e-5)


@njit(**OPTIONS)
def _after_jump(ld, k, max_step, sensitivity):
    """First step of an hour by how far its means jump from those of the hour before. [s]

    Radiation counts as the change of surface temperature it would bring; rain as its onset or end.
    """
    worst = 0.0
    for side in range(2):
        jump = abs(ld.mean[k, side, 0] - ld.mean[k - 1, side, 0])
        worst = max(worst, jump / (ld.instant[k, side, B_H] + 1.0))
        worst = max(worst, _onset(ld.mean[k, side, 1], ld.mean[k - 1, side, 1]))
    for i in range(ld.source.shape[1]):
        worst = max(worst, _onset(ld.source[k, i], ld.source[k - 1, i]))
    return max_step / (1.0 + math.sqrt(worst * sensitivity))


@njit(**OPTIONS)
def march(pb, ld, first, last, st, wk, control, faces, out_T, out_u, out_rh, out_w,
          out_ice, out_led, out_Tif, out_pif, out_gT, out_gp, out_grate, counters,
          where):  # fmt: skip
    """March hours first..last-1; row h - first of the outputs holds the end of hour h.

    out_led holds the hour's integrals of the ledger [J/m², kg/m²]. counters: accepted steps,
    rejected steps, evaluations, failed stages. where: hour, second, cell, step [s].
    """
    n = st.T.shape[0]
    dt = st.memory[0]
    _cells(pb.tab, pb.scalars, pb.mat, pb.cell, pb.flags[0], st.T, st.u, wk.P, wk.X1, wk.D)
    for k in range(first, last):
        row = k - first
        out_led[row, :] = 0.0
        _gap_rates(pb, ld, k, st, wk.P, wk.gap_rate)
        if k > 0:
            dt = min(dt, _after_jump(ld, k, control[MAX_STEP], control[JUMP]))
        t = 0.0
        while t < 3600.0 - 1e-6:
            rest = 3600.0 - t
            step = min(dt, control[MAX_STEP])
            count = math.ceil(rest / step - 1e-9)
            step = rest / count
            err = _step(pb, ld, k, t, step, wk, st, control, counters)
            if err < 0.0 or not err < 1e30:
                counters[3] += 1.0
                dt = 0.25 * step
            elif err > control[REJECT]:
                counters[1] += 1.0
                dt = step * max(0.2, 0.85 * err**-0.5)
            else:
                counters[0] += 1.0
                for i in range(n):
                    st.slope[i, 0] = (wk.T[i] - st.T[i]) / step
                    st.slope[i, 1] = (wk.u[i] - st.u[i]) / step
                    st.T[i], st.u[i] = wk.T[i], wk.u[i]
                    st.X[i, 0], st.X[i, 1] = wk.X2[i, 0], wk.X2[i, 1]
                for e in range(wk.step_led.shape[0]):
                    out_led[row, e] += wk.step_led[e]
                t += step
                grow = 0.85 * max(err, 1e-6) ** -0.5
                dt = step * min(max(grow, 0.3), 4.0)
                continue
            if dt < control[MIN_STEP]:
                worst, cell = 0.0, 0
                for i in range(n):
                    e = max(abs(wk.y[i, 0]) / control[STEP_T], abs(wk.y[i, 1]) / control[STEP_U])
                    if not e <= worst:
                        worst, cell = e, i
                where[0], where[1], where[2], where[3], where[4] = k, t, cell, dt, worst
                return STEP_TOO_SMALL
        if k == last - 1:
            _settle(pb, st, wk)
        dt = min(dt, 4.0 * control[MAX_STEP])
        _cells(pb.tab, pb.scalars, pb.mat, pb.cell, pb.flags[0], st.T, st.u, wk.P, wk.X1, wk.D)
        interfaces_at(
            pb, ld, k, 1.0, wk, st, faces, out_Tif[row], out_pif[row], out_gT[row], out_gp[row]
        )
        for i in range(n):
            out_T[row, i], out_u[row, i] = st.T[i], st.u[i]
            out_rh[row, i], out_w[row, i] = min(wk.P[i, RH], 1.0), wk.P[i, W]
            out_ice[row, i] = wk.P[i, ICE]
        for g in range(wk.gap_rate.shape[0]):
            out_grate[row, g] = wk.gap_rate[g]
    st.memory[0] = dt
    return OK


@njit(**OPTIONS)
def rates(pb, ld, k, x, T, u, gap_rate, wk, dT, du):
    """dT/dt and du/dt of the semi-discrete equations at the fraction x of hour k."""
    _loads_at(ld, k, x, wk.b, wk.room_p)
    for g in range(gap_rate.shape[0]):
        wk.gap_rate[g] = gap_rate[g]
    _evaluate_work(pb, ld, k, wk, T, u, wk.X1)
    for i in range(T.shape[0]):
        du[i] = wk.F[i, 1] / wk.D[i, 3]
        dT[i] = (wk.F[i, 0] - wk.D[i, 1] * du[i]) / wk.D[i, 0]
