"""Properties of a cell at its temperature and moisture potential, ice included."""

from __future__ import annotations

from typing import NamedTuple

from hygro.constants import HEAT_CAPACITY_ICE as C_ICE
from hygro.constants import HEAT_CAPACITY_WATER as C_W
from hygro.constants import HEAT_OF_FUSION as L_F
from hygro.constants import ZERO_CELSIUS as T0
from hygro.solve.dual import chain, value
from hygro.solve.kernels.arrays import BLOCK, DX, LEAST_R, PER_MAX, RHO_C, W_FREE, WAY, WAY_ON
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
    OVER_WATER,
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
from hygro.solve.kernels.unknowns import of_T, of_u, outside
from hygro.solve.lanes import (
    Number,
    least,
    most,
    place_in_4,
    place_in_8,
    read_4,
    read_8,
    row_of_1,
    some,
    where,
)


class Cell(NamedTuple):
    """Properties of a cell, with their slopes.

    T [K], u [1], dx [m]; rh [1], vapour pressure pv [Pa], water w [kg/m³]; resistance from the
    node to the outer face (`inner_side`: the inner) to heat rk [m²·K/W] and vapour rv
    [m²·s·Pa/kg]; liquid potential th [kg/(m·s)], thermal liquid coefficient kt, liquid mobility mo
    over rh, share of liquid that moves fl; ice [kg/m³], saturation pressure ps [Pa], vapour
    pressure per rh ph [Pa], enthalpy heat [J/m³].
    """

    T: Number
    u: Number
    dx: Number
    rh: Number
    pv: Number
    w: Number
    rk: Number
    rv: Number
    th: Number
    kt: Number
    mo: Number
    fl: Number
    ice: Number
    ps: Number
    ph: Number
    heat: Number


@inlined
def unfrozen(tab, block, T):
    """Water that stays liquid in the pores. [kg/m³]"""
    r = row_of_1(tab, block + UNFROZEN_AT, value(T) - ICE_MIN, ICE_INV, ICE_ROWS - 1)
    return chain(r[0], r[1], T)


@inlined
def rounding(w_free, held):
    """How far the onset of freezing is rounded: no more than what stays liquid. [kg/m³]"""
    return least(FREEZING_ROUND * w_free, most(held, 1e-6 * w_free))


@compiled
def frozen(w_free, per_max, held, T, u, w):
    """Ice [kg/m³], share of liquid that moves, rise of the vapour resistance; none above 0 °C.

    w_ice = max(0, min(w, w_free) - w_unfrozen(T)) + frozen share of (w - w_free)  (3)
    """
    base = where(u > 1.0, w_free, w)
    excess = w - base
    d, eps = base - held, rounding(w_free, held)
    s = most(least(0.5 + 0.5 * d / eps, 1.0), 0.0)
    z = least((T0 - T) * (1.0 / FREEZING_RANGE), 1.0)
    ice = least(where(d < eps, s * s * eps, d), base) + excess * (z * z * (3.0 - 2.0 * z))
    ice = where(T < T0, ice, 0.0)
    free = 1.0 - ice / most(w, 1e-300)
    open_ = most(1.0 - 0.99 * per_max * ice, 0.01)
    return ice, free * free, 1.0 / open_


@inlined
def ice_of(tab, cell, i, T, u, w):
    """Ice of cell i at a state, values without slopes. [kg/m³]"""
    held = unfrozen(tab, cell[i, BLOCK], T)
    return frozen(cell[i, W_FREE], cell[i, PER_MAX], held, T, u, w)[0]


@inlined
def pressure_per_rh(rh, over_ice, over_water, T):
    """Vapour pressure over pore water per rh: p = min(rh p_water, p_ice) below 0 °C (2). [Pa]

    Where it would be above that of ice, the water freezes; see `frozen`.
    """
    liquid = rh * over_water < over_ice
    return where(T < T0, where(liquid, over_water, over_ice / most(rh, 1e-9)), over_ice)


@inlined
def cell_of(tab, cell, i, freezing, T, u):
    """Properties of cell i at a state, with the slopes that T and u have; see `Cell`."""
    return cell_there(tab, cell, i, freezing, T, u, places(tab, cell, i, value(T), value(u)))


