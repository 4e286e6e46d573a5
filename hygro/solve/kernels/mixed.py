"""Faces and ends at which the walls of the lanes differ: each lane has what its own wall has."""

from __future__ import annotations

from hygro.solve.columns import B_P, B_T
from hygro.solve.kernels.arrays import BEYOND, FREEZING, GAP, GAP_ROW
from hygro.solve.kernels.cell import a_cell
from hygro.solve.kernels.compiler import compiled
from hygro.solve.kernels.face import face_flux
from hygro.solve.kernels.gap import GapFlux, book_gap, gap_flux
from hygro.solve.lanes import where, width_of


@compiled
def mixed_flux(pb, wk, f, a, c):
    """Fluxes through face f, with a gap or without; none where it is at or beyond the surface."""
    y = face_flux(pb, wk, f, a, c)
    gone = pb.own[f, BEYOND] != 0.0
    q, v = where(gone, 0.0, y.q), where(gone, 0.0, y.v)
    x = GapFlux(q, v, q, v)
    g = pb.face[f, GAP_ROW]
    if g >= 0:
        z = gap_flux(pb, f, g, a, c, wk.gap_rate[g], wk.air[0], wk.b[0, B_T], wk.b[0, B_P])
        mine = pb.own[f, GAP] != 0.0
        x = GapFlux(
            where(mine, z.qa, q), where(mine, z.va, v), where(mine, z.qc, q), where(mine, z.vc, v)
        )
        book_gap(wk.gap_led, g, x)
    return x


@compiled
def end_cell(pb, node, T, u):
    """The last cell of every lane."""
    for k in range(width_of(node)):
        i = int(pb.cells[0, k]) - 1
        node[0, k], node[1, k] = T[i, k], u[i, k]
    return a_cell(pb.tab, pb.cell, len(T), pb.flags[FREEZING], node[0], node[1])
