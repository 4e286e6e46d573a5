"""The balances of all cells: rates and their Jacobian."""

from __future__ import annotations

from hygro.constants import ZERO_CELSIUS as T0
from hygro.solve.columns import B_P, B_T, E_IN, E_OUT, LEAK
from hygro.solve.dual import value
from hygro.solve.kernels.arrays import BEYOND, CAP, FREEZING, GAP_ROW, MIXED
from hygro.solve.kernels.cell import as_outside, cell_at, cell_there, inner_side, places
from hygro.solve.kernels.compiler import inlined
from hygro.solve.kernels.face import face_flux
from hygro.solve.kernels.gap import book_gap, gap_flux
from hygro.solve.kernels.mixed import end_cell, mixed_flux
from hygro.solve.kernels.source import book, reached, source_flux
from hygro.solve.kernels.surface import blown, surface_flux
from hygro.solve.kernels.unknowns import (
    holding_outside,
    of_T,
    of_u,
    outside,
    over_T,
    over_Ta,
    over_u,
    over_ua,
)
from hygro.solve.lanes import some, where


@inlined
def evaluate(pb, wk, T, u, J):
    """Conserved wk.X, D = dX/d(T, u), rates wk.F and their exact block-tridiagonal Jacobian J.

    With J None the compiler leaves out what only serves the Jacobian. J rows hold the blocks to
    cell i-1, i, i+1 (4 numbers each). led rows hold (value, d/dT, d/du of cell 0 or n-1) at the
    surfaces; gap_led (2 gaps, 5) what leaves to outdoors through gaps.
    """
    n = len(T)
    air, led = wk.air[0], wk.led
    blows = some(air != 0.0)
    zero = 0.0 * T[0]
    led[LEAK, 0] = zero
    c = cell_at(pb.tab, pb.cell, 0, pb.flags[FREEZING], T[0], u[0])
    got = surface_flux(pb, wk, 0, 0, c)
    if blows:
        got = blown(c, wk.b, 0, air, pb.air_density[0], got)
    book_surface(led, E_OUT, got)
    begin(J, 0, zero, zero)
    q, v = contain(pb, wk, 0, c, got.e, got.v + got.rain)
    second = min(1, n - 1)
    at = places(pb.tab, pb.cell, second, T[second], u[second])
    # one pass: each cell with the face on its outer side; then the rows of the cell before it
    for j in range(1, n):
        a, q, v = as_outside(inner_side(pb.cell, j - 1, c)), outside(q), outside(v)
        c = cell_there(pb.tab, pb.cell, j, pb.flags[FREEZING], of_T(T[j]), of_u(u[j]), at)
        # those of the next cell: known early, its curves are read without waiting
        following = min(j + 1, n - 1)
        at = places(pb.tab, pb.cell, following, T[following], u[following])
        if pb.face[j, MIXED] != 0:
            x = mixed_flux(pb, wk, j, a, c)
            complete(wk, J, j - 1, q - x.qa, v - x.va)
            begin(J, j, x.qc, x.vc)
            into_q, into_v = holding_outside(x.qc), holding_outside(x.vc)
        elif pb.face[j, GAP_ROW] >= 0:
            g = pb.face[j, GAP_ROW]
            x = gap_flux(pb, j, g, a, c, wk.gap_rate[g], air, wk.b[0, B_T], wk.b[0, B_P])
            book_gap(wk.gap_led, g, x)
            complete(wk, J, j - 1, q - x.qa, v - x.va)
            begin(J, j, x.qc, x.vc)
            into_q, into_v = holding_outside(x.qc), holding_outside(x.vc)
        else:
            y = face_flux(pb, wk, j, a, c)
            complete(wk, J, j - 1, q - y.q, v - y.v)
            begin(J, j, y.q, y.v)
            into_q, into_v = holding_outside(y.q), holding_outside(y.v)
        q, v = contain(pb, wk, j, c, into_q, into_v)
    ends_differ = pb.face[n, BEYOND] != 0
    if ends_differ:
        complete(wk, J, n - 1, outside(q), outside(v))
        c = end_cell(pb, wk.node, T, u)
    c = inner_side(pb.cell, n, c)
    got = surface_flux(pb, wk, 1, n, c)
    if blows:
        got = blown(c, wk.b, 1, -air, pb.air_density[0], got)
    book_surface(led, E_IN, got)
    if ends_differ:
        add_at_ends(pb, wk, J, got.e, got.v + got.rain)
    else:
        complete(wk, J, n - 1, outside(q + got.e), outside(v + (got.v + got.rain)))