@inlined
def places(tab, cell, i, T, u):
    """Where the curves of cell i stand in the tables at a state: over u, over T."""
    block = cell[i, BLOCK]
    return (
        place_in_8(tab, block + CURVES_AT, u, CURVE_ROWS, CURVE_ROWS),
        place_in_4(tab, block, T - T_TABLE_MIN, T_TABLE_INV, T_ROWS - 1),
    )


@inlined
def cell_there(tab, cell, i, freezing, T, u, at):
    """Properties of cell i at a state whose places in the tables are known; see `Cell`."""
    dx, block = cell[i, DX], cell[i, BLOCK]
    r = read_8(tab, at[0][0], at[0][1], CURVE_ROWS)
    q = read_4(tab, at[1][0], at[1][1], T_TABLE_INV)
    rh, w = chain(r[RH], r[8 + RH], u), chain(r[W], r[8 + W], u)
    theta = T - T0
    heat = (cell[i, RHO_C] + w * C_W) * theta
    way = cell[i, WAY]
    # water beyond full pores, as frost at a face, conducts no better
    rk = way * most(chain(r[HEAT_RESISTIVITY], r[8 + HEAT_RESISTIVITY], u), cell[i, LEAST_R])
    rk = rk * chain(q[FACTOR], q[4 + FACTOR], T)
    law = chain(q[LAW], q[4 + LAW], T)
    ps = chain(q[PRESSURE], q[4 + PRESSURE], T)
    ice, fl, ph = 0.0 * dx, 0.0 * dx + 1.0, ps
    cold = T < T0
    if freezing != 0 and some(cold):
        ph = pressure_per_rh(rh, ps, chain(q[OVER_WATER], q[4 + OVER_WATER], T), T)
        w_free, held = cell[i, W_FREE], unfrozen(tab, block, T)
        # a little before the rounded onset: there the formula gives no ice
        if some(cold & ((u > 1.0) | (w > held - 1.01 * rounding(w_free, held)))):
            ice, fl, shut = frozen(w_free, cell[i, PER_MAX], held, T, u, w)
            heat -= ice * (L_F + (C_W - C_ICE) * theta)
            law = law * shut
    rv = way * chain(r[RESISTIVITY], r[8 + RESISTIVITY], u) * law
    return Cell(
        T, u, dx, rh, rh * ph, w, rk, rv, chain(r[THETA], r[8 + THETA], u),
        chain(r[THERMAL], r[8 + THERMAL], u), chain(r[MOBILITY], r[8 + MOBILITY], u),
        fl, ice, ps, ph, heat,
    )  # fmt: skip


@inlined
def cell_at(tab, cell, i, freezing, temperature, potential):
    """Properties of cell i at a state, with slopes over both; see `Cell`."""
    return cell_of(tab, cell, i, freezing, of_T(temperature), of_u(potential))


@compiled
def a_cell(tab, cell, i, freezing, temperature, potential):
    """The same, not inlined: where it is called seldom."""
    return cell_at(tab, cell, i, freezing, temperature, potential)


@compiled
def stored_cell(tab, cell, i, freezing, temperature, potential):
    """A cell of the record: with slopes over u alone, which faces are sought by."""
    return cell_of(tab, cell, i, freezing, temperature, of_u(potential))


@inlined
def inner_side(cell, i, c):
    """Cell i with the resistances from its node to its inner face."""
    on = cell[i, WAY_ON]
    return Cell(
        c.T, c.u, c.dx, c.rh, c.pv, c.w, c.rk * on, c.rv * on, c.th, c.kt, c.mo, c.fl, c.ice, c.ps,
        c.ph, c.heat,
    )  # fmt: skip


@inlined
def as_outside(c):
    """The cell when the one inside of it is under work."""
    return Cell(
        outside(c.T), outside(c.u), c.dx, outside(c.rh), outside(c.pv), outside(c.w),
        outside(c.rk), outside(c.rv), outside(c.th), outside(c.kt), outside(c.mo), outside(c.fl),
        outside(c.ice), outside(c.ps), outside(c.ph),  outside(c.heat),
    )  # fmt: skip


@inlined
def values_of(c):
    """The cell without slopes."""
    return Cell(
        value(c.T), value(c.u), c.dx, value(c.rh), value(c.pv), value(c.w),
        value(c.rk), value(c.rv), value(c.th), value(c.kt), value(c.mo), value(c.fl),
        value(c.ice), value(c.ps), value(c.ph),  value(c.heat),
    )  # fmt: skip
