"""The balances of all cells: rates and their Jacobian."""

from __future__ import annotations

from hygro.solve.kernels.arrays import (
    B_P,
    B_T,
    BROUGHT,
    CAP,
    DROP,
    E_IN,
    E_OUT,
    FREEZING,
    GAP_INDEX,
    KIND,
    LEAK,
    TOOK,
)
from hygro.solve.kernels.cell import blank, cell_at
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.face import face_flux
from hygro.solve.kernels.gap import gap_flux
from hygro.solve.kernels.source import reached, source_flux
from hygro.solve.kernels.surface import blown, surface_flux
from hygro.solve.lanes import some


@inlined
def evaluate(pb, wk, T, u, J):
    """Conserved wk.X, D = dX/d(T, u), rates wk.F and their exact block-tridiagonal Jacobian J.

    With J None the compiler leaves out what only serves the Jacobian. J rows hold the blocks to
    cell i-1, i, i+1 (4 numbers each). led rows hold (value, d/dT, d/du of cell 0 or n-1) at the
    surfaces; gap_led (2 gaps, 5) what leaves to outdoors through gaps.
    """
    n = len(T)
    tab, cell, freezing, air = pb.tab, pb.cell, pb.flags[FREEZING], wk.air[0]
    X, D, F, led = wk.X, wk.D, wk.F, wk.led
    blows = some(air != 0.0)
    zero = 0.0 * T[0]
    led[LEAK, 0] = zero
    in_q, in_v, d0, d1, d2, d3 = zero, zero, zero, zero, zero, zero
    a = blank(zero)
    # one pass: each cell with the face on its outer side; then the rows of the cell before it
    for j in range(n):
        c = cell_at(tab, cell, j, freezing, T[j], u[j])
        X[j, 0], X[j, 1] = c.dx * c.heat, c.dx * c.w
        D[j, 0], D[j, 1], D[j, 2], D[j, 3] = c.dx * c.heat_T, c.dx * c.heat_u, zero, c.dx * c.w_u
        i = j - 1
        if j == 0:
            got = surface_flux(pb, wk, 0, 0, c)
            if blows:
                got = blown(c, wk.b, 0, air, got)
            book_surface(led, E_OUT, got)
            in_q, in_v = got.e, got.v + got.rain
            d0, d1, d2, d3 = got.e_T, got.e_u, got.v_T + got.rain_T, got.v_u + got.rain_u
            if J is not None:
                J[0, 0], J[0, 1], J[0, 2], J[0, 3] = zero, zero, zero, zero
        elif pb.face[j, KIND] == 2:
            g, q, gap_led = pb.face[j, GAP_INDEX], wk.gq, wk.gap_led
            gap_flux(pb, wk, j, g, a, c, wk.gap_rate[g], air, wk.b[0, B_T], wk.b[0, B_P])
            for k in range(5):
                gap_led[2 * g, k] = q[0, k] - q[2, k]
                gap_led[2 * g + 1, k] = q[1, k] - q[3, k]
            F[i, 0], F[i, 1] = in_q - q[0, 0], in_v - q[1, 0]
            if J is not None:
                J[i, 4], J[i, 5] = d0 - q[0, 1], d1 - q[0, 2]
                J[i, 6], J[i, 7] = d2 - q[1, 1], d3 - q[1, 2]
                J[i, 8], J[i, 9], J[i, 10], J[i, 11] = -q[0, 3], -q[0, 4], -q[1, 3], -q[1, 4]
                J[j, 0], J[j, 1], J[j, 2], J[j, 3] = q[2, 1], q[2, 2], q[3, 1], q[3, 2]
            in_q, in_v = q[2, 0], q[3, 0]
            d0, d1, d2, d3 = q[2, 3], q[2, 4], q[3, 3], q[3, 4]
        else:
            x = face_flux(pb, wk, j, a, c)
            F[i, 0], F[i, 1] = in_q - x.q, in_v - x.v
            if J is not None:
                J[i, 4], J[i, 5], J[i, 6], J[i, 7] = (
                    d0 - x.q_Ti,
                    d1 - x.q_ui,
                    d2 - x.v_Ti,
                    d3 - x.v_ui,
                )
                J[i, 8], J[i, 9], J[i, 10], J[i, 11] = -x.q_Tj, -x.q_uj, -x.v_Tj, -x.v_uj
                J[j, 0], J[j, 1], J[j, 2], J[j, 3] = x.q_Ti, x.q_ui, x.v_Ti, x.v_ui
            in_q, in_v, d0, d1, d2, d3 = x.q, x.v, x.q_Tj, x.q_uj, x.v_Tj, x.v_uj
        drains = some(u[j] > cell[j, CAP])
        wk.dirty[j] = 0
        if drains or reached(pb, wk, j):
            # booked as if through the outer face of the cell: it adds to the same row
            wk.dirty[j] = 1
            source_flux(pb, wk, j, c, drains)
            s = wk.cell_led
            in_q, in_v = in_q + s[j, BROUGHT], in_v + s[j, TOOK] + s[j, DROP]
            d0, d1 = d0 + s[j, BROUGHT + 1], d1 + s[j, BROUGHT + 2]
            d2, d3 = d2 + s[j, DROP + 1], d3 + s[j, TOOK + 2] + s[j, DROP + 2]
        a = c
    i = n - 1
    got = surface_flux(pb, wk, 1, i, a)
    if blows:
        got = blown(a, wk.b, 1, -air, got)
    book_surface(led, E_IN, got)
    F[i, 0], F[i, 1] = in_q + got.e, in_v + got.v + got.rain
    if J is not None:
        J[i, 4], J[i, 5] = d0 + got.e_T, d1 + got.e_u
        J[i, 6], J[i, 7] = d2 + got.v_T + got.rain_T, d3 + got.v_u + got.rain_u
        J[i, 8], J[i, 9], J[i, 10], J[i, 11] = zero, zero, zero, zero


@compiled
def book_surface(led, row, got):
    """Into the ledger, with slopes over T and u of the cell there."""
    led[row, 0], led[row, 1], led[row, 2] = got.e, got.e_T, got.e_u
    led[row + 1, 0], led[row + 1, 1], led[row + 1, 2] = got.v, got.v_T, got.v_u
    led[row + 2, 0], led[row + 2, 1], led[row + 2, 2] = got.rain, got.rain_T, got.rain_u
