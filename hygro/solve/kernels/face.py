"""Fluxes through a face between two cells."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from hygro.constants import AIR_DENSITY as RHO_AIR
from hygro.constants import GAS_CONSTANT_VAPOUR as R_V
from hygro.constants import HEAT_CAPACITY_AIR as C_AIR
from hygro.constants import HEAT_CAPACITY_VAPOUR as C_VAP
from hygro.constants import HEAT_CAPACITY_WATER as C_W
from hygro.constants import HEAT_OF_EVAPORATION as L_V
from hygro.constants import REFERENCE_TEMPERATURE as T_REF
from hygro.constants import ZERO_CELSIUS as T0
from hygro.solve.kernels.arrays import BLOCK, DX, KIND, LIQUID, OUTER, SHEET_A
from hygro.solve.kernels.cell import half_cell
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.layout import THETA
from hygro.solve.kernels.lookup import curve_at, potential_at, sheet_at, suction_at
from hygro.solve.lanes import some, where, width_of


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


@compiled
def contact_flow(tab, block_a, block_b, dx_a, dx_b, tha, tha_u, thb, thb_u, ui, uj, k, node):
    """Liquid flow across a capillary contact of two materials, over mean T/T_ref = 1; one lane.

    Each half drops from its own suction to the other's; the two in series. Rows 0-2 of node:
    value, d/du_i, d/du_j.
    """
    node[0, k], node[1, k], node[2, k] = 0.0, 0.0, 0.0
    sa, sa_u = suction_at(tab, block_a, ui)
    sb, sb_u = suction_at(tab, block_b, uj)
    ua, ua_s = potential_at(tab, block_a, sb)
    ub, ub_s = potential_at(tab, block_b, sa)
    oa, oa_u = curve_at(tab, block_a, THETA, ua)
    ob, ob_u = curve_at(tab, block_b, THETA, ub)
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


@inlined
def upwind(peclet):
    """Weight of the upstream cell by exponential fitting; 1/2 for slow flow."""
    if peclet < 1e-3:
        return 0.5 + peclet / 12.0
    if peclet > 50.0:
        return 1.0 - 1.0 / peclet
    return 0.5 + 0.5 * (1.0 / math.tanh(0.5 * peclet) - 2.0 / peclet)


@compiled
def outer_weight(node, peclet, air):
    """Weight of the outer cell in air that crosses a face, in lanes."""
    node[0] = peclet
    for k in range(width_of(node)):
        node[0, k] = upwind(node[0, k])
    return where(air > 0.0, node[0], 1.0 - node[0])


@inlined
def face_flux(pb, wk, f, a, c):
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
            ra, ra_T, ra_u = half_cell(a)
            rc, rc_T, rc_u = half_cell(c)
        if pb.face[f, SHEET_A] >= 0:
            Z, Z_rh = sheet_at(pb.tab, pb.sheet[f, OUTER], 0.5 * (a.rh + c.rh))
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
        x = outer_weight(wk.node, abs(heat) / C, air)
        h0 += heat * (x * a.T + (1.0 - x) * c.T - T0)
        h1 += heat * x
        h3 += heat * (1.0 - x)
        x = vap * outer_weight(wk.node, abs(vap) / V, air)
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
                contact_flow(
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