@inlined
def contain(pb, wk, j, c, q, v):
    """What cell j holds, and what comes into it through its outer face and from sources.

    Sources are booked as if through the face: they add to the same row.
    """
    heat, water = c.dx * c.heat, c.dx * c.w
    wk.X[j, 0], wk.X[j, 1] = value(heat), value(water)
    wk.D[j, 0], wk.D[j, 1] = over_T(heat), over_u(heat)
    wk.D[j, 2], wk.D[j, 3] = over_T(water), over_u(water)
    if pb.face[j, BEYOND] != 0:
        leave_out(pb, wk, j)
    drains = some((c.u > pb.cell[j, CAP]) & (c.T > T0))
    wk.dirty[j] = 0
    if drains or reached(pb, wk, j):
        wk.dirty[j] = 1
        brought = source_flux(pb, wk, j, c, drains)
        q, v = q + brought.q, v + brought.v
    return q, v


@inlined
def begin(J, j, q, v):
    """Row j over the cell before it, from the flux at its outer face."""
    if J is not None:
        J[j, 0], J[j, 1], J[j, 2], J[j, 3] = over_Ta(q), over_ua(q), over_Ta(v), over_ua(v)


@inlined
def complete(wk, J, i, q, v):
    """Row i over itself and the cell after it, from what stays in it."""
    wk.F[i, 0], wk.F[i, 1] = value(q), value(v)
    if J is not None:
        J[i, 4], J[i, 5], J[i, 6], J[i, 7] = over_Ta(q), over_ua(q), over_Ta(v), over_ua(v)
        J[i, 8], J[i, 9], J[i, 10], J[i, 11] = over_T(q), over_u(q), over_T(v), over_u(v)


@inlined
def add_at_ends(pb, wk, J, q, v):
    """What comes through the inner surface, in the row of each lane's last cell."""
    n = len(wk.F)
    for i in range(n):
        if i + 1 < n and pb.face[i + 1, BEYOND] == 0:
            continue
        mine = pb.cells[0] == i + 1
        wk.F[i, 0] = where(mine, wk.F[i, 0] + value(q), wk.F[i, 0])
        wk.F[i, 1] = where(mine, wk.F[i, 1] + value(v), wk.F[i, 1])
        if J is not None:
            J[i, 4] = where(mine, J[i, 4] + over_T(q), J[i, 4])
            J[i, 5] = where(mine, J[i, 5] + over_u(q), J[i, 5])
            J[i, 6] = where(mine, J[i, 6] + over_T(v), J[i, 6])
            J[i, 7] = where(mine, J[i, 7] + over_u(v), J[i, 7])


@inlined
def leave_out(pb, wk, j):
    """Row j holds nothing where it lies beyond the wall of a lane."""
    gone = pb.own[j, BEYOND] != 0.0
    wk.X[j, 0], wk.X[j, 1] = where(gone, 0.0, wk.X[j, 0]), where(gone, 0.0, wk.X[j, 1])
    wk.D[j, 0], wk.D[j, 1] = where(gone, 1.0, wk.D[j, 0]), where(gone, 0.0, wk.D[j, 1])
    wk.D[j, 2], wk.D[j, 3] = where(gone, 0.0, wk.D[j, 2]), where(gone, 1.0, wk.D[j, 3])


@inlined
def book_surface(led, row, got):
    """Into the ledger, with slopes over T and u of the cell there."""
    book(led, row, 0, got.e)
    book(led, row + 1, 0, got.v)
    book(led, row + 2, 0, got.rain)
