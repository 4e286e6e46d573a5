"""Fluxes at the two surfaces of a wall."""

from __future__ import annotations

from hygro.constants import GAS_CONSTANT_VAPOUR as R_V
from hygro.constants import HEAT_CAPACITY_AIR as C_AIR
from hygro.constants import HEAT_CAPACITY_VAPOUR as C_VAP
from hygro.constants import HEAT_OF_EVAPORATION as L_V
from hygro.constants import REFERENCE_TEMPERATURE as T_REF
from hygro.constants import ZERO_CELSIUS as T0
from hygro.solve.columns import B_P, B_RAIN, B_T
from hygro.solve.kernels.arrays import IMPOSED_OUT, MIXED, OUTER, SHEET_A
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.dry_surface import Surface, dry_surface
from hygro.solve.kernels.wet_surface import wet_surface
from hygro.solve.lanes import least, most, some, where

DRY_SHARE, WET_SHARE = 0.01, 0.04
"""Liquid over vapour in the outer half cell below and above which a surface is dry, wet. [1]"""


@inlined
def wetness(c, rain, imposed):
    """How far liquid counts in the outer half of a surface cell. [1]

    1 in rain, for an imposed state and where liquid carries 4 % of what vapour does; 0 below 1 %.
    """
    capillary = c.mo != 0.0
    x = (2.0 / c.dx) * c.mo * c.fl * c.rv / c.ph
    z = most(least((x - DRY_SHARE) * (1.0 / (WET_SHARE - DRY_SHARE)), 1.0), 0.0)
    smooth = z * z * (3.0 - 2.0 * z)
    if imposed != 0:
        return where(capillary, 1.0, 0.0 * smooth)
    return where(capillary & (rain > 0.0), 1.0, smooth)


@inlined
def surface_flux(pb, wk, s, i, c):
    """Fluxes into the cell at a surface, whose row is i; see `Surface`."""
    imposed = pb.flags[IMPOSED_OUT + s]
    sheet = pb.face[i, SHEET_A] != 0
    R = c.rk + pb.contact[i]
    eps = pb.side[s]
    if (sheet and pb.face[i, MIXED] == 0) or not some(c.mo != 0.0):
        return dry_surface(pb, i, R, sheet, pb.sheet[i, OUTER], eps, imposed, c, s, wk.b)
    share = wetness(c, wk.b[s, B_RAIN], imposed)
    if sheet:
        share = where(pb.own[i, SHEET_A] != 0.0, 0.0 * share, share)
    if not some(share > 0.0):
        return dry_surface(pb, i, R, sheet, pb.sheet[i, OUTER], eps, imposed, c, s, wk.b)
    wet = wet_surface(pb, i, R, eps, imposed, c, s, wk.b, wk.node, share > 0.0)
    if not some(share < 1.0):
        return wet
    dry = dry_surface(pb, i, R, sheet, pb.sheet[i, OUTER], eps, imposed, c, s, wk.b)
    rest = 1.0 - share
    return Surface(
        rest * dry.e + share * wet.e,
        rest * dry.v + share * wet.v,
        share * wet.rain,
        rest * dry.T + share * wet.T,
        rest * dry.p + share * wet.p,
    )


@compiled
def blown(c, b, s, inflow, density, got):
    """A surface with air passing: it brings the air's state in, or takes the cell's state out."""
    comes = inflow > 0.0
    warm = where(comes, b[s, B_T], c.T) - T0
    vapour = inflow * (1.0 / (R_V * T_REF)) * where(comes, b[s, B_P], c.pv)
    energy = inflow * density * C_AIR * warm + vapour * (L_V + C_VAP * warm)
    return Surface(got.e + energy, got.v + vapour, got.rain, got.T, got.p)
