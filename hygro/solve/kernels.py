"""The arithmetic of the engine: curves, fluxes, Jacobian, stages, steps. Arrays and floats only.

Owns the discrete equations and the march over hours. Knows no wall, weather, file or message: it
leaves a status and where it happened. Everything compiled that calls each other lives in this one
file, since the compiler's cache on disk watches the file of the outer function only.

Conventions
-----------
One call marches W walls of the same structure, one in each lane (`lanes`); W = 1 is a single run.
The lanes share the arithmetic and nothing else: each is at a time, step and iteration of its own,
so a wall's result has the same bits alone and in company.

Cells run from outside (0) to inside (n-1); face f lies on the outer side of cell f, so that face 0
is the outdoor and face n the indoor surface. Fluxes are positive inward. The unknowns of a cell are
its temperature T [K] and moisture potential u [1] (see `tables`); X = (enthalpy [J/m²], water
[kg/m²]) is what is conserved, F = dX/dt. 2x2 blocks are stored as 4 numbers
(energy-T, energy-u, water-T, water-u). A name x_T or x_u is the slope of x over T or u.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numba import njit

from hygro.solve.columns import (
    AIR_DROP,
    B_BETA,
    B_H,
    B_P,
    B_RADIATION,
    B_RAIN,
    B_T,
    DRAINED,
    E_IN,
    E_OUT,
    FIXED,
    LEAK,
    M_RADIATION,
    M_RAIN,
)
from hygro.solve.lanes import (
    LaneArray,
    least,
    most,
    row_of_1,
    rows_of_4,
    rows_of_8,
    some,
    where,
    width_of,
)

OPTIONS: Any = {"cache": True, "nogil": True, "error_model": "numpy", "_nrt": False}
# no kernel allocates, so the compiler may leave out counting references: a quarter of the time
INLINE: Any = OPTIONS | {"forceinline": True}

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

# one block of the table per material: rows of cubic coefficients, lowest power first; see `tables`
T_ROWS, CURVE_ROWS, SHEET_ROWS, ICE_ROWS = 400, 512, 64, 1600
CURVES_AT = 16 * T_ROWS
SUCTION_AT = CURVES_AT + 32 * (CURVE_ROWS + 1)
POTENTIAL_AT = SUCTION_AT + 4 * (CURVE_ROWS + 1)
UNFROZEN_AT = POTENTIAL_AT + 4 * CURVE_ROWS
MATERIAL_SIZE = -(-(UNFROZEN_AT + 4 * ICE_ROWS) // 8) * 8
# a whole number of cache lines of 8, so that no row of curves lies across two
# places of the curves in a row
RH, W, RESISTIVITY, THETA, THERMAL, HEAT_RESISTIVITY, MOBILITY = range(7)
PRESSURE, LAW, FACTOR = range(3)
# columns of a cell: thickness, highest u before it drains, its block, dry heat capacity, water at
# free saturation, 1 over it and over that with full pores, water at the highest u
DX, CAP, BLOCK, RHO_C, W_FREE, PER_FREE, PER_MAX, W_CAP = range(8)
# columns of the face integers; of the sheets at its outer and inner side
KIND, SHEET_A, SHEET_B, LIQUID, GAP_INDEX = range(5)
OUTER, INNER = range(2)
# columns of a gap
DEPTH, GREY, H_SIDE, BETA_SIDE, OPENING, HEIGHT, WIND = range(7)

T_TABLE_MIN = T0 - 80.0
T_TABLE_INV = 2.0
ICE_MIN = T0 - 80.0
ICE_INV = 20.0
FREEZING_RANGE = 0.2
FREEZING_ROUND = 0.01
FREEZING_CLOSE = 2e-3
LN_S_MIN = math.log(1e-8)
LN_S_MAX = math.log(40.0)
LN_S_INV = CURVE_ROWS / (LN_S_MAX - LN_S_MIN)
GAMMA = 1.0 - math.sqrt(0.5)
U_MIN = 1e-7
T_LOW, T_HIGH = T0 - 79.0, T0 + 119.0
SETTLE = 4
DRAIN_TIME = 600.0
FILL_TIME = 60.0
NEGLIGIBLE_STORAGE = 1e-6

OK, STEP_TOO_SMALL = 0, 1

# columns of what sources bring to a cell, each with its slopes over T and u
TOOK, DRAIN, DROP, BROUGHT = 0, 3, 6, 9

# control of the march: see `control.control`
(STEP_T, STEP_U, NEWTON_T, NEWTON_U, NEWTON_CLOSE, NEWTON_LIMIT, MAX_STEP, MIN_STEP, JUMP,
 REJECT) = range(10)  # fmt: skip
# where each lane is: hour, time in it, step and gamma step [s], step proposed next, stage (0, 1),
# iterations of it, size of the update before, damping, mode; then what the sweeps found: largest
# updates, their sum, whether a cell freezes or saturates, square of the error; its status
(HOUR, TIME, STEP, GDT, NEXT, STAGE, COUNT, BEFORE, RELAX, MODE, TOP_T, TOP_U, TOTAL, ROUGH, BENDS,
 ERROR_SUM, STATUS, LANE_ROWS) = range(18)  # fmt: skip
# modes of a lane: it rests, iterates, has closed its first or second stage, has lost its way, has
# taken its step, has ended an hour
IDLE, GO, FIRST, SECOND, LOST, TAKEN, HOUR_END = range(7)
# rows of the scratch lanes
NODE_ROWS = 9


class Problem(NamedTuple):
    """Walls of one structure as arrays; see `problem.build_problem`.

    tab holds the curves; cell (n, 8), contact (n+1,), sheet (n+1, 2), gap (gaps, 7), source_length
    and side (2,) have W lanes. The integers are the structure that the lanes share: faces, sources,
    layers, flags (freezing, imposed outside, imposed inside, any openings).
    """

    tab: np.ndarray
    cell: LaneArray
    contact: LaneArray
    sheet: LaneArray
    gap: LaneArray
    source_length: LaneArray
    side: LaneArray
    face: np.ndarray
    source: np.ndarray
    layer: np.ndarray
    flags: np.ndarray


FREEZING, IMPOSED_OUT, IMPOSED_IN, OPENINGS = range(4)


class HourlyLoads(NamedTuple):
    """Loads of W lanes: instants (W, N+1, 2, 4), means (W, N, 2, 2); the rest per hour."""

    instant: np.ndarray
    mean: np.ndarray
    gap_rate: np.ndarray
    wind: np.ndarray
    source: np.ndarray
    source_instant: np.ndarray
    air: np.ndarray


class Work(NamedTuple):
    """Scratch arrays of a march; see `march.make_work`."""

    X: LaneArray
    X1: LaneArray
    X2: LaneArray
    D: LaneArray
    F: LaneArray
    J: LaneArray
    Dinv: LaneArray
    Wm: LaneArray
    led: LaneArray
    gap_led: LaneArray
    cell_led: LaneArray
    dirty: np.ndarray
    gq: LaneArray
    node: LaneArray
    r: LaneArray
    y: LaneArray
    base: LaneArray
    T: LaneArray
    u: LaneArray
    b: LaneArray
    stage_led: LaneArray
    step_led: LaneArray
    hour_led: LaneArray
    gap_rate: LaneArray
    source_rate: LaneArray
    air: LaneArray
    room_p: LaneArray
    at: LaneArray


class State(NamedTuple):
    """What a march carries from hour to hour: T, u, the conserved X, and the step memory."""

    T: LaneArray
    u: LaneArray
    X: LaneArray
    slope: LaneArray
    memory: LaneArray


class Cell(NamedTuple):
    """Properties of a cell.

    T [K], u [1], dx [m]; rh [1], vapour pressure pv [Pa], water w [kg/m³]; resistance of a half
    cell to heat rk [m²·K/W] and vapour rv [m²·s·Pa/kg]; liquid potential th [kg/(m·s)], thermal
    liquid coefficient kt, liquid mobility mo over rh, share of liquid that moves fl; ice [kg/m³],
    saturation pressure ps [Pa], enthalpy heat [J/m³].
    """

    T: Any
    u: Any
    dx: Any
    rh: Any
    rh_u: Any
    pv: Any
    pv_T: Any
    pv_u: Any
    w: Any
    w_u: Any
    rk: Any
    rk_T: Any
    rk_u: Any
    rv: Any
    rv_T: Any
    rv_u: Any
    th: Any
    th_u: Any
    kt: Any
    kt_u: Any
    mo: Any
    mo_u: Any
    fl: Any
    fl_T: Any
    fl_u: Any
    ice: Any
    ps: Any
    ps_T: Any
    heat: Any
    heat_T: Any
    heat_u: Any


class Flux(NamedTuple):
    """Energy q [W/m²] and water v [kg/(m²·s)] through a face, over T, u of cell i and of cell j."""

    q: Any
    q_Ti: Any
    q_ui: Any
    q_Tj: Any
    q_uj: Any
    v: Any
    v_Ti: Any
    v_ui: Any
    v_Tj: Any
    v_uj: Any


class Surface(NamedTuple):
    """Energy, vapour and rain into the cell at a surface, over its T, u; surface T [K], p [Pa]."""

    e: Any
    e_T: Any
    e_u: Any
    v: Any
    v_T: Any
    v_u: Any
    rain: Any
    rain_T: Any
    rain_u: Any
    T: Any
    p: Any


class Ice(NamedTuple):
    """Ice [kg/m³], share of liquid that moves, rise of the vapour resistance, with slopes."""

    ice: Any
    ice_T: Any
    ice_u: Any
    fl: Any
    fl_T: Any
    fl_u: Any
    shut: Any
    shut_T: Any
    shut_u: Any


# --- curves ---------------------------------------------------------------------------------------


@njit(**INLINE)
def _at(tab, first, x, columns, last):
    """Value and slope over x of one cubic of a table in rows of `columns`; floats."""
    j = min(max(int(x), 0), last)
    t = x - j
    k = first + 4 * columns * j
    c0, c1, c2, c3 = tab[k], tab[k + columns], tab[k + 2 * columns], tab[k + 3 * columns]
    return ((c3 * t + c2) * t + c1) * t + c0, (3.0 * c3 * t + 2.0 * c2) * t + c1


@njit(**OPTIONS)
def _curve(tab, block, column, u):
    """One material curve and its slope over the moisture potential."""
    y, y_x = _at(tab, block + CURVES_AT + column, u * CURVE_ROWS, 8, CURVE_ROWS)
    return y, y_x * CURVE_ROWS


@njit(**OPTIONS)
def _suction(tab, block, u):
    """ln(s) and its slope over u; cut at the wet end of the table."""
    y, y_x = _at(tab, block + SUCTION_AT, u * CURVE_ROWS, 1, CURVE_ROWS)
    return y, y_x * CURVE_ROWS


@njit(**OPTIONS)
def _potential(tab, block, ln_s):
    """U of a material at a given ln(s), and its slope."""
    x = (min(max(ln_s, LN_S_MIN), LN_S_MAX) - LN_S_MIN) * LN_S_INV
    y, y_x = _at(tab, block + POTENTIAL_AT, x, 1, CURVE_ROWS - 1)
    return y, y_x * LN_S_INV


@njit(**OPTIONS)
def _saturations(tab, T):
    """Saturation pressure in lanes. [Pa]"""
    return rows_of_4(tab, 0.0 * T, T - T_TABLE_MIN, T_TABLE_INV, T_ROWS - 1)[PRESSURE]


@njit(**INLINE)
def _sheet(tab, first, rh):
    """Vapour resistance of a sheet and its slope over the mean rh. [m²·s·Pa/kg]"""
    inside = most(least(rh, 1.0), 0.0)
    value, slope = row_of_1(tab, first, inside, SHEET_ROWS, SHEET_ROWS - 1)
    return value, where((rh > 0.0) & (rh < 1.0), slope, 0.0)


@njit(**OPTIONS)
def _freeze(tab, block, w_free, per_free, per_max, T, u, w, w_u):
    """Ice and what it does to liquid and vapour, in lanes; nothing at and above 0 °C."""
    held, held_T = row_of_1(tab, block + UNFROZEN_AT, T - ICE_MIN, ICE_INV, ICE_ROWS - 1)
    over = u > 1.0
    base, base_u = where(over, w_free, w), where(over, 0.0, w_u)
    excess, excess_u = w - base, w_u - base_u
    d, eps = base - held, FREEZING_ROUND * w_free
    s = most(least(0.5 + (0.5 / FREEZING_ROUND) * d * per_free, 1.0), 0.0)
    ice = where(d < eps, s * s * eps, d)
    ice_T, ice_u = -s * held_T, s * base_u
    z = least((T0 - T) * (1.0 / FREEZING_RANGE), 1.0)
    frozen = z * z * (3.0 - 2.0 * z)
    cold = T < T0
    ice = where(cold, ice + excess * frozen, 0.0)
    ice_T = where(cold, ice_T - excess * (6.0 / FREEZING_RANGE) * z * (1.0 - z), 0.0)
    ice_u = where(cold, ice_u + excess_u * frozen, 0.0)
    per_w = 1.0 / most(w, 1e-300)
    share = ice * per_w
    free = 1.0 - share
    per = 0.99 * per_max
    open_ = most(1.0 - per * ice, 0.01)
    shut = 1.0 / open_
    rise = where(open_ > 0.01, shut * shut * per, 0.0)
    less = -2.0 * free * per_w
    return Ice(
        ice, ice_T, ice_u, free * free, less * ice_T, less * (ice_u - share * w_u),
        shut, rise * ice_T, rise * ice_u,
    )  # fmt: skip


@njit(**INLINE)
def _cell(tab, cell, i, freezing, T, u):
    """Properties of cell i at T and u; see `Cell`."""
    dx, block = cell[i, DX], cell[i, BLOCK]
    r = rows_of_8(tab, block + CURVES_AT, u, CURVE_ROWS, CURVE_ROWS)
    q = rows_of_4(tab, block, T - T_TABLE_MIN, T_TABLE_INV, T_ROWS - 1)
    rh, rh_u, w, w_u = r[RH], r[8 + RH], r[W], r[8 + W]
    zv, zv_u = r[RESISTIVITY], r[8 + RESISTIVITY]
    zk, zk_u = r[HEAT_RESISTIVITY], r[8 + HEAT_RESISTIVITY]
    ps, ps_T = q[PRESSURE], q[4 + PRESSURE]
    law, law_T, fac, fac_T = q[LAW], q[4 + LAW], q[FACTOR], q[4 + FACTOR]
    theta = T - T0
    heat_T = cell[i, RHO_C] + w * C_W
    heat = heat_T * theta
    heat_u = w_u * C_W * theta
    half = 0.5 * dx
    zh, zh_u = half * zv, half * zv_u
    zero = 0.0 * dx
    rv, rv_T, rv_u = zh * law, zh * law_T, zh_u * law
    ice, fl, fl_T, fl_u = zero, zero + 1.0, zero, zero
    if freezing != 0 and some(T < T0):
        f = _freeze(tab, block, cell[i, W_FREE], cell[i, PER_FREE], cell[i, PER_MAX], T, u, w, w_u)
        fusion = L_F + (C_W - C_ICE) * theta
        heat -= f.ice * fusion
        heat_T -= f.ice_T * fusion + f.ice * (C_W - C_ICE)
        heat_u -= f.ice_u * fusion
        rv_T = zh * (law_T * f.shut + law * f.shut_T)
        rv_u = law * (zh_u * f.shut + zh * f.shut_u)
        rv = rv * f.shut
        ice, fl, fl_T, fl_u = f.ice, f.fl, f.fl_T, f.fl_u
    return Cell(
        T, u, dx, rh, rh_u, rh * ps, rh * ps_T, rh_u * ps, w, w_u,
        half * zk * fac, half * zk * fac_T, half * zk_u * fac, rv, rv_T, rv_u,
        r[THETA], r[8 + THETA], r[THERMAL], r[8 + THERMAL], r[MOBILITY], r[8 + MOBILITY],
        fl, fl_T, fl_u, ice, ps, ps_T, heat, heat_T, heat_u,
    )  # fmt: skip


@njit(**INLINE)
def _blank(z):
    """What stands for the cell before the first one."""
    return Cell(
        z, z, z, z, z, z, z, z, z, z, z, z, z, z, z, z,
        z, z, z, z, z, z, z, z, z, z, z, z, z, z, z,
    )  # fmt: skip


# --- surfaces -------------------------------------------------------------------------------------


@njit(**INLINE)
def _half(c):
    """Vapour resistance of a half cell towards a face that no liquid crosses, d/dT, d/du.

    Inside the half cell liquid still moves; as a conductance over vapour pressure it is
    2/dx dTheta/drh / p_sat, beside vapour diffusion.
    """
    per = 2.0 / (c.dx * c.ps)
    k = per * c.mo * c.fl
    k_T = per * c.mo * c.fl_T - k * c.ps_T / c.ps
    k_u = per * (c.mo_u * c.fl + c.mo * c.fl_u)
    x = 1.0 / (1.0 + c.rv * k)
    rr = c.rv * c.rv
    return c.rv * x, x * x * (c.rv_T - rr * k_T), x * x * (c.rv_u - rr * k_u)


@njit(**INLINE)
def _wetness(c, rain, imposed):
    """How far liquid counts in the outer half of a surface cell, with d/dT and d/du.

    1 in rain, for an imposed state and where liquid carries 4 % of what vapour does; 0 below 1 %.
    """
    zero = 0.0 * c.dx
    capillary = c.mo != 0.0
    if imposed != 0:
        return where(capillary, 1.0, zero), zero, zero
    x = 2.0 / (c.dx * c.ps) * c.mo * c.fl * c.rv
    z = most(least((x - 0.01) / 0.03, 1.0), 0.0)
    slope = 6.0 * z * (1.0 - z) / 0.03 * x
    bends = (z > 0.0) & (z < 1.0) & (rain <= 0.0)
    d_T = c.fl_T / c.fl - c.ps_T / c.ps + c.rv_T / c.rv
    d_u = c.mo_u / c.mo + c.fl_u / c.fl + c.rv_u / c.rv
    wet = where(capillary & (rain > 0.0), 1.0, z * z * (3.0 - 2.0 * z))
    return wet, where(bends, slope * d_T, 0.0), where(bends, slope * d_u, 0.0)


@njit(**INLINE)
def _surface(pb, wk, s, i, c):
    """Fluxes into the cell at a surface; see `Surface`."""
    f = i + s
    imposed = pb.flags[IMPOSED_OUT + s]
    sheet = pb.face[f, SHEET_A] >= 0
    R = c.rk + pb.contact[f]
    eps = pb.side[s]
    got = _dry_surface(pb.tab, R, sheet, pb.sheet[f, OUTER], eps, imposed, c, s, wk.b)
    if sheet or not some(c.mo != 0.0):
        return got
    wet, wet_T, wet_u = _wetness(c, wk.b[s, B_RAIN], imposed)
    if not some(wet > 0.0):
        return got
    inner = _wet_surface(pb.tab, pb.cell, i, R, eps, imposed, c, s, wk.b, wk.node, wet > 0.0)
    dry = 1.0 - wet
    return Surface(
        dry * got.e + wet * inner.e,
        dry * got.e_T + wet * inner.e_T + wet_T * (inner.e - got.e),
        dry * got.e_u + wet * inner.e_u + wet_u * (inner.e - got.e),
        dry * got.v + wet * inner.v,
        dry * got.v_T + wet * inner.v_T + wet_T * (inner.v - got.v),
        dry * got.v_u + wet * inner.v_u + wet_u * (inner.v - got.v),
        wet * inner.rain,
        wet * inner.rain_T + wet_T * inner.rain,
        wet * inner.rain_u + wet_u * inner.rain,
        dry * got.T + wet * inner.T,
        dry * got.p + wet * inner.p,
    )


@njit(**INLINE)
def _dry_surface(tab, R, sheet, first, eps, imposed, c, s, b):
    """Surface that vapour alone crosses; evaporation happens in the cell. See `_surface`."""
    Ta, h, p = b[s, B_T], b[s, B_H], b[s, B_P]
    zero = 0.0 * Ta
    per = 1.0 / R
    Ts, Ts_T, Ts_R = Ta, zero, zero
    if imposed == 0:
        Ts = c.T
        drop = h + per
        moves = h == h
        for _ in range(6):
            cube = eps * Ts * Ts * Ts
            now = h + 4.0 * cube + per
            f = (h * (Ta - Ts) + b[s, B_RADIATION] - cube * Ts - (Ts - c.T) * per) / now
            drop = where(moves, now, drop)
            Ts = where(moves, Ts + f, Ts)
            moves = moves & (eps > 0.0) & (abs(f) >= 1e-5)
            if not some(moves):
                break
        Ts_T = per / drop
        Ts_R = (Ts - c.T) * per * Ts_T
    q = (Ts - c.T) * per
    q_R = (Ts_R - q) * per
    Ts_u = Ts_R * c.rk_u
    Ts_T += Ts_R * c.rk_T
    q_T = (Ts_T - 1.0 - q * c.rk_T) * per
    q_u = q_R * c.rk_u
    film = zero if imposed != 0 else 1.0 / b[s, B_BETA]
    half, half_T, half_u = _half(c)
    Rv = film + half
    if sheet:
        mean = 0.5 * (c.rh + least(p / _saturations(tab, Ta), 1.0))
        Z, Z_rh = _sheet(tab, first, mean)
        Rv = film + Z + half
        half_u = half_u + 0.5 * Z_rh * c.rh_u
    y = 1.0 / Rv
    vap = (p - c.pv) * y
    vap_T = -(c.pv_T + vap * half_T) * y
    vap_u = -(c.pv_u + vap * half_u) * y
    hv = L_V + C_VAP * (0.5 * (Ts + c.T) - T0)
    return Surface(
        q + vap * hv,
        q_T + vap_T * hv + vap * C_VAP * 0.5 * (Ts_T + 1.0),
        q_u + vap_u * hv + vap * C_VAP * 0.5 * Ts_u,
        vap, vap_T, vap_u, zero, zero, zero, Ts, p - vap * film,
    )  # fmt: skip


class Wetted(NamedTuple):
    """What holds at a wet surface while its state is sought: its cell, its loads, its limits."""

    block: Any
    beta: Any
    p: Any
    rain: Any
    k: Any
    per_rv: Any
    rh_1: Any
    th_1: Any
    kt_1: Any


@njit(**INLINE)
def _surface_potential(tab, c, m, ratio, lift, ps, guess, open_):
    """Moisture potential of a capillary surface from its water balance; at most free saturation.

    Lanes that are not `open_` keep their guess.
    """
    air = m.beta * m.p + m.rain + c.pv * m.per_rv
    f = (
        air
        - m.rh_1 * ps * (m.beta + m.per_rv)
        - m.k * (ratio * (m.th_1 - c.th) + lift * (m.kt_1 + c.kt))
    )
    soaked = open_ & (f >= 0.0)
    us = where(soaked, 1.0, where(open_, least(guess, 1.0 - 1e-9), guess))
    open_ = open_ & (f < 0.0)
    low, high = 0.0 * us, 0.0 * us + 1.0
    for _ in range(60):
        if not some(open_):
            break
        r = rows_of_8(tab, m.block + CURVES_AT, us, CURVE_ROWS, CURVE_ROWS)
        rise = r[THETA] - c.th
        f = (
            air
            - r[RH] * ps * (m.beta + m.per_rv)
            - m.k * (ratio * rise + lift * (r[THERMAL] + c.kt))
        )
        low, high = where(f > 0.0, us, low), where(f > 0.0, high, us)
        slope = -r[8 + RH] * ps * (m.beta + m.per_rv) - m.k * (
            ratio * r[8 + THETA] + lift * r[8 + THERMAL]
        )
        middle = 0.5 * (low + high)
        new = us - f / slope
        good = (slope < 0.0) & (low < new) & (new < high)
        new = where(good, new, middle)
        moved = abs(new - us)
        us = where(open_, new, us)
        open_ = open_ & (moved >= 1e-10)
    return us


@njit(**OPTIONS)
def _wet_surface(tab, cell, i, R, eps, imposed, c, s, b, node, open_):
    """Capillary surface with a state of its own (temperature, potential); see `Surface`.

    Water: film + rain = vapour + liquid into the cell, at most free saturation (the rest of the
    rain runs off). Heat: film + radiation + latent heat of what changes phase at the surface =
    conduction into the cell. Lanes that are not `open_` give nothing of use.
    """
    Ta, h, T = b[s, B_T], b[s, B_H], c.T
    zero = 0.0 * T
    block, per = cell[i, BLOCK], 1.0 / R
    r = rows_of_8(tab, block + CURVES_AT, zero + 1.0, CURVE_ROWS, CURVE_ROWS)
    k = 2.0 / c.dx * c.fl
    m = Wetted(
        block, b[s, B_BETA], b[s, B_P], b[s, B_RAIN], k, 1.0 / c.rv, r[RH], r[THETA], r[THERMAL]
    )
    Ts = Ta if imposed != 0 else T
    us = 0.5 * c.rh + 0.5 * least(c.w * cell[i, PER_FREE], 1.0)
    ps = ps_T = rh = rh_u = th_u = kt_u = ratio = lift = rise = both = core = gv = gl = zero
    us_s = f1_us = f1_s = zero
    free = open_
    for _ in range(12):
        q = rows_of_4(tab, zero, Ts - T_TABLE_MIN, T_TABLE_INV, T_ROWS - 1)
        ps, ps_T = q[PRESSURE], q[4 + PRESSURE]
        ratio, lift = (0.5 / T_REF) * (T + Ts), 0.5 * (T - Ts)
        if imposed != 0:
            us = _equilibrium(tab, node, block, m.p / ps)
        else:
            us = _surface_potential(tab, c, m, ratio, lift, ps, us, open_)
        r = rows_of_8(tab, block + CURVES_AT, us, CURVE_ROWS, CURVE_ROWS)
        rh, rh_u = r[RH], r[8 + RH]
        th_u, kt_u = r[8 + THETA], r[8 + THERMAL]
        rise, both = r[THETA] - c.th, r[THERMAL] + c.kt
        core = ratio * rise + lift * both
        gv, gl = (rh * ps - c.pv) * m.per_rv, k * core
        if imposed != 0:
            break
        gv_s, gv_us = rh * ps_T * m.per_rv, rh_u * ps * m.per_rv
        gl_s = k * ((0.5 / T_REF) * rise - 0.5 * both)
        gl_us = k * (ratio * th_u + lift * kt_u)
        air, air_s = m.beta * (m.p - rh * ps), -m.beta * rh * ps_T
        air_us = -m.beta * rh_u * ps
        # water balance f2(Ts, us) = 0 where the surface is not saturated
        free = us < 1.0
        us_s = where(free, -(air_s - gv_s - gl_s) / (air_us - gv_us - gl_us), 0.0)
        he = L_V + (C_VAP - C_W) * (Ts - T0)
        cube = eps * Ts * Ts * Ts
        f1 = h * (Ta - Ts) + b[s, B_RADIATION] - cube * Ts + he * (air - gv) - (Ts - T) * per
        f1_us = he * (air_us - gv_us)
        f1_s = he * (air_s - gv_s) + (C_VAP - C_W) * (air - gv) - h - 4.0 * cube - per
        step = -f1 / (f1_s + f1_us * us_s)
        open_ = open_ & (abs(step) >= 1e-9)
        if not some(open_):
            break
        step = most(least(step, 20.0), -20.0)
        Ts = where(open_, Ts + step, Ts)
        us = where(open_ & free, us + us_s * step, us)
    gv_s, gv_us = rh * ps_T * m.per_rv, rh_u * ps * m.per_rv
    gl_s = k * ((0.5 / T_REF) * rise - 0.5 * both)
    gl_us = k * (ratio * th_u + lift * kt_u)
    air, air_s, air_us = m.beta * (m.p - rh * ps), -m.beta * rh * ps_T, -m.beta * rh_u * ps
    gv_T = -(c.pv_T + gv * c.rv_T) * m.per_rv
    gv_u = -(c.pv_u + gv * c.rv_u) * m.per_rv
    per_dx = 2.0 / c.dx
    gl_T = k * ((0.5 / T_REF) * rise + 0.5 * both) + per_dx * c.fl_T * core
    gl_u = k * (lift * c.kt_u - ratio * c.th_u) + per_dx * c.fl_u * core
    q_ = (Ts - T) * per
    Ts_T, Ts_u, us_T, us_u = zero, zero, zero, zero
    if imposed == 0:
        # d(Ts, us)/d(T, u) from the two balances
        own = us_s * f1_us + f1_s
        he = L_V + (C_VAP - C_W) * (Ts - T0)
        f1_T = per + q_ * per * c.rk_T - he * gv_T
        f1_u = q_ * per * c.rk_u - he * gv_u
        f2_us = air_us - gv_us - gl_us
        at_T = where(free, (gv_T + gl_T) / f2_us, 0.0)
        at_u = where(free, (gv_u + gl_u) / f2_us, 0.0)
        Ts_T = -(f1_T + f1_us * at_T) / own
        Ts_u = -(f1_u + f1_us * at_u) / own
        us_T = at_T + us_s * Ts_T
        us_u = at_u + us_s * Ts_u
    q_T = (Ts_T - 1.0 - q_ * c.rk_T) * per
    q_u = (Ts_u - q_ * c.rk_u) * per
    gv_T += gv_s * Ts_T + gv_us * us_T
    gv_u += gv_s * Ts_u + gv_us * us_u
    gl_T += gl_s * Ts_T + gl_us * us_T
    gl_u += gl_s * Ts_u + gl_us * us_u
    theta, theta_T, theta_u = 0.5 * (Ts + T) - T0, 0.5 * (Ts_T + 1.0), 0.5 * Ts_u
    hv, hw = L_V + C_VAP * theta, C_W * theta
    per_K = gv * C_VAP + gl * C_W
    e = q_ + gv * hv + gl * hw
    e_T = q_T + gv_T * hv + gl_T * hw + per_K * theta_T
    e_u = q_u + gv_u * hv + gl_u * hw + per_K * theta_u
    rain, rain_T, rain_u = zero, zero, zero
    if imposed == 0:
        rain = where(free, m.rain, gv + gl - air)
        rain_T = where(free, 0.0, gv_T + gl_T - air_s * Ts_T)
        rain_u = where(free, 0.0, gv_u + gl_u - air_s * Ts_u)
        # rain comes with the temperature of the air
        falls = where(rain > 0.0, C_W, zero)
        warm = falls * (Ta - T0 - theta)
        e += rain * warm
        e_T += rain_T * warm - rain * falls * theta_T
        e_u += rain_u * warm - rain * falls * theta_u
    return Surface(
        e, e_T, e_u, gv + gl - rain, gv_T + gl_T - rain_T, gv_u + gl_u - rain_u,
        rain, rain_T, rain_u, Ts, rh * ps,
    )  # fmt: skip


@njit(**OPTIONS)
def _equilibrium(tab, node, block, rh):
    """Moisture potential at a relative humidity, in lanes."""
    node[0], node[1] = rh, block
    for k in range(width_of(node)):
        dry = max(-math.log(max(min(node[0, k], 1.0), 1e-17)), 1e-8)
        node[0, k], _ = _potential(tab, int(node[1, k]), math.log(dry))
    return node[0]


@njit(**OPTIONS)
def _blown(c, b, s, inflow, got):
    """A surface with air passing: it brings the air's state in, or takes the cell's state out."""
    heat, vap = inflow * (RHO_AIR * C_AIR), inflow * (1.0 / (R_V * T_REF))
    comes = inflow > 0.0
    Ta, p = b[s, B_T], b[s, B_P]
    warm = where(comes, Ta, c.T) - T0
    hv = L_V + C_VAP * warm
    g = vap * where(comes, p, c.pv)
    g_T, g_u = where(comes, 0.0, vap * c.pv_T), where(comes, 0.0, vap * c.pv_u)
    return Surface(
        got.e + heat * warm + g * hv,
        got.e_T + where(comes, 0.0, heat + g * C_VAP) + g_T * hv,
        got.e_u + g_u * hv,
        got.v + g, got.v_T + g_T, got.v_u + g_u,
        got.rain, got.rain_T, got.rain_u, got.T, got.p,
    )  # fmt: skip


# --- inner faces ----------------------------------------------------------------------------------


@njit(**OPTIONS)
def _contact(tab, block_a, block_b, dx_a, dx_b, tha, tha_u, thb, thb_u, ui, uj, k, node):
    """Liquid flow across a capillary contact of two materials, over mean T/T_ref = 1; one lane.

    Each half drops from its own suction to the other's; the two in series. Rows 0-2 of node:
    value, d/du_i, d/du_j.
    """
    node[0, k], node[1, k], node[2, k] = 0.0, 0.0, 0.0
    sa, sa_u = _suction(tab, block_a, ui)
    sb, sb_u = _suction(tab, block_b, uj)
    ua, ua_s = _potential(tab, block_a, sb)
    ub, ub_s = _potential(tab, block_b, sa)
    oa, oa_u = _curve(tab, block_a, THETA, ua)
    ob, ob_u = _curve(tab, block_b, THETA, ub)
    ka, kb = 2.0 / dx_a, 2.0 / dx_b
    fa = ka * (tha - oa)
    fb = kb * (ob - thb)
    fa_i, fa_j = ka * tha_u, -ka * oa_u * ua_s * sb_u
    fb_i, fb_j = kb * ob_u * ub_s * sa_u, -kb * thb_u
    total = fa + fb
    if fa * fb > 0.0 and abs(sa - sb) > 1e-9:
        xa, xb = fb / total, fa / total
        node[0, k] = fa * xa
    else:
        weight = abs(fa_i) + abs(fb_j)
        if weight == 0.0 or fa * fb < 0.0:
            return
        xa = abs(fb_j) / weight
        xb = 1.0 - xa
    node[1, k] = xa * xa * fa_i + xb * xb * fb_i
    node[2, k] = xa * xa * fa_j + xb * xb * fb_j


@njit(**INLINE)
def _upwind(peclet):
    """Weight of the upstream cell by exponential fitting; 1/2 for slow flow."""
    if peclet < 1e-3:
        return 0.5 + peclet / 12.0
    if peclet > 50.0:
        return 1.0 - 1.0 / peclet
    return 0.5 + 0.5 * (1.0 / math.tanh(0.5 * peclet) - 2.0 / peclet)


@njit(**OPTIONS)
def _outer_weight(node, peclet, air):
    """Weight of the outer cell in air that crosses a face, in lanes."""
    node[0] = peclet
    for k in range(width_of(node)):
        node[0, k] = _upwind(node[0, k])
    return where(air > 0.0, node[0], 1.0 - node[0])


@njit(**INLINE)
def _face(pb, wk, f, a, c):
    """Fluxes through an inner face without a gap, from cell a outside to cell c inside."""
    dT = a.T - c.T
    C = 1.0 / (a.rk + c.rk + pb.contact[f])
    h0 = C * dT
    h1 = C - h0 * C * a.rk_T
    h2 = -h0 * C * a.rk_u
    h3 = -C - h0 * C * c.rk_T
    h4 = -h0 * C * c.rk_u
    ra, ra_T, ra_u = a.rv, a.rv_T, a.rv_u
    rc, rc_T, rc_u = c.rv, c.rv_T, c.rv_u
    liquid = pb.face[f, LIQUID]
    Z = 0.0 * dT
    if pb.face[f, KIND] == 1:
        if liquid == 0:
            ra, ra_T, ra_u = _half(a)
            rc, rc_T, rc_u = _half(c)
        if pb.face[f, SHEET_A] >= 0:
            Z, Z_rh = _sheet(pb.tab, pb.sheet[f, OUTER], 0.5 * (a.rh + c.rh))
            ra_u = ra_u + 0.5 * Z_rh * a.rh_u
            rc_u = rc_u + 0.5 * Z_rh * c.rh_u
    V = 1.0 / (ra + rc + Z)
    v0 = V * (a.pv - c.pv)
    v1 = V * (a.pv_T - v0 * ra_T)
    v2 = V * (a.pv_u - v0 * ra_u)
    v3 = V * (-c.pv_T - v0 * rc_T)
    v4 = V * (-c.pv_u - v0 * rc_u)
    theta = 0.5 * (a.T + c.T) - T0
    air = wk.air[0]
    if some(air != 0.0):
        heat, vap = air * (RHO_AIR * C_AIR), air * (1.0 / (R_V * T_REF))
        x = _outer_weight(wk.node, abs(heat) / C, air)
        h0 += heat * (x * a.T + (1.0 - x) * c.T - T0)
        h1 += heat * x
        h3 += heat * (1.0 - x)
        x = vap * _outer_weight(wk.node, abs(vap) / V, air)
        y = vap - x
        v0 += x * a.pv + y * c.pv
        v1 += x * a.pv_T
        v2 += x * a.pv_u
        v3 += y * c.pv_T
        v4 += y * c.pv_u
    hv = L_V + C_VAP * theta
    bend = 0.5 * C_VAP * v0
    q0 = h0 + v0 * hv
    q1 = h1 + v1 * hv + bend
    q2 = h2 + v2 * hv
    q3 = h3 + v3 * hv + bend
    q4 = h4 + v4 * hv
    if liquid != 0:
        fl = a.fl * c.fl
        ratio = (0.5 / T_REF) * (a.T + c.T)
        if liquid == 1:
            inv = 2.0 / (a.dx + c.dx)
            core = (a.th - c.th) * inv
            core_i, core_j = a.th_u * inv, -c.th_u * inv
            km = 0.5 * (a.kt + c.kt) * inv
            km_i, km_j = 0.5 * a.kt_u * inv, 0.5 * c.kt_u * inv
        else:
            node = wk.node
            node[3], node[4], node[5], node[6] = a.th, a.th_u, c.th, c.th_u
            node[7], node[8] = a.u, c.u
            for k in range(width_of(node)):
                _contact(
                    pb.tab, int(pb.cell[f - 1, BLOCK, k]), int(pb.cell[f, BLOCK, k]),
                    pb.cell[f - 1, DX, k], pb.cell[f, DX, k], node[3, k], node[4, k], node[5, k],
                    node[6, k], node[7, k], node[8, k], k, node,
                )  # fmt: skip
            core, core_i, core_j = node[0], node[1], node[2]
            both = 1.0 / (a.dx / a.kt + c.dx / c.kt)
            flows = (a.kt > 0.0) & (c.kt > 0.0)
            km = where(flows, 2.0 * both, 0.0)
            km_i = where(flows, 2.0 * both * both * a.dx / (a.kt * a.kt) * a.kt_u, 0.0)
            km_j = where(flows, 2.0 * both * both * c.dx / (c.kt * c.kt) * c.kt_u, 0.0)
        flow = ratio * core - km * dT
        by_T = (0.5 / T_REF) * core
        l0 = fl * flow
        l1 = fl * (by_T - km) + a.fl_T * c.fl * flow
        l2 = fl * (ratio * core_i - km_i * dT) + a.fl_u * c.fl * flow
        l3 = fl * (by_T + km) + a.fl * c.fl_T * flow
        l4 = fl * (ratio * core_j - km_j * dT) + a.fl * c.fl_u * flow
        hw = C_W * theta
        bend = 0.5 * C_W * l0
        q0 += l0 * hw
        q1 += l1 * hw + bend
        q2 += l2 * hw
        q3 += l3 * hw + bend
        q4 += l4 * hw
        v0 += l0
        v1 += l1
        v2 += l2
        v3 += l3
        v4 += l4
    return Flux(q0, q1, q2, q3, q4, v0, v1, v2, v3, v4)


class GapNodes(NamedTuple):
    """State of a gap: surfaces and air [K], vapour pressure [Pa]; conductances, what air brings."""

    s1: Any
    s2: Any
    air: Any
    pa: Any
    y1: Any
    y2: Any
    Gv: Any
    Z1_rh: Any
    Z2_rh: Any


@njit(**OPTIONS)
def _gap_nodes(pb, f, g, a, c, rate, through, To, po):
    """Temperatures and vapour pressures in a gap; see `_gap` for the network."""
    k1, k2 = 1.0 / a.rk, 1.0 / c.rk
    h = pb.gap[g, H_SIDE]
    r = pb.gap[g, GREY] * (a.T * a.T + c.T * c.T) * (a.T + c.T)
    G = rate * (RHO_AIR * T_REF * C_AIR) / To
    A = abs(through) * (RHO_AIR * C_AIR)
    D = 2.0 * h + G + A
    x = h * h / D
    A1, A2, B = k1 + h + r - x, k2 + h + r - x, r + x
    inward = through > 0.0
    brought = G * To + A * where(inward, a.T, c.T)
    S = h * brought / D
    per = 1.0 / (A1 * A2 - B * B)
    s1 = (A2 * (k1 * a.T + S) + B * (k2 * c.T + S)) * per
    s2 = (A1 * (k2 * c.T + S) + B * (k1 * a.T + S)) * per
    air = (h * (s1 + s2) + brought) / D
    Z1 = Z1_rh = Z2 = Z2_rh = 0.0 * h
    if pb.face[f, SHEET_A] >= 0:
        Z1, Z1_rh = _sheet(pb.tab, pb.sheet[f, OUTER], a.rh)
    if pb.face[f, SHEET_B] >= 0:
        Z2, Z2_rh = _sheet(pb.tab, pb.sheet[f, INNER], c.rh)
    film = 1.0 / pb.gap[g, BETA_SIDE]
    y1 = 1.0 / (film + Z1 + _half(a)[0])
    y2 = 1.0 / (film + Z2 + _half(c)[0])
    Gv = rate / (R_V * To)
    m = abs(through) * (1.0 / (R_V * T_REF))
    pa = (y1 * a.pv + y2 * c.pv + Gv * po + m * where(inward, a.pv, c.pv)) / (y1 + y2 + Gv + m)
    return GapNodes(s1, s2, air, pa, y1, y2, Gv, Z1_rh, Z2_rh)


@njit(**OPTIONS)
def _gap(pb, wk, f, g, a, c, rate, through, To, po):
    """Fluxes at the two faces of a gap with air exchange; the air holds nothing.

    Network: cell a - surface 1 - air - surface 2 - cell c, radiation from surface 1 to 2, air to
    outdoors by exchange; straight-through flow leaves the upstream cell at its state, mixes with
    the air, and enters the downstream cell at the state of the air. Rows of wk.gq: energy leaving
    a, water leaving a, energy entering c, water entering c; columns: value, d/dT_a, d/du_a,
    d/dT_c, d/du_c.
    """
    out = wk.gq
    N = _gap_nodes(pb, f, g, a, c, rate, through, To, po)
    k1, k2 = 1.0 / a.rk, 1.0 / c.rk
    h = pb.gap[g, H_SIDE]
    Ti, Tj = a.T, c.T
    square = Ti * Ti + Tj * Tj
    r = pb.gap[g, GREY] * square * (Ti + Tj)
    r_i = pb.gap[g, GREY] * (2.0 * Ti * (Ti + Tj) + square)
    r_j = pb.gap[g, GREY] * (2.0 * Tj * (Ti + Tj) + square)
    A, m = abs(through) * (RHO_AIR * C_AIR), abs(through) * (1.0 / (R_V * T_REF))
    D = 2.0 * h + rate * (RHO_AIR * T_REF * C_AIR) / To + A
    x = h * h / D
    A1, A2, B = k1 + h + r - x, k2 + h + r - x, r + x
    per = 1.0 / (A1 * A2 - B * B)
    k1_T, k1_u = -k1 * k1 * a.rk_T, -k1 * k1 * a.rk_u
    k2_T, k2_u = -k2 * k2 * c.rk_T, -k2 * k2 * c.rk_u
    q1, q2 = k1 * (Ti - N.s1), k2 * (N.s2 - Tj)
    theta = 0.5 * (Ti + Tj) - T0
    hv = L_V + C_VAP * theta
    d1, d2 = Ti - N.s1, Tj - N.s2
    rad = N.s2 - N.s1
    p1, p2, pa, y1, y2 = a.pv, c.pv, N.pa, N.y1, N.y2
    per_y = 1.0 / (y1 + y2 + N.Gv + m)
    _, r1_T, r1_u = _half(a)
    _, r2_T, r2_u = _half(c)
    g1, g2 = y1 * (p1 - pa), y2 * (pa - p2)
    out[0, 0], out[1, 0] = q1 + g1 * hv, g1
    out[2, 0], out[3, 0] = q2 + g2 * hv, g2
    blows = some(m > 0.0)
    inward = through > 0.0
    sign = where(inward, 1.0, 0.0 * m - 1.0)
    Tu, pu = where(inward, Ti, Tj), where(inward, p1, p2)
    if blows:
        # what leaves the upstream cell, and what enters the downstream one
        _blow(out, 0, sign, inward, A * (Tu - T0) + m * pu * hv, m * pu,
              A * (N.air - T0) + m * pa * hv, m * pa)  # fmt: skip
    zero = 0.0 * h
    for v in range(4):
        e1 = e2 = dk1 = dk2 = own1 = own2 = y1_v = y2_v = p1_v = p2_v = half = zero
        if v == 0:
            e1, e2, dk1, own1 = k1 + k1_T * d1 + r_i * rad, -r_i * rad, k1_T, zero + 1.0
            y1_v, p1_v, half = -y1 * y1 * r1_T, a.pv_T, zero + 0.5 * C_VAP
        elif v == 1:
            e1, dk1 = k1_u * d1, k1_u
            y1_v, p1_v = -y1 * y1 * (r1_u + N.Z1_rh * a.rh_u), a.pv_u
        elif v == 2:
            e1, e2, dk2, own2 = r_j * rad, k2 + k2_T * d2 - r_j * rad, k2_T, zero + 1.0
            y2_v, p2_v, half = -y2 * y2 * r2_T, c.pv_T, zero + 0.5 * C_VAP
        else:
            e2, dk2 = k2_u * d2, k2_u
            y2_v, p2_v = -y2 * y2 * (r2_u + N.Z2_rh * c.rh_u), c.pv_u
        Tu_v = where(inward, own1, own2)
        e1 += h * A / D * Tu_v
        e2 += h * A / D * Tu_v
        s1_v = (A2 * e1 + B * e2) * per
        s2_v = (A1 * e2 + B * e1) * per
        q1_v = dk1 * d1 + k1 * (own1 - s1_v)
        q2_v = k2 * (s2_v - own2) - dk2 * d2
        pu_v = where(inward, p1_v, p2_v)
        pa_v = (y1_v * (p1 - pa) + y1 * p1_v + y2_v * (p2 - pa) + y2 * p2_v + m * pu_v) * per_y
        g1_v = y1_v * (p1 - pa) + y1 * (p1_v - pa_v)
        g2_v = y2_v * (pa - p2) + y2 * (pa_v - p2_v)
        out[0, v + 1] = q1_v + g1_v * hv + g1 * half
        out[1, v + 1] = g1_v
        out[2, v + 1] = q2_v + g2_v * hv + g2 * half
        out[3, v + 1] = g2_v
        if blows:
            mixed_v = (h * (s1_v + s2_v) + A * Tu_v) / D
            _blow(out, v + 1, sign, inward, A * Tu_v + m * pu_v * hv + m * pu * half, m * pu_v,
                  A * mixed_v + m * pa_v * hv + m * pa * half, m * pa_v)  # fmt: skip


@njit(**OPTIONS)
def _blow(out, column, sign, inward, up_e, up_w, down_e, down_w):
    out[0, column] = out[0, column] + sign * where(inward, up_e, down_e)
    out[1, column] = out[1, column] + sign * where(inward, up_w, down_w)
    out[2, column] = out[2, column] + sign * where(inward, down_e, up_e)
    out[3, column] = out[3, column] + sign * where(inward, down_w, up_w)


# --- sources --------------------------------------------------------------------------------------


@njit(**OPTIONS)
def _sources(pb, wk, i, c, drains):
    """What rain leaks, wettings and leaking air bring to cell i, and what drains from it.

    Fills row i of wk.cell_led (`TOOK`, `DRAIN`, `DROP`, `BROUGHT`, each with slopes over T and u).
    """
    zero = 0.0 * c.dx
    theta = c.T - T0
    took, took_u, drain, drain_u = zero, zero, zero, zero
    drop, drop_T, drop_u = zero, zero, zero
    for s in range(pb.source.shape[0]):
        if not pb.source[s, 1] <= i < pb.source[s, 2]:
            continue
        share = wk.source_rate[s] * c.dx / pb.source_length[s]
        if pb.source[s, 0] == 0:
            room = (pb.cell[i, W_CAP] - c.w) * c.dx
            tight = room < share * FILL_TIME
            g = where(tight, most(room, 0.0) * (1.0 / FILL_TIME), share)
            g_u = where(tight & (room > 0.0), c.w_u * c.dx * (-1.0 / FILL_TIME), 0.0)
            took, took_u = took + g, took_u + g_u
            drain, drain_u = drain + (share - g), drain_u - g_u
            wk.led[LEAK, 0] = wk.led[LEAK, 0] + share
        else:
            share = share * (1.0 / (R_V * T_REF))
            room_p = wk.room_p[0]
            wets, dries = room_p > c.ps, room_p < c.pv
            g = where(wets, share * (room_p - c.ps), where(dries, share * (room_p - c.pv), 0.0))
            drop = drop + g
            drop_T = drop_T + where(wets, -share * c.ps_T, where(dries, -share * c.pv_T, 0.0))
            drop_u = drop_u + where(wets, 0.0, where(dries, -share * c.pv_u, 0.0))
    if drains:
        over = c.u > pb.cell[i, CAP]
        g = where(over, (pb.cell[i, W_CAP] - c.w) * c.dx * (1.0 / DRAIN_TIME), 0.0)
        g_u = where(over, c.w_u * c.dx * (-1.0 / DRAIN_TIME), 0.0)
        took, took_u = took + g, took_u + g_u
        drain, drain_u = drain - g, drain_u - g_u
    hw, hv = C_W * theta, L_V + C_VAP * theta
    led = wk.cell_led
    led[i, TOOK], led[i, TOOK + 1], led[i, TOOK + 2] = took, zero, took_u
    led[i, DRAIN], led[i, DRAIN + 1], led[i, DRAIN + 2] = drain, zero, drain_u
    led[i, DROP], led[i, DROP + 1], led[i, DROP + 2] = drop, drop_T, drop_u
    led[i, BROUGHT] = took * hw + drop * hv
    led[i, BROUGHT + 1] = took * C_W + drop_T * hv + drop * C_VAP
    led[i, BROUGHT + 2] = took_u * hw + drop_u * hv


@njit(**OPTIONS)
def _reached(pb, wk, i):
    """Whether a source that runs now reaches cell i."""
    for s in range(pb.source.shape[0]):
        if pb.source[s, 1] <= i < pb.source[s, 2] and some(wk.source_rate[s] != 0.0):
            return True
    return False


# --- the equations --------------------------------------------------------------------------------


@njit(**INLINE)
def _evaluate(pb, wk, T, u, J):
    """Conserved wk.X, D = dX/d(T, u), rates wk.F and their exact block-tridiagonal Jacobian J.

    With J None the compiler leaves out what only serves the Jacobian. J rows hold the blocks to
    cell i-1, i, i+1 (4 numbers each). led rows hold (value, d/dT, d/du of cell 0 or n-1) at the
    surfaces; gap_led (2 gaps, 5) what leaves to outdoors through gaps.
    """
    n = len(T)
    tab, cell, freezing, air = pb.tab, pb.cell, pb.flags[FREEZING], wk.air[0]
    X, D, F, led = wk.X, wk.D, wk.F, wk.led
    blows = some(air != 0.0)
    zero = 0.0 * T[0]
    led[LEAK, 0] = zero
    in_q, in_v, d0, d1, d2, d3 = zero, zero, zero, zero, zero, zero
    a = _blank(zero)
    # one pass: each cell with the face on its outer side; then the rows of the cell before it
    for j in range(n):
        c = _cell(tab, cell, j, freezing, T[j], u[j])
        X[j, 0], X[j, 1] = c.dx * c.heat, c.dx * c.w
        D[j, 0], D[j, 1], D[j, 2], D[j, 3] = c.dx * c.heat_T, c.dx * c.heat_u, zero, c.dx * c.w_u
        i = j - 1
        if j == 0:
            got = _surface(pb, wk, 0, 0, c)
            if blows:
                got = _blown(c, wk.b, 0, air, got)
            _book_surface(led, E_OUT, got)
            in_q, in_v = got.e, got.v + got.rain
            d0, d1, d2, d3 = got.e_T, got.e_u, got.v_T + got.rain_T, got.v_u + got.rain_u
            if J is not None:
                J[0, 0], J[0, 1], J[0, 2], J[0, 3] = zero, zero, zero, zero
        elif pb.face[j, KIND] == 2:
            g, q, gap_led = pb.face[j, GAP_INDEX], wk.gq, wk.gap_led
            _gap(pb, wk, j, g, a, c, wk.gap_rate[g], air, wk.b[0, B_T], wk.b[0, B_P])
            for k in range(5):
                gap_led[2 * g, k] = q[0, k] - q[2, k]
                gap_led[2 * g + 1, k] = q[1, k] - q[3, k]
            F[i, 0], F[i, 1] = in_q - q[0, 0], in_v - q[1, 0]
            if J is not None:
                J[i, 4], J[i, 5] = d0 - q[0, 1], d1 - q[0, 2]
                J[i, 6], J[i, 7] = d2 - q[1, 1], d3 - q[1, 2]
                J[i, 8], J[i, 9], J[i, 10], J[i, 11] = -q[0, 3], -q[0, 4], -q[1, 3], -q[1, 4]
                J[j, 0], J[j, 1], J[j, 2], J[j, 3] = q[2, 1], q[2, 2], q[3, 1], q[3, 2]
            in_q, in_v = q[2, 0], q[3, 0]
            d0, d1, d2, d3 = q[2, 3], q[2, 4], q[3, 3], q[3, 4]
        else:
            x = _face(pb, wk, j, a, c)
            F[i, 0], F[i, 1] = in_q - x.q, in_v - x.v
            if J is not None:
                J[i, 4], J[i, 5], J[i, 6], J[i, 7] = (
                    d0 - x.q_Ti,
                    d1 - x.q_ui,
                    d2 - x.v_Ti,
                    d3 - x.v_ui,
                )
                J[i, 8], J[i, 9], J[i, 10], J[i, 11] = -x.q_Tj, -x.q_uj, -x.v_Tj, -x.v_uj
                J[j, 0], J[j, 1], J[j, 2], J[j, 3] = x.q_Ti, x.q_ui, x.v_Ti, x.v_ui
            in_q, in_v, d0, d1, d2, d3 = x.q, x.v, x.q_Tj, x.q_uj, x.v_Tj, x.v_uj
        drains = some(u[j] > cell[j, CAP])
        wk.dirty[j] = 0
        if drains or _reached(pb, wk, j):
            # booked as if through the outer face of the cell: it adds to the same row
            wk.dirty[j] = 1
            _sources(pb, wk, j, c, drains)
            s = wk.cell_led
            in_q, in_v = in_q + s[j, BROUGHT], in_v + s[j, TOOK] + s[j, DROP]
            d0, d1 = d0 + s[j, BROUGHT + 1], d1 + s[j, BROUGHT + 2]
            d2, d3 = d2 + s[j, DROP + 1], d3 + s[j, TOOK + 2] + s[j, DROP + 2]
        a = c
    i = n - 1
    got = _surface(pb, wk, 1, i, a)
    if blows:
        got = _blown(a, wk.b, 1, -air, got)
    _book_surface(led, E_IN, got)
    F[i, 0], F[i, 1] = in_q + got.e, in_v + got.v + got.rain
    if J is not None:
        J[i, 4], J[i, 5] = d0 + got.e_T, d1 + got.e_u
        J[i, 6], J[i, 7] = d2 + got.v_T + got.rain_T, d3 + got.v_u + got.rain_u
        J[i, 8], J[i, 9], J[i, 10], J[i, 11] = zero, zero, zero, zero


@njit(**OPTIONS)
def _book_surface(led, row, got):
    led[row, 0], led[row, 1], led[row, 2] = got.e, got.e_T, got.e_u
    led[row + 1, 0], led[row + 1, 1], led[row + 1, 2] = got.v, got.v_T, got.v_u
    led[row + 2, 0], led[row + 2, 1], led[row + 2, 2] = got.rain, got.rain_T, got.rain_u


# --- linear algebra -------------------------------------------------------------------------------


@njit(**INLINE)
def _fold(wk, gdt, i, behind, ahead, w, y):
    """Eliminate cell i from the row ahead of it, with the cell behind it gone already.

    behind, ahead: columns of the blocks in J. w = D^-1 U and y of the cell behind; returns its own.
    """
    w0, w1, w2, w3 = w
    y0, y1 = y
    base, X, F, D, J, Dinv, Wm = wk.base, wk.X, wk.F, wk.D, wk.J, wk.Dinv, wk.Wm
    l0, l1 = -gdt * J[i, behind], -gdt * J[i, behind + 1]
    l2, l3 = -gdt * J[i, behind + 2], -gdt * J[i, behind + 3]
    a = D[i, 0] - gdt * J[i, 4] - (l0 * w0 + l1 * w2)
    b = D[i, 1] - gdt * J[i, 5] - (l0 * w1 + l1 * w3)
    c = D[i, 2] - gdt * J[i, 6] - (l2 * w0 + l3 * w2)
    d = D[i, 3] - gdt * J[i, 7] - (l2 * w1 + l3 * w3)
    r0 = base[i, 0] + gdt * F[i, 0] - X[i, 0] - (l0 * y0 + l1 * y1)
    r1 = base[i, 1] + gdt * F[i, 1] - X[i, 1] - (l2 * y0 + l3 * y1)
    inv = 1.0 / (a * d - b * c)
    ia, ib, ic, id_ = d * inv, -b * inv, -c * inv, a * inv
    Dinv[i, 0], Dinv[i, 1], Dinv[i, 2], Dinv[i, 3] = ia, ib, ic, id_
    u0, u1 = -gdt * J[i, ahead], -gdt * J[i, ahead + 1]
    u2, u3 = -gdt * J[i, ahead + 2], -gdt * J[i, ahead + 3]
    w0, w1, w2, w3 = ia * u0 + ib * u2, ia * u1 + ib * u3, ic * u0 + id_ * u2, ic * u1 + id_ * u3
    Wm[i, 0], Wm[i, 1], Wm[i, 2], Wm[i, 3] = w0, w1, w2, w3
    y0, y1 = ia * r0 + ib * r1, ic * r0 + id_ * r1
    wk.y[i, 0], wk.y[i, 1] = y0, y1
    return (w0, w1, w2, w3), (y0, y1)


@njit(**INLINE)
def _eliminate(wk, gdt):
    """LU of D - gdt J and y = (D - gdt J)^-1 (base + gdt F - X), block tridiagonal, 2x2 blocks.

    From both ends to the middle: two chains of operations that do not wait for each other.
    """
    base, X, F, D, J, Dinv = wk.base, wk.X, wk.F, wk.D, wk.J, wk.Dinv
    n = len(wk.y)
    m = n // 2
    z = 0.0 * gdt
    w, y = (z, z, z, z), (z, z)
    v, x = w, y
    for k in range(m):
        w, y = _fold(wk, gdt, k, 0, 8, w, y)
        if k < n - 1 - m:
            v, x = _fold(wk, gdt, n - 1 - k, 8, 0, v, x)
    l0, l1, l2, l3 = -gdt * J[m, 0], -gdt * J[m, 1], -gdt * J[m, 2], -gdt * J[m, 3]
    u0, u1, u2, u3 = -gdt * J[m, 8], -gdt * J[m, 9], -gdt * J[m, 10], -gdt * J[m, 11]
    a = D[m, 0] - gdt * J[m, 4] - (l0 * w[0] + l1 * w[2]) - (u0 * v[0] + u1 * v[2])
    b = D[m, 1] - gdt * J[m, 5] - (l0 * w[1] + l1 * w[3]) - (u0 * v[1] + u1 * v[3])
    c = D[m, 2] - gdt * J[m, 6] - (l2 * w[0] + l3 * w[2]) - (u2 * v[0] + u3 * v[2])
    d = D[m, 3] - gdt * J[m, 7] - (l2 * w[1] + l3 * w[3]) - (u2 * v[1] + u3 * v[3])
    inv = 1.0 / (a * d - b * c)
    Dinv[m, 0], Dinv[m, 1], Dinv[m, 2], Dinv[m, 3] = d * inv, -b * inv, -c * inv, a * inv
    r0 = base[m, 0] + gdt * F[m, 0] - X[m, 0] - (l0 * y[0] + l1 * y[1]) - (u0 * x[0] + u1 * x[1])
    r1 = base[m, 1] + gdt * F[m, 1] - X[m, 1] - (l2 * y[0] + l3 * y[1]) - (u2 * x[0] + u3 * x[1])
    _outward(wk, m, r0, r1)


@njit(**INLINE)
def _outward(wk, m, r0, r1):
    """Solve for the middle cell m and substitute from there to both ends."""
    Dinv, Wm, y = wk.Dinv, wk.Wm, wk.y
    n = len(y)
    y0, y1 = Dinv[m, 0] * r0 + Dinv[m, 1] * r1, Dinv[m, 2] * r0 + Dinv[m, 3] * r1
    y[m, 0], y[m, 1] = y0, y1
    x0, x1 = y0, y1
    for i in range(m - 1, -1, -1):
        y0, y1 = (
            y[i, 0] - (Wm[i, 0] * y0 + Wm[i, 1] * y1),
            y[i, 1] - (Wm[i, 2] * y0 + Wm[i, 3] * y1),
        )
        y[i, 0], y[i, 1] = y0, y1
        j = 2 * m - i
        if j < n:
            x0, x1 = (
                y[j, 0] - (Wm[j, 0] * x0 + Wm[j, 1] * x1),
                y[j, 1] - (Wm[j, 2] * x0 + Wm[j, 3] * x1),
            )
            y[j, 0], y[j, 1] = x0, x1


@njit(**INLINE)
def _inward(wk, gdt, i, behind, y):
    """Forward substitution in cell i, with y of the cell behind it; returns its own."""
    J, Dinv, r = wk.J, wk.Dinv, wk.r
    r0 = r[i, 0] + gdt * (J[i, behind] * y[0] + J[i, behind + 1] * y[1])
    r1 = r[i, 1] + gdt * (J[i, behind + 2] * y[0] + J[i, behind + 3] * y[1])
    y0, y1 = Dinv[i, 0] * r0 + Dinv[i, 1] * r1, Dinv[i, 2] * r0 + Dinv[i, 3] * r1
    wk.y[i, 0], wk.y[i, 1] = y0, y1
    return y0, y1


@njit(**INLINE)
def _solve(wk, gdt):
    """Solve with the stored LU: y = (D - gdt J)^-1 r."""
    J, r = wk.J, wk.r
    n = len(r)
    m = n // 2
    zero = 0.0 * gdt
    y, x = (zero, zero), (zero, zero)
    for k in range(m):
        y = _inward(wk, gdt, k, 0, y)
        if k < n - 1 - m:
            x = _inward(wk, gdt, n - 1 - k, 8, x)
    r0 = J[m, 0] * y[0] + J[m, 1] * y[1] + J[m, 8] * x[0] + J[m, 9] * x[1]
    r1 = J[m, 2] * y[0] + J[m, 3] * y[1] + J[m, 10] * x[0] + J[m, 11] * x[1]
    _outward(wk, m, r[m, 0] + gdt * r0, r[m, 1] + gdt * r1)


@njit(**INLINE)
def _measure(wk, per_T, per_u):
    """Sizes of the Newton updates, and whether storage bends on their way, into rows of wk.at.

    Where a cell freezes or thaws, heat bends by the latent heat within a part of a kelvin
    (`ROUGH`). Where it saturates, water bends at u = 1 (`BENDS`).
    """
    T, u, y, at = wk.T, wk.u, wk.y, wk.at
    zero = 0.0 * T[0]
    top_T, top_u, total = zero, zero, zero
    rough = zero != zero
    bends = rough
    for i in range(len(T)):
        dT, du = y[i, 0], y[i, 1]
        size_T, size_u = abs(dT), abs(du)
        top_T, top_u = most(top_T, size_T), most(top_u, size_u)
        total += size_T * per_T + size_u * per_u
        new = T[i] + dT
        cold = (least(T[i], new) < T0) & (most(T[i], new) > T0 - 1.0)
        rough = rough | (cold & (size_T > FREEZING_CLOSE))
        bends = bends | ((u[i] - 1.0) * (u[i] + du - 1.0) < 0.0)
    at[TOP_T], at[TOP_U], at[TOTAL] = top_T, top_u, total
    at[ROUGH], at[BENDS] = where(rough, 1.0, zero), where(bends, 1.0, zero)


# --- the march ------------------------------------------------------------------------------------


@njit(**INLINE)
def _loads_at(ld, wk, k, hour, x):
    """Surface loads of lane k at the fraction x of an hour: instants linear, means constant."""
    for s in range(2):
        for c in range(4):
            lo = ld.instant[k, hour, s, c]
            wk.b[s, c, k] = lo + x * (ld.instant[k, hour + 1, s, c] - lo)
        wk.b[s, B_RADIATION, k] = ld.mean[k, hour, s, M_RADIATION]
        wk.b[s, B_RAIN, k] = ld.mean[k, hour, s, M_RAIN]
    lo = ld.source_instant[k, hour]
    wk.room_p[0, k] = lo + x * (ld.source_instant[k, hour + 1] - lo)


@njit(**OPTIONS)
def _hour_loads(ld, wk, k, hour):
    """Loads of lane k that hold for a whole hour: sources and air through the wall."""
    wk.air[0, k] = ld.air[k, hour]
    for s in range(len(wk.source_rate)):
        wk.source_rate[s, k] = ld.source[k, hour, s]


@njit(**OPTIONS)
def _gap_rates(pb, ld, wk, st):
    """Air flow through each gap in the hour [m³/(s·m²)]: given, or from wind and buoyancy.

    Openings: V = Cd A / sqrt(2) sqrt(2 dp / rho) per metre width over the height between them, dp
    from wind 0.5 rho Cp v² and from the density difference of gap and outdoor air, both thermal and
    by vapour (virtual temperature). The gap state is that at the start of the hour. Lanes in the
    mode `HOUR_END` get their flow.
    """
    at, node, width = wk.at, wk.node, width_of(wk.at)
    for f in range(1, len(st.T)):
        if pb.face[f, KIND] != 2:
            continue
        g = pb.face[f, GAP_INDEX]
        for k in range(width):
            hour = int(at[HOUR, k])
            node[0, k] = ld.instant[k, hour, 0, B_T]
            node[1, k] = ld.instant[k, hour, 0, B_P]
            node[2, k] = ld.gap_rate[k, hour, g]
        rate = node[2]
        if pb.flags[OPENINGS] != 0:
            To, po = node[0], node[1]
            tab, freezing = pb.tab, pb.flags[FREEZING]
            a = _cell(tab, pb.cell, f - 1, freezing, st.T[f - 1], st.u[f - 1])
            c = _cell(tab, pb.cell, f, freezing, st.T[f], st.u[f])
            N = _gap_nodes(pb, f, g, a, c, st.memory[4 + g], wk.air[0], To, po)
            light_o = To * (1.0 + 0.378 / 101325.0 * po)
            light_g = N.air * (1.0 + 0.378 / 101325.0 * N.pa)
            tall = pb.gap[g, HEIGHT]
            node[3] = RHO_AIR * G_EARTH * tall * (light_g - light_o) / light_g
            for k in range(width):
                speed = ld.wind[k, int(at[HOUR, k])]
                dp = abs(node[3, k] + 0.5 * RHO_AIR * pb.gap[g, WIND, k] * speed**2)
                node[3, k] = math.sqrt(dp / RHO_AIR)
            given = rate
            opening = pb.gap[g, OPENING]
            rate = where(opening > 0.0, opening * node[3] / tall, given)
        mine = at[MODE] == HOUR_END
        wk.gap_rate[g] = where(mine, rate, wk.gap_rate[g])
        st.memory[4 + g] = where(mine, rate, st.memory[4 + g])


@njit(**OPTIONS)
def _onset(now, before):
    """Jump of water or air in kelvin of a surface: 20 K for a shower or a leak that starts. [K]"""
    change = abs(now - before)
    return 20.0 * change / (change + 2e-5)


@njit(**OPTIONS)
def _after_jump(ld, k, hour, max_step, sensitivity):
    """First step of an hour by how far its means jump from those of the hour before. [s]

    Radiation counts as the change of surface temperature it would bring; rain as its onset or end.
    """
    worst = 0.0
    for s in range(2):
        jump = abs(ld.mean[k, hour, s, M_RADIATION] - ld.mean[k, hour - 1, s, M_RADIATION])
        worst = max(worst, jump / (ld.instant[k, hour, s, B_H] + 1.0))
        worst = max(worst, _onset(ld.mean[k, hour, s, M_RAIN], ld.mean[k, hour - 1, s, M_RAIN]))
    for i in range(ld.source.shape[2]):
        worst = max(worst, _onset(ld.source[k, hour, i], ld.source[k, hour - 1, i]))
    return max_step / (1.0 + math.sqrt(worst * sensitivity))


@njit(**INLINE)
def _decide(wk, st, control, k):
    """What lane k does with its Newton update: go on, close its stage, or give the step up.

    On closing, X follows linearly from the last iterate, so that the sum over cells balances the
    ledger to round-off.
    """
    at = wk.at
    count = at[COUNT, k]
    size = max(at[TOP_T, k] / control[NEWTON_T], at[TOP_U, k] / control[NEWTON_U])
    close, before, relax = control[NEWTON_CLOSE], at[BEFORE, k], at[RELAX, k]
    if not at[TOTAL, k] < 1e9:
        return LOST
    # Newton leaves about bend * size^2; bend is learnt from pairs of full updates
    bend = st.memory[1, k]
    if count > 0.0 and relax == 1.0 and before > close:
        bend = min(max(0.8 * bend, size / (before * before)), 10.0)
    near = size < close
    bent = relax == 1.0 and size < 10.0 and bend * size * size < close
    if (near or (bent and at[BENDS, k] == 0.0)) and at[ROUGH, k] == 0.0:
        st.memory[1, k] = 1.02 * bend if count == 0.0 else bend
        return FIRST if at[STAGE, k] == 0.0 else SECOND
    st.memory[1, k] = bend
    at[COUNT, k] = count + 1.0
    return GO if count + 1.0 < control[NEWTON_LIMIT] else LOST


@njit(**INLINE)
def _go_on(wk):
    """Damped updates of lanes that go on iterating."""
    at, y = wk.at, wk.y
    going, relax = at[MODE] == GO, at[RELAX]
    for i in range(len(wk.T)):
        T, u = wk.T[i], wk.u[i]
        dT = most(least(relax * y[i, 0], 25.0), -25.0)
        du = most(least(relax * y[i, 1], 0.3), -0.3)
        wk.T[i] = where(going, most(least(T + dT, T_HIGH), T_LOW), T)
        wk.u[i] = where(going, most(most(u + du, 0.1 * u), U_MIN), u)


@njit(**INLINE)
def _close_first(wk, st):
    """Lanes that close their first stage: X1, and from it the base and the guess of the second."""
    y, X, D = wk.y, wk.X, wk.D
    first = wk.at[MODE] == FIRST
    carry, ahead = (1.0 - GAMMA) / GAMMA, 1.0 / GAMMA
    for i in range(len(wk.T)):
        dT, du = y[i, 0], y[i, 1]
        X0 = X[i, 0] + (D[i, 0] * dT + D[i, 1] * du)
        X1 = X[i, 1] + D[i, 3] * du
        wk.X1[i, 0], wk.X1[i, 1] = where(first, X0, wk.X1[i, 0]), where(first, X1, wk.X1[i, 1])
        s0, s1 = st.X[i, 0], st.X[i, 1]
        wk.base[i, 0] = where(first, s0 + carry * (X0 - s0), wk.base[i, 0])
        wk.base[i, 1] = where(first, s1 + carry * (X1 - s1), wk.base[i, 1])
        T, u, sT, su = wk.T[i], wk.u[i], st.T[i], st.u[i]
        guess = most(su + ahead * (most(u + du, U_MIN) - su), 0.5 * su)
        wk.T[i] = where(first, sT + ahead * (T + dT - sT), T)
        wk.u[i] = where(first, guess, u)


@njit(**INLINE)
def _close_second(wk, st):
    """Lanes that close their second stage: the new state, and in r the residual of its error."""
    y, X, D = wk.y, wk.X, wk.D
    second = wk.at[MODE] == SECOND
    for i in range(len(wk.T)):
        dT, du = y[i, 0], y[i, 1]
        X0 = X[i, 0] + (D[i, 0] * dT + D[i, 1] * du)
        X1 = X[i, 1] + D[i, 3] * du
        wk.X2[i, 0], wk.X2[i, 1] = X0, X1
        wk.r[i, 0] = (X0 - wk.base[i, 0]) - (wk.X1[i, 0] - st.X[i, 0])
        wk.r[i, 1] = (X1 - wk.base[i, 1]) - (wk.X1[i, 1] - st.X[i, 1])
        T, u = wk.T[i], wk.u[i]
        wk.T[i] = where(second, T + dT, T)
        wk.u[i] = where(second, most(u + du, U_MIN), u)


@njit(**INLINE)
def _damp(wk, control, k):
    """Damping of the next iteration of lane k, by how the updates shrink."""
    at = wk.at
    top_T, top_u, relax = at[TOP_T, k], at[TOP_U, k], at[RELAX, k]
    size = max(top_T / control[NEWTON_T], top_u / control[NEWTON_U])
    if relax * top_T <= 25.0 and relax * top_u <= 0.3:
        shrinks = size <= 0.7 * at[BEFORE, k]
        at[RELAX, k] = min(1.0, 2.0 * relax) if shrinks else max(0.25, 0.5 * relax)
    at[BEFORE, k] = size


@njit(**INLINE)
def _stage_ledger(pb, wk):
    """Ledger of a stage: values at the last iterate plus their linear change by the last update."""
    y, out, led = wk.y, wk.stage_led, wk.led
    n = len(y)
    for e in range(6):
        c = 0 if e < 3 else n - 1
        out[e] = led[e, 0] + led[e, 1] * y[c, 0] + led[e, 2] * y[c, 1]
    zero = 0.0 * y[0, 0]
    for e in range(6, len(out)):
        out[e] = zero
    for f in range(1, n):
        if pb.face[f, KIND] == 2:
            for r in range(2):
                g = 2 * pb.face[f, GAP_INDEX] + r
                q = wk.gap_led
                out[FIXED + g] = (
                    q[g, 0]
                    + q[g, 1] * y[f - 1, 0]
                    + q[g, 2] * y[f - 1, 1]
                    + q[g, 3] * y[f, 0]
                    + q[g, 4] * y[f, 1]
                )
    out[LEAK] = led[LEAK, 0]
    per_layer = FIXED + 2 * len(wk.gap_rate)
    for i in range(n):
        if wk.dirty[i] == 0:
            continue
        s, dT, du = wk.cell_led, y[i, 0], y[i, 1]
        took = s[i, TOOK] + s[i, TOOK + 1] * dT + s[i, TOOK + 2] * du
        drain = s[i, DRAIN] + s[i, DRAIN + 1] * dT + s[i, DRAIN + 2] * du
        drop = s[i, DROP] + s[i, DROP + 1] * dT + s[i, DROP + 2] * du
        e = s[i, BROUGHT] + s[i, BROUGHT + 1] * dT + s[i, BROUGHT + 2] * du
        row = per_layer + 2 * pb.layer[i]
        out[DRAINED] = out[DRAINED] + drain
        out[AIR_DROP] = out[AIR_DROP] + drop
        out[row] = out[row] + e
        out[row + 1] = out[row + 1] + (took + drop)


@njit(**INLINE)
def _book_stage(wk):
    """Add the ledger of the stages that close to the ledger of their step, by their weights."""
    at = wk.at
    first, second = at[MODE] == FIRST, at[MODE] == SECOND
    gdt = at[GDT]
    rest = at[STEP] - gdt
    for e in range(len(wk.step_led)):
        value, so_far = wk.stage_led[e], wk.step_led[e]
        wk.step_led[e] = where(first, rest * value, where(second, so_far + gdt * value, so_far))


@njit(**INLINE)
def _estimate(wk, per_T, per_u):
    """Error of steps whose second stage has closed, in units of the tolerance, in at[ERROR_SUM].

    The embedded first-order result, gdt (F2 - F1), seen through the stage matrix.
    """
    at, y = wk.at, wk.y
    _solve(wk, at[GDT])
    n = len(y)
    total = 0.0 * at[GDT]
    worst = total
    for i in range(n):
        eT = y[i, 0] * per_T
        # a cell that holds next to nothing follows its neighbours; its own swing is no error
        eu = y[i, 1] * per_u * least(wk.D[i, 3] * (1.0 / NEGLIGIBLE_STORAGE), 1.0)
        e = eT * eT + eu * eu
        total += e
        worst = most(worst, e)
    at[ERROR_SUM] = 0.5 * (total / n) + 0.02 * worst


@njit(**INLINE)
def _judge(wk, control, counters, where_, k):
    """Take or repeat the step of lane k, or begin it again; gives the mode and the next step."""
    at = wk.at
    step = at[STEP, k]
    mode = LOST
    if at[MODE, k] == LOST:
        counters[3, k] += 1.0
        at[NEXT, k] = 0.25 * step
    else:
        err = math.sqrt(at[ERROR_SUM, k])
        if not err < 1e30:
            counters[3, k] += 1.0
            at[NEXT, k] = 0.25 * step
        elif err > control[REJECT]:
            counters[1, k] += 1.0
            at[NEXT, k] = step * max(0.2, 0.85 * err**-0.5)
        else:
            counters[0, k] += 1.0
            at[NEXT, k] = step * min(max(0.85 * max(err, 1e-6) ** -0.5, 0.3), 4.0)
            mode = TAKEN
    if mode == LOST and at[NEXT, k] < control[MIN_STEP]:
        worst, cell = 0.0, 0
        for i in range(len(wk.y)):
            e = max(abs(wk.y[i, 0, k]) / control[STEP_T], abs(wk.y[i, 1, k]) / control[STEP_U])
            if not e <= worst:
                worst, cell = e, i
        where_[0, k], where_[1, k], where_[2, k] = at[HOUR, k], at[TIME, k], cell
        where_[3, k], where_[4, k] = at[NEXT, k], worst
        at[STATUS, k] = STEP_TOO_SMALL
        mode = IDLE
    return mode


@njit(**INLINE)
def _take(wk, st):
    """The new state of lanes that have taken their step."""
    taken, step = wk.at[MODE] == TAKEN, wk.at[STEP]
    per = 1.0 / step
    for i in range(len(wk.T)):
        T, u = wk.T[i], wk.u[i]
        st.slope[i, 0] = where(taken, (T - st.T[i]) * per, st.slope[i, 0])
        st.slope[i, 1] = where(taken, (u - st.u[i]) * per, st.slope[i, 1])
        st.T[i], st.u[i] = where(taken, T, st.T[i]), where(taken, u, st.u[i])
        st.X[i, 0] = where(taken, wk.X2[i, 0], st.X[i, 0])
        st.X[i, 1] = where(taken, wk.X2[i, 1], st.X[i, 1])
    for e in range(len(wk.step_led)):
        led = wk.hour_led[e]
        wk.hour_led[e] = where(taken, led + wk.step_led[e], led)


@njit(**OPTIONS)
def _settle(pb, wk, st, last):
    """Bring T and u to the carried X cell by cell, in lanes that have ended hour `last` - 1.

    They differ by what Newton left open.
    """
    mine = (wk.at[MODE] == HOUR_END) & (wk.at[HOUR] == last - 1.0)
    for _ in range(SETTLE):
        for i in range(len(st.T)):
            T, u = st.T[i], st.u[i]
            c = _cell(pb.tab, pb.cell, i, pb.flags[FREEZING], T, u)
            du = (st.X[i, 1] - c.dx * c.w) / (c.dx * c.w_u)
            du = most(least(du, 1e-3), -1e-3)
            dT = (st.X[i, 0] - c.dx * c.heat - c.dx * c.heat_u * du) / (c.dx * c.heat_T)
            st.u[i] = where(mine, most(u + du, U_MIN), u)
            st.T[i] = where(mine, T + dT, T)


@njit(**OPTIONS)
def _start(pb, ld, wk, st, control):
    """The next step of lanes that need one: its length, its loads, the guess of its first stage."""
    at, width = wk.at, width_of(wk.at)
    hour_starts = False
    for k in range(width):
        hour_starts = hour_starts or at[MODE, k] == HOUR_END
    if hour_starts:
        for k in range(width):
            if at[MODE, k] == HOUR_END:
                _hour_loads(ld, wk, k, int(at[HOUR, k]))
        _gap_rates(pb, ld, wk, st)
    for k in range(width):
        mode, hour = at[MODE, k], int(at[HOUR, k])
        if mode == HOUR_END:
            at[TIME, k] = 0.0
            if hour > 0:
                jump = _after_jump(ld, k, hour, control[MAX_STEP], control[JUMP])
                at[NEXT, k] = min(at[NEXT, k], jump)
        if mode in (HOUR_END, TAKEN, LOST):
            rest = 3600.0 - at[TIME, k]
            count = math.ceil(rest / min(at[NEXT, k], control[MAX_STEP]) - 1e-9)
            step = rest / count
            at[STEP, k], at[GDT, k], at[STAGE, k] = step, GAMMA * step, 0.0
            at[COUNT, k], at[BEFORE, k], at[RELAX, k] = 0.0, 1e30, 1.0
            _loads_at(ld, wk, k, hour, (at[TIME, k] + GAMMA * step) / 3600.0)
    begins = (at[MODE] == HOUR_END) | (at[MODE] == TAKEN) | (at[MODE] == LOST)
    gdt = at[GDT]
    for i in range(len(wk.T)):
        T, u = st.T[i], st.u[i]
        wk.T[i] = where(begins, T + gdt * st.slope[i, 0], wk.T[i])
        wk.u[i] = where(begins, most(u + gdt * st.slope[i, 1], 0.5 * u), wk.u[i])
        wk.base[i, 0] = where(begins, st.X[i, 0], wk.base[i, 0])
        wk.base[i, 1] = where(begins, st.X[i, 1], wk.base[i, 1])
    for k in range(width):
        if at[MODE, k] != IDLE:
            at[MODE, k] = GO


@njit(**OPTIONS)
def march(pb, ld, first, last, st, wk, control, out_T, out_u, out_led, out_grate, counters, where_):
    """March the lanes through hours first..last-1; two-stage steps (SDIRK of order 2).

    gamma = 1 - 1/sqrt(2). Stage 1: X1 = X0 + gdt F1. Stage 2: X2 = X0 + (1 - gamma) dt F1 + gdt F2
    (Alexander 1977, from memory). Each turn of the loop makes one Newton update in every lane,
    wherever in its steps the lane is.

    Lanes whose wk.at[MODE] is `IDLE` rest; the others start at `first`. Row (h - first) n + i of
    out_T, out_u holds the end of hour h, of out_led [J/m², kg/m²] and out_grate that hour.
    counters: accepted steps, rejected steps, evaluations, failed stages. where_: hour, second,
    cell, step [s], size of the last change, of lanes that end with another status than `OK`.
    """
    at, width = wk.at, width_of(wk.at)
    per_T, per_u = 1.0 / control[NEWTON_T], 1.0 / control[NEWTON_U]
    busy = 0
    for k in range(width):
        at[HOUR, k], at[NEXT, k], at[STATUS, k] = first, st.memory[0, k], OK
        if at[MODE, k] != IDLE:
            at[MODE, k] = HOUR_END
            busy += 1
    for e in range(len(wk.hour_led)):
        wk.hour_led[e] = 0.0 * wk.hour_led[e]
    _start(pb, ld, wk, st, control)
    while busy > 0:
        _evaluate(pb, wk, wk.T, wk.u, wk.J)
        _eliminate(wk, at[GDT])
        _measure(wk, per_T, per_u)
        going, first_, second, lost = False, False, False, False
        for k in range(width):
            if at[MODE, k] == GO:
                counters[2, k] += 1.0
                mode = _decide(wk, st, control, k)
                at[MODE, k] = mode
                going, first_ = going or mode == GO, first_ or mode == FIRST
                second, lost = second or mode == SECOND, lost or mode == LOST
        if first_ or second:
            _stage_ledger(pb, wk)
            _book_stage(wk)
        if going:
            _go_on(wk)
        if first_:
            _close_first(wk, st)
        if second:
            _close_second(wk, st)
        for k in range(width):
            if at[MODE, k] == GO:
                _damp(wk, control, k)
            elif at[MODE, k] == FIRST:
                at[MODE, k], at[STAGE, k] = GO, 1.0
                at[COUNT, k], at[BEFORE, k], at[RELAX, k] = 0.0, 1e30, 1.0
                _loads_at(ld, wk, k, int(at[HOUR, k]), (at[TIME, k] + at[STEP, k]) / 3600.0)
        if not (second or lost):
            continue
        if second:
            _estimate(wk, 1.0 / control[STEP_T], 1.0 / control[STEP_U])
        for k in range(width):
            if at[MODE, k] in (SECOND, LOST):
                mode = _judge(wk, control, counters, where_, k)
                at[MODE, k] = mode
                if mode == IDLE:
                    busy -= 1
        _take(wk, st)
        ended, finished = False, False
        for k in range(width):
            if at[MODE, k] == TAKEN:
                at[TIME, k] += at[STEP, k]
                if at[TIME, k] >= 3600.0 - 1e-6:
                    at[MODE, k] = HOUR_END
                    at[NEXT, k] = min(at[NEXT, k], 4.0 * control[MAX_STEP])
                    ended = True
                    finished = finished or at[HOUR, k] == last - 1.0
        if finished:
            _settle(pb, wk, st, last)
        if ended:
            for k in range(width):
                if at[MODE, k] == HOUR_END:
                    row = int(at[HOUR, k]) - first
                    _write_hour(wk, st, k, row, out_T, out_u, out_led, out_grate)
                    at[HOUR, k] += 1.0
                    if at[HOUR, k] >= last:
                        st.memory[0, k] = at[NEXT, k]
                        at[HOUR, k] = last - 1.0
                        at[MODE, k] = IDLE
                        busy -= 1
        _start(pb, ld, wk, st, control)


@njit(**INLINE)
def _write_hour(wk, st, k, row, out_T, out_u, out_led, out_grate):
    """Lane k at the end of an hour."""
    n, entries, gaps = len(st.T), len(wk.hour_led), len(wk.gap_rate)
    for i in range(n):
        out_T[row * n + i, k], out_u[row * n + i, k] = st.T[i, k], st.u[i, k]
    for e in range(entries):
        out_led[row * entries + e, k] = wk.hour_led[e, k]
        wk.hour_led[e, k] = 0.0
    for g in range(gaps):
        out_grate[row * gaps + g, k] = wk.gap_rate[g, k]


# --- what the record wants to know ----------------------------------------------------------------


@njit(**OPTIONS)
def report(pb, ld, first, hours, wk, T, u, grate, faces, rh, w, ice, T_if, p_if, gap_T, gap_p):
    """Curves and interfaces at the instants of some hours from their states T, u.

    Row r n + i of T, u, rh, w, ice is cell i at instant r = 0..hours; row (r F + m) 2 + side of
    T_if, p_if the side of interface m; row r G + g of grate, gap_T, gap_p gap g in hour r.
    """
    n, gaps, count = len(pb.cell), len(wk.gap_rate), faces.shape[0]
    tab, freezing = pb.tab, pb.flags[FREEZING]
    for r in range(hours + 1):
        hour = first + max(r - 1, 0)
        past = max(r - 1, 0)
        for k in range(width_of(T)):
            _loads_at(ld, wk, k, hour, 1.0 if r > 0 else 0.0)
            _hour_loads(ld, wk, k, hour)
        m = 0
        a = _blank(0.0 * T[0])
        for j in range(n):
            row = r * n + j
            c = _cell(tab, pb.cell, j, freezing, T[row], u[row])
            rh[row], w[row], ice[row] = least(c.rh, 1.0), c.w, c.ice
            if m < count and faces[m] == j:
                at = (r * count + m) * 2
                if j == 0:
                    _surface_sides(pb, wk, 0, 0, c, at, T_if, p_if)
                elif pb.face[j, KIND] == 2:
                    g = pb.face[j, GAP_INDEX]
                    N = _gap_nodes(
                        pb, j, g, a, c, grate[past * gaps + g], wk.air[0], wk.b[0, B_T],
                        wk.b[0, B_P],
                    )  # fmt: skip
                    film = 1.0 / pb.gap[g, BETA_SIDE]
                    T_if[at], T_if[at + 1] = N.s1, N.s2
                    p_if[at] = N.pa + N.y1 * (a.pv - N.pa) * film
                    p_if[at + 1] = N.pa + N.y2 * (c.pv - N.pa) * film
                    if r > 0:
                        gap_T[past * gaps + g], gap_p[past * gaps + g] = N.air, N.pa
                else:
                    _sides(pb, j, a, c, at, T_if, p_if)
                _cap(tab, at, T_if, p_if)
                m += 1
            a = c
        at = (r * count + m) * 2
        _surface_sides(pb, wk, 1, n - 1, a, at, T_if, p_if)
        _cap(tab, at, T_if, p_if)


@njit(**OPTIONS)
def _surface_sides(pb, wk, s, i, c, at, T_if, p_if):
    """Both sides of the surface; they differ by a sheet that lies there."""
    got = _surface(pb, wk, s, i, c)
    T_if[at + s], p_if[at + s] = got.T, got.p
    share = c.rk / (c.rk + pb.contact[i + s])
    T_if[at + 1 - s] = c.T + (got.T - c.T) * share
    p_if[at + 1 - s] = got.p
    if pb.face[i + s, SHEET_A] >= 0:
        p_if[at + 1 - s] = c.pv + got.v * _half(c)[0]


@njit(**OPTIONS)
def _sides(pb, f, a, c, at, T_if, p_if):
    """Both sides of an interface without a gap."""
    q = (a.T - c.T) / (a.rk + c.rk + pb.contact[f])
    T_if[at], T_if[at + 1] = a.T - q * a.rk, c.T + q * c.rk
    ra, rc, Z = a.rv, c.rv, 0.0 * q
    if pb.face[f, LIQUID] == 0:
        ra, rc = _half(a)[0], _half(c)[0]
    if pb.face[f, SHEET_A] >= 0:
        Z, _ = _sheet(pb.tab, pb.sheet[f, OUTER], 0.5 * (a.rh + c.rh))
    v = (a.pv - c.pv) / (ra + rc + Z)
    p_if[at], p_if[at + 1] = a.pv - v * ra, c.pv + v * rc


@njit(**OPTIONS)
def _cap(tab, at, T_if, p_if):
    """No surface holds more than saturation: what is beyond has condensed or fills pores."""
    for s in range(2):
        p_if[at + s] = least(p_if[at + s], _saturations(tab, T_if[at + s]))


@njit(**OPTIONS)
def contents(pb, T, u, X):
    """Conserved quantities of all cells at a state."""
    for i in range(len(T)):
        c = _cell(pb.tab, pb.cell, i, pb.flags[FREEZING], T[i], u[i])
        X[i, 0], X[i, 1] = c.dx * c.heat, c.dx * c.w


@njit(**OPTIONS)
def curves(pb, T, u, rh, w):
    """Relative humidity and water of all cells at states that stand one after another."""
    n = len(pb.cell)
    for row in range(len(T)):
        c = _cell(pb.tab, pb.cell, row % n, 0, T[row], u[row])
        rh[row], w[row] = c.rh, c.w


@njit(**OPTIONS)
def rates(pb, ld, hour, x, T, u, gap_rate, wk, dT, du):
    """dT/dt and du/dt of the semi-discrete equations at the fraction x of an hour; one lane."""
    _hour_loads(ld, wk, 0, hour)
    _loads_at(ld, wk, 0, hour, x)
    for g in range(gap_rate.shape[0]):
        wk.gap_rate[g, 0] = gap_rate[g]
    _evaluate(pb, wk, T, u, None)
    for i in range(len(T)):
        du[i] = wk.F[i, 1, 0] / wk.D[i, 3, 0]
        dT[i] = (wk.F[i, 0, 0] - wk.D[i, 1, 0] * du[i]) / wk.D[i, 0, 0]
