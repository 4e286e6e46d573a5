"""Fluxes at the two faces of an air gap."""

from __future__ import annotations

from typing import Any, NamedTuple

from hygro.constants import AIR_DENSITY as RHO_AIR
from hygro.constants import GAS_CONSTANT_VAPOUR as R_V
from hygro.constants import HEAT_CAPACITY_AIR as C_AIR
from hygro.constants import HEAT_CAPACITY_VAPOUR as C_VAP
from hygro.constants import HEAT_OF_EVAPORATION as L_V
from hygro.constants import REFERENCE_TEMPERATURE as T_REF
from hygro.constants import ZERO_CELSIUS as T0
from hygro.solve.kernels.arrays import (
    BETA_SIDE,
    GREY,
    H_SIDE,
    INNER,
    OUTER,
    SHEET_A,
    SHEET_B,
)
from hygro.solve.kernels.cell import half_cell
from hygro.solve.kernels.compiler import compiled
from hygro.solve.kernels.lookup import sheet_at
from hygro.solve.lanes import some, where


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


@compiled
def gap_nodes(pb, f, g, a, c, rate, through, To, po):
    """Temperatures and vapour pressures in a gap; see `gap_flux` for the network."""
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
        Z1, Z1_rh = sheet_at(pb.tab, pb.sheet[f, OUTER], a.rh)
    if pb.face[f, SHEET_B] >= 0:
        Z2, Z2_rh = sheet_at(pb.tab, pb.sheet[f, INNER], c.rh)
    film = 1.0 / pb.gap[g, BETA_SIDE]
    y1 = 1.0 / (film + Z1 + half_cell(a)[0])
    y2 = 1.0 / (film + Z2 + half_cell(c)[0])
    Gv = rate / (R_V * To)
    m = abs(through) * (1.0 / (R_V * T_REF))
    pa = (y1 * a.pv + y2 * c.pv + Gv * po + m * where(inward, a.pv, c.pv)) / (y1 + y2 + Gv + m)
    return GapNodes(s1, s2, air, pa, y1, y2, Gv, Z1_rh, Z2_rh)


@compiled
def gap_flux(pb, wk, f, g, a, c, rate, through, To, po):
    """Fluxes at the two faces of a gap with air exchange; the air holds nothing.

    Network: cell a - surface 1 - air - surface 2 - cell c, radiation from surface 1 to 2, air to
    outdoors by exchange; straight-through flow leaves the upstream cell at its state, mixes with
    the air, and enters the downstream cell at the state of the air. Rows of wk.gq: energy leaving
    a, water leaving a, energy entering c, water entering c; columns: value, d/dT_a, d/du_a,
    d/dT_c, d/du_c.
    """
    out = wk.gq
    N = gap_nodes(pb, f, g, a, c, rate, through, To, po)
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
    _, r1_T, r1_u = half_cell(a)
    _, r2_T, r2_u = half_cell(c)
    g1, g2 = y1 * (p1 - pa), y2 * (pa - p2)
    out[0, 0], out[1, 0] = q1 + g1 * hv, g1
    out[2, 0], out[3, 0] = q2 + g2 * hv, g2
    blows = some(m > 0.0)
    inward = through > 0.0
    sign = where(inward, 1.0, 0.0 * m - 1.0)
    Tu, pu = where(inward, Ti, Tj), where(inward, p1, p2)
    if blows:
        # what leaves the upstream cell, and what enters the downstream one
        blow(out, 0, sign, inward, A * (Tu - T0) + m * pu * hv, m * pu,
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
            blow(out, v + 1, sign, inward, A * Tu_v + m * pu_v * hv + m * pu * half, m * pu_v,
                  A * mixed_v + m * pa_v * hv + m * pa * half, m * pa_v)  # fmt: skip


@compiled
def blow(out, column, sign, inward, up_e, up_w, down_e, down_w):
    """Add what straight-through flow takes out of the upstream cell and brings to the other."""
    out[0, column] = out[0, column] + sign * where(inward, up_e, down_e)
    out[1, column] = out[1, column] + sign * where(inward, up_w, down_w)
    out[2, column] = out[2, column] + sign * where(inward, down_e, up_e)
    out[3, column] = out[3, column] + sign * where(inward, down_w, up_w)
