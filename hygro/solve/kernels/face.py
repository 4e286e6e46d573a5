"""Fluxes through a face between two cells."""

from __future__ import annotations

import math
from typing import NamedTuple

from hygro.constants import GAS_CONSTANT_VAPOUR as R_V
from hygro.constants import HEAT_CAPACITY_AIR as C_AIR
from hygro.constants import HEAT_CAPACITY_VAPOUR as C_VAP
from hygro.constants import HEAT_CAPACITY_WATER as C_W
from hygro.constants import HEAT_OF_EVAPORATION as L_V
from hygro.constants import REFERENCE_TEMPERATURE as T_REF
from hygro.constants import ZERO_CELSIUS as T0
from hygro.solve.control import NEARLY_FULL
from hygro.solve.dual import chain, value
from hygro.solve.kernels.arrays import CONTACT, DRY, LIQUID, MIXED, OUTER, SHEET_A
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.contact import contact_flow, contact_thermal
from hygro.solve.kernels.half import Half, either, halves_across, intake
from hygro.solve.kernels.lookup import sheet_at
from hygro.solve.lanes import Number, least, most, some, where, width_of


class Flux(NamedTuple):
    """Energy q [W/m²] and water v [kg/(m²·s)] through a face, inward, with slopes."""

    q: Number
    v: Number


@inlined
def upwind(peclet):
    """Weight of the upstream cell by exponential fitting, and its slope; 1/2 for slow flow."""
    if peclet < 1e-3:
        return 0.5 + peclet / 12.0, 1.0 / 12.0
    if peclet > 50.0:
        return 1.0 - 1.0 / peclet, 1.0 / (peclet * peclet)
    half = 0.5 / math.sinh(0.5 * peclet)
    weight = 0.5 + 0.5 * (1.0 / math.tanh(0.5 * peclet) - 2.0 / peclet)
    return weight, 1.0 / (peclet * peclet) - half * half


@compiled
def outer_weight(node, peclet, air):
    """Weight of the outer cell in air that crosses a face."""
    node[0] = value(peclet)
    for k in range(width_of(node)):
        node[0, k], node[1, k] = upwind(node[0, k])
    upstream = chain(node[0], node[1], peclet)
    return where(air > 0.0, upstream, 1.0 - upstream)


@inlined
def vapour_way(pb, f, a, c):
    """Half cell a, the sheet that stands between, half cell c; see `half`."""
    Z = 0.0 * a.dx
    x, y = Half(a.pv, a.dx, a.pv, a.rv), Half(c.pv, c.dx, c.pv, c.rv)
    if pb.face[f, SHEET_A] != 0:
        Z = sheet_at(pb.tab, pb.sheet[f, OUTER], 0.5 * (a.rh + c.rh))
    if pb.face[f, DRY] != 0:
        plain_a, plain_c = x, y
        x, y = halves_across(pb, f, a, c, Z)
        if pb.face[f, MIXED] != 0:
            dry = pb.own[f, DRY] != 0.0
            x, y = either(dry, x, plain_a), either(dry, y, plain_c)
    return x, Z, y


@inlined
def vapour_across(pb, f, x, Z, y, a, c):
    """Vapour through a face, as much as either side takes in; see `intake`. [kg/(m²·s)]"""
    v = (x.drive - y.drive) / (x.r + Z + y.r)
    if pb.face[f, DRY] != 0:
        full = (x.p > NEARLY_FULL * a.ps) | (y.p > NEARLY_FULL * c.ps)
        full = full & (pb.own[f, DRY] != 0.0)
        if some(full):
            v = where(full, least(most(v, -intake(pb, f - 1, a)), intake(pb, f, c)), v)
    return v


@inlined
def liquid_flow(pb, wk, f, a, c):
    """Liquid over the Kirchhoff potential, less what the gradient of temperature drives back.

    g_l = f_l [(T_a + T_c)/(2 T_ref) (Theta_a - Theta_c) - (k_a + k_c)/2 (T_a - T_c)] / dx   (6)
    """
    dT = a.T - c.T
    per = 2.0 / (a.dx + c.dx)
    core, thermal = (a.th - c.th) * per, 0.5 * (a.kt + c.kt) * per
    if pb.face[f, CONTACT] != 0:
        two = pb.own[f, CONTACT] != 0.0
        core = where(two, contact_flow(pb, wk.node, f, a, c), core)
        thermal = where(two, contact_thermal(a, c), thermal)
    flow = (0.5 / T_REF) * (a.T + c.T) * core - thermal * dT
    if some((a.fl != 1.0) | (c.fl != 1.0)):
        flow = a.fl * c.fl * flow
    return flow


@inlined
def face_flux(pb, wk, f, a, c):
    """Fluxes through an inner face without a gap, from cell a outside to cell c inside.

        q = (T_a - T_c) / (r_a + r_c + R) + g_v (L_v + c_v theta) + g_l c_w theta                (7)
        g_v = (p_a - p_c) / (r_va + r_vc + Z)                                                    (5)

    theta is the mean temperature in °C. Air that crosses takes heat and vapour of the upstream cell
    with the weight of `upwind`.
    """
    R = a.rk + c.rk + pb.contact[f]
    heat = (a.T - c.T) / R
    x, Z, y = vapour_way(pb, f, a, c)
    vapour = vapour_across(pb, f, x, Z, y, a, c)
    theta = 0.5 * (a.T + c.T) - T0
    air = wk.air[0]
    if some(air != 0.0):
        by_heat, by_vapour = air * pb.air_density[0] * C_AIR, air * (1.0 / (R_V * T_REF))
        share = outer_weight(wk.node, abs(by_heat) * R, air)
        heat += by_heat * (share * a.T + (1.0 - share) * c.T - T0)
        share = outer_weight(wk.node, abs(by_vapour) * (a.rv + Z + c.rv), air)
        vapour += by_vapour * (share * a.pv + (1.0 - share) * c.pv)
    energy, water = heat + vapour * (L_V + C_VAP * theta), vapour
    if pb.face[f, LIQUID] != 0:
        liquid = liquid_flow(pb, wk, f, a, c)
        if pb.face[f, MIXED] != 0:
            liquid = where(pb.own[f, LIQUID] != 0.0, liquid, 0.0)
        energy += liquid * (C_W * theta)
        water += liquid
    return Flux(energy, water)
