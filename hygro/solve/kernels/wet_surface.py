"""A capillary surface that has a state of its own: evaporation, rain, run-off."""

from __future__ import annotations

from typing import Any, NamedTuple

from hygro.constants import HEAT_CAPACITY_VAPOUR as C_VAP
from hygro.constants import HEAT_CAPACITY_WATER as C_W
from hygro.constants import HEAT_OF_EVAPORATION as L_V
from hygro.constants import REFERENCE_TEMPERATURE as T_REF
from hygro.constants import ZERO_CELSIUS as T0
from hygro.solve.control import (
    POTENTIAL_CLOSE,
    POTENTIAL_TURNS,
    SURFACE_CLOSE,
    SURFACE_STEP,
    SURFACE_TURNS,
)
from hygro.solve.kernels.arrays import B_BETA, B_H, B_P, B_RADIATION, B_RAIN, B_T, BLOCK, PER_FREE
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.dry_surface import Surface
from hygro.solve.kernels.layout import (
    CURVE_ROWS,
    CURVES_AT,
    PRESSURE,
    RH,
    T_ROWS,
    T_TABLE_INV,
    T_TABLE_MIN,
    THERMAL,
    THETA,
)
from hygro.solve.kernels.lookup import equilibrium
from hygro.solve.lanes import least, most, rows_of_4, rows_of_8, some, where


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


@inlined
def surface_potential(tab, c, m, ratio, lift, ps, guess, open_):
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
    for _ in range(POTENTIAL_TURNS):
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
        open_ = open_ & (moved >= POTENTIAL_CLOSE)
    return us


@compiled
def wet_surface(tab, cell, i, R, eps, imposed, c, s, b, node, open_):
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
    for _ in range(SURFACE_TURNS):
        q = rows_of_4(tab, zero, Ts - T_TABLE_MIN, T_TABLE_INV, T_ROWS - 1)
        ps, ps_T = q[PRESSURE], q[4 + PRESSURE]
        ratio, lift = (0.5 / T_REF) * (T + Ts), 0.5 * (T - Ts)
        if imposed != 0:
            us = equilibrium(tab, node, block, m.p / ps)
        else:
            us = surface_potential(tab, c, m, ratio, lift, ps, us, open_)
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
        open_ = open_ & (abs(step) >= SURFACE_CLOSE)
        if not some(open_):
            break
        step = most(least(step, SURFACE_STEP), -SURFACE_STEP)
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
