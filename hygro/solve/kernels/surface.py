"""Fluxes at the two surfaces of a wall."""

from __future__ import annotations

from hygro.constants import AIR_DENSITY as RHO_AIR
from hygro.constants import GAS_CONSTANT_VAPOUR as R_V
from hygro.constants import HEAT_CAPACITY_AIR as C_AIR
from hygro.constants import HEAT_CAPACITY_VAPOUR as C_VAP
from hygro.constants import HEAT_OF_EVAPORATION as L_V
from hygro.constants import REFERENCE_TEMPERATURE as T_REF
from hygro.constants import ZERO_CELSIUS as T0
from hygro.solve.kernels.arrays import (
    B_P,
    B_RAIN,
    B_T,
    IMPOSED_OUT,
    OUTER,
    SHEET_A,
)
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.dry_surface import Surface, dry_surface
from hygro.solve.kernels.wet_surface import wet_surface
from hygro.solve.lanes import least, most, some, where


@inlined
def wetness(c, rain, imposed):
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


@inlined
def surface_flux(pb, wk, s, i, c):
    """Fluxes into the cell at a surface; see `Surface`."""
    f = i + s
    imposed = pb.flags[IMPOSED_OUT + s]
    sheet = pb.face[f, SHEET_A] >= 0
    R = c.rk + pb.contact[f]
    eps = pb.side[s]
    got = dry_surface(pb.tab, R, sheet, pb.sheet[f, OUTER], eps, imposed, c, s, wk.b)
    if sheet or not some(c.mo != 0.0):
        return got
    wet, wet_T, wet_u = wetness(c, wk.b[s, B_RAIN], imposed)
    if not some(wet > 0.0):
        return got
    inner = wet_surface(pb.tab, pb.cell, i, R, eps, imposed, c, s, wk.b, wk.node, wet > 0.0)
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


@compiled
def blown(c, b, s, inflow, got):
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
