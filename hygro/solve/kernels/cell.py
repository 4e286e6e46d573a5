"""Properties of a cell at its temperature and moisture potential, ice included."""

from __future__ import annotations

from typing import Any, NamedTuple

from hygro.constants import HEAT_CAPACITY_ICE as C_ICE
from hygro.constants import HEAT_CAPACITY_WATER as C_W
from hygro.constants import HEAT_OF_FUSION as L_F
from hygro.constants import ZERO_CELSIUS as T0
from hygro.solve.kernels.arrays import BLOCK, DX, PER_FREE, PER_MAX, RHO_C, W_FREE
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.layout import (
    CURVE_ROWS,
    CURVES_AT,
    FACTOR,
    FREEZING_RANGE,
    FREEZING_ROUND,
    HEAT_RESISTIVITY,
    ICE_INV,
    ICE_MIN,
    ICE_ROWS,
    LAW,
    MOBILITY,
    PRESSURE,
    RESISTIVITY,
    RH,
    T_ROWS,
    T_TABLE_INV,
    T_TABLE_MIN,
    THERMAL,
    THETA,
    UNFROZEN_AT,
    W,
)
from hygro.solve.lanes import least, most, row_of_1, rows_of_4, rows_of_8, some, where


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


@compiled
def frozen(tab, block, w_free, per_free, per_max, T, u, w, w_u):
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


@inlined
def cell_at(tab, cell, i, freezing, T, u):
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
        f = frozen(tab, block, cell[i, W_FREE], cell[i, PER_FREE], cell[i, PER_MAX], T, u, w, w_u)
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


@inlined
def blank(z):
    """What stands for the cell before the first one."""
    return Cell(
        z, z, z, z, z, z, z, z, z, z, z, z, z, z, z, z,
        z, z, z, z, z, z, z, z, z, z, z, z, z, z, z,
    )  # fmt: skip


@inlined
def half_cell(c):
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
