"""Fluxes at the two faces of an air gap, and the state of its air."""

from __future__ import annotations

from typing import NamedTuple

from hygro.constants import GAS_CONSTANT_VAPOUR as R_V
from hygro.constants import HEAT_CAPACITY_AIR as C_AIR
from hygro.constants import HEAT_CAPACITY_VAPOUR as C_VAP
from hygro.constants import HEAT_OF_EVAPORATION as L_V
from hygro.constants import REFERENCE_TEMPERATURE as T_REF
from hygro.constants import ZERO_CELSIUS as T0
from hygro.solve.control import HALF_TURNS
from hygro.solve.dual import value
from hygro.solve.kernels.arrays import BETA_SIDE, GREY, H_SIDE, INNER, OUTER, SHEET_A, SHEET_B
from hygro.solve.kernels.cell import values_of
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.half import half_about, like_cell, moved
from hygro.solve.kernels.lookup import sheet_at
from hygro.solve.kernels.unknowns import over_T, over_Ta, over_u, over_ua
from hygro.solve.lanes import Number, some, where


class GapNodes(NamedTuple):
    """State of a gap, with slopes: surfaces and air [K], vapour pressure [Pa], ways to its air."""

    s1: Number
    s2: Number
    air: Number
    pa: Number
    y1: Number
    y2: Number
    half1: Number
    half2: Number


class GapFlux(NamedTuple):
    """Energy and water that leave cell a, and that enter cell c."""

    qa: Number
    va: Number
    qc: Number
    vc: Number


@inlined
def gap_nodes(pb, f, g, a, c, rate, through, To, po):
    """Temperatures and vapour pressures in a gap with air exchange; the air holds nothing.

    Network (16): cell a - surface 1 - air - surface 2 - cell c, radiation from surface 1 to 2, air
    to outdoors by exchange; straight-through flow leaves the upstream cell at its state and mixes
    with the air.
    """
    k1, k2 = 1.0 / a.rk, 1.0 / c.rk
    h = pb.gap[g, H_SIDE]
    radiation = pb.gap[g, GREY] * (a.T * a.T + c.T * c.T) * (a.T + c.T)
    exchange = rate * pb.air_density[0] * (T_REF * C_AIR) / To
    crosses = abs(through) * pb.air_density[0] * C_AIR
    inward = through > 0.0
    D = 2.0 * h + exchange + crosses
    x = h * h / D
    brought = exchange * To + crosses * where(inward, a.T, c.T)
    A1, A2, B = k1 + h - x + radiation, k2 + h - x + radiation, x + radiation
    E1, E2 = k1 * a.T + h / D * brought, k2 * c.T + h / D * brought
    per = 1.0 / (A1 * A2 - B * B)
    s1, s2 = (A2 * E1 + B * E2) * per, (A1 * E2 + B * E1) * per
    air = (h * (s1 + s2) + brought) / D
    Z1 = Z2 = 0.0 * h
    if pb.face[f, SHEET_A] != 0:
        Z1 = sheet_at(pb.tab, pb.sheet[f, OUTER], a.rh)
    if pb.face[f, SHEET_B] != 0:
        Z2 = sheet_at(pb.tab, pb.sheet[f, INNER], c.rh)
    film = 1.0 / pb.gap[g, BETA_SIDE]
    Gv = rate / (R_V * To)
    m = abs(through) * (1.0 / (R_V * T_REF))
    brings = Gv * po + m * where(inward, a.pv, c.pv)
    x, y = halves_beside(pb, f, a, c, film + Z1, film + Z2, Gv + m, brings)
    y1, y2 = 1.0 / (film + Z1 + x.r), 1.0 / (film + Z2 + y.r)
    pa = (y1 * x.drive + y2 * y.drive + brings) / (y1 + y2 + Gv + m)
    return GapNodes(s1, s2, air, pa, y1, y2, x, y)


@inlined
def halves_beside(pb, f, a, c, R1, R2, carried, brings):
    """The half cells on both sides of a gap, R1 and R2 between them and its air; see `half`."""
    outer, inner = like_cell(a), like_cell(c)
    if some((a.mo != 0.0) | (c.mo != 0.0)):
        held_a, held_c = values_of(a), values_of(c)
        R1, R2, brings = value(R1), value(R2), value(brings)
        for _ in range(HALF_TURNS):
            x, y = half_about(held_a, outer), half_about(held_c, inner)
            y1, y2 = 1.0 / (R1 + x.r), 1.0 / (R2 + y.r)
            pa = (y1 * x.drive + y2 * y.drive + brings) / (y1 + y2 + carried)
            p1, p2 = x.drive - y1 * (x.drive - pa) * x.r, y.drive - y2 * (y.drive - pa) * y.r
            outer, moves_a = moved(pb, f - 1, held_a, outer, x, p1)
            inner, moves_c = moved(pb, f, held_c, inner, y, p2)
            if not some(moves_a | moves_c):
                break
    return half_about(a, outer), half_about(c, inner)


@compiled
def gap_flux(pb, f, g, a, c, rate, through, To, po):
    """Fluxes at the two faces of a gap; see `gap_nodes`.

    Straight-through flow takes the state of the upstream cell and brings that of the air.
    """
    N = gap_nodes(pb, f, g, a, c, rate, through, To, po)
    latent = L_V + C_VAP * (0.5 * (a.T + c.T) - T0)
    va, vc = N.y1 * (N.half1.drive - N.pa), N.y2 * (N.pa - N.half2.drive)
    qa, qc = (a.T - N.s1) / a.rk + va * latent, (N.s2 - c.T) / c.rk + vc * latent
    if some(through != 0.0):
        inward = through > 0.0
        heat, vapour = through * pb.air_density[0] * C_AIR, through * (1.0 / (R_V * T_REF))
        out_v, in_v = vapour * where(inward, a.pv, N.pa), vapour * where(inward, N.pa, c.pv)
        qa += heat * (where(inward, a.T, N.air) - T0) + out_v * latent
        qc += heat * (where(inward, N.air, c.T) - T0) + in_v * latent
        va += out_v
        vc += in_v
    return GapFlux(qa, va, qc, vc)


@inlined
def book_gap(led, g, x):
    """What leaves through gap g, energy and water, with slopes over both its cells."""
    book_both(led, 2 * g, x.qa - x.qc)
    book_both(led, 2 * g + 1, x.va - x.vc)


@inlined
def book_both(led, row, x):
    """A value and its slopes over the cell outside and the cell inside."""
    led[row, 0], led[row, 1], led[row, 2] = value(x), over_Ta(x), over_ua(x)
    led[row, 3], led[row, 4] = over_T(x), over_u(x)
