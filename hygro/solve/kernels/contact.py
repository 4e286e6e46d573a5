"""Liquid across a capillary contact of two materials."""

from __future__ import annotations

from hygro.solve.dual import chain, value
from hygro.solve.kernels.arrays import BLOCK, DX
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.layout import THETA
from hygro.solve.kernels.lookup import curve_at, potential_at, suction_at
from hygro.solve.kernels.unknowns import over_u, over_ua
from hygro.solve.lanes import where, width_of


@compiled
def _one_lane(tab, block_a, block_b, dx_a, dx_b, k, node):
    """Each half drops from its own suction to the other's; the two in series.

    Rows of node: th and dth/du of a and c, u of a and c, at 3 to 8; the flow and its slopes over u
    of a and c go to 0 to 2.
    """
    tha, tha_u, thb, thb_u = node[3, k], node[4, k], node[5, k], node[6, k]
    node[0, k], node[1, k], node[2, k] = 0.0, 0.0, 0.0
    sa, sa_u = suction_at(tab, block_a, node[7, k])
    sb, sb_u = suction_at(tab, block_b, node[8, k])
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
def contact_flow(pb, node, f, a, c):
    """Gradient of the liquid potential across a contact [kg/(m²·s)], over mean T/T_ref = 1."""
    node[3], node[4], node[5], node[6] = value(a.th), over_ua(a.th), value(c.th), over_u(c.th)
    node[7], node[8] = value(a.u), value(c.u)
    for k in range(width_of(node)):
        _one_lane(
            pb.tab, int(pb.cell[f - 1, BLOCK, k]), int(pb.cell[f, BLOCK, k]),
            pb.cell[f - 1, DX, k], pb.cell[f, DX, k], k, node,
        )  # fmt: skip
    return chain(node[0], node[1], a.u) + chain(0.0 * node[0], node[2], c.u)


@inlined
def contact_thermal(a, c):
    """Thermal liquid coefficient of two half cells in series. [kg/(m²·s·K)]"""
    flows = (a.kt > 0.0) & (c.kt > 0.0)
    return where(flows, 2.0 / (a.dx / a.kt + c.dx / c.kt), 0.0)
