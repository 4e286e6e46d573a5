"""The balances of all cells: rates and their Jacobian."""

from __future__ import annotations

from hygro.constants import ZERO_CELSIUS as T0
from hygro.solve.columns import B_P, B_T, E_IN, E_OUT, LEAK
from hygro.solve.dual import value
from hygro.solve.kernels.arrays import BEYOND, CAP, FREEZING, GAP_ROW, MIXED, STAGE
from hygro.solve.kernels.cell import as_outside, cell_at, cell_there, inner_side, places
from hygro.solve.kernels.compiler import inlined
from hygro.solve.kernels.face import face_flux
from hygro.solve.kernels.gap import GapFlux, book_gap, gap_flux
from hygro.solve.kernels.linear import fold, keep, nothing_gone
from hygro.solve.kernels.mixed import end_cell, mixed_flux
from hygro.solve.kernels.passes import is_near, pair
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
from hygro.solve.lanes import fetch, fetch_4, fetch_8, some, where


@inlined
def evaluate(pb, wk, T, u, J, gdt):
    """Conserved wk.X, D = dX/d(T, u), rates and their exact block-tridiagonal Jacobian.

    With gdt each row is eliminated as soon as it is known, and wk.y is what the Newton update of
    a stage of that length brings, up to `measure`; without, rates are kept in wk.F. With J the
    Jacobian is kept there, blocks to cell i-1, i, i+1 (4 numbers each). Where one is None the
    compiler leaves out what only serves it. led rows
    hold (value, d/dT, d/du of cell 0 or n-1) at the surfaces; gap_led (2 gaps, 5) what leaves to
    outdoors through gaps.
    """
    n = len(T)
    air = wk.air[0]
    blows = some(air != 0.0)
    per = None if gdt is None else 1.0 / gdt
    # the estimate of an error, at the end of a second stage, is all that asks for L and inverse
    asked = is_near(wk.y) or some(wk.at[STAGE] != 0.0)
    zero = 0.0 * T[0]
    wk.led[LEAK, 0] = zero
    wk.dirty[n] = 0
    ends_differ = pb.face[n, BEYOND] != 0
    if ends_differ:
        end = inner_surface(pb, wk, end_cell(pb, wk.node, T, u), air, blows)
    c = cell_at(pb.tab, pb.cell, 0, pb.flags[FREEZING], T[0], u[0])
    got = surface_flux(pb, wk, 0, 0, c)
    if blows:
        got = blown(c, wk.b, 0, air, pb.air_density[0], got)
    book_surface(wk.led, E_OUT, got)
    L = begin(wk, J, per, 0, zero, zero, asked)
    gone = nothing_gone(zero)
    q, v, held = contain(pb, wk, 0, c, got.e, got.v + got.rain)
    second, third = min(1, n - 1), min(2, n - 1)
    now, ahead = (T[second], u[second]), (T[third], u[third])
    at = places(pb.tab, pb.cell, second, now[0], now[1])
    # one pass: each cell with the face on its outer side; then the rows of the cell before it
    for j in range(1, n):
        a, q, v = as_outside(inner_side(pb.cell, j - 1, c)), outside(q), outside(v)
        c = cell_there(pb.tab, pb.cell, j, pb.flags[FREEZING], of_T(now[0]), of_u(now[1]), at)
        # those of the next cell: known early, its curves are read without waiting
        following, far = min(j + 1, n - 1), min(j + 2, n - 1)
        now, ahead = ahead, (T[far], u[far])
        at = places(pb.tab, pb.cell, following, now[0], now[1])
        fetch_cell(pb, wk, following, at)
        if pb.face[j, BEYOND] != 0:
            q, v = with_end(pb, j, q, v, outside(end.e), outside(end.v + end.rain))
        x = across(pb, wk, j, a, c)
        gone = complete(wk, J, per, j - 1, q - x.qa, v - x.va, gone, held, L, asked)
        L = begin(wk, J, per, j, x.qc, x.vc, asked)
        into_q, into_v = holding_outside(x.qc), holding_outside(x.vc)
        q, v, held = contain(pb, wk, j, c, into_q, into_v)
    if ends_differ:
        q, v = with_end(pb, n, q, v, end.e, end.v + end.rain)
    else:
        end = inner_surface(pb, wk, c, air, blows)
        q, v = q + end.e, v + (end.v + end.rain)
    complete(wk, J, per, n - 1, outside(q), outside(v), gone, held, L, asked)


@inlined
def fetch_cell(pb, wk, j, at):
    """Have a card bring near what cell j will read."""
    fetch_8(pb.tab, at[0][0])
    fetch_4(pb.tab, at[1][0])
    fetch(pb.cell, j)
    fetch(pb.contact, j)
    fetch(pb.face, j)
    fetch(wk.base, j)


@inlined
def across(pb, wk, j, a, c):
    """Energy and water that leave cell a through face j, and that enter cell c."""
    if pb.face[j, MIXED] != 0:
        x = mixed_flux(pb, wk, j, a, c)
    elif pb.face[j, GAP_ROW] >= 0:
        g = pb.face[j, GAP_ROW]
        x = gap_flux(pb, j, g, a, c, wk.gap_rate[g], wk.air[0], wk.b[0, B_T], wk.b[0, B_P])
        book_gap(wk.gap_led, g, x)
    else:
        y = face_flux(pb, wk, j, a, c)
        x = GapFlux(y.q, y.v, y.q, y.v)
    return x


@inlined
def inner_surface(pb, wk, c, air, blows):
    """What comes through the inner surface, booked."""
    n = len(wk.T)
    c = inner_side(pb.cell, n, c)
    got = surface_flux(pb, wk, 1, n, c)
    if blows:
        got = blown(c, wk.b, 1, -air, pb.air_density[0], got)
    book_surface(wk.led, E_IN, got)
    return got


@inlined
def with_end(pb, f, q, v, end_q, end_v):
    """What comes into the cell outside of face f, with what comes in there where its wall ends."""
    ends = pb.cells[0] == f
    return where(ends, q + end_q, q), where(ends, v + end_v, v)


@inlined
def contain(pb, wk, j, c, q, v):
    """What comes into cell j through its outer face and from sources, and what it holds: X and D.

    Sources are booked as if through the face: they add to the same row.
    """
    heat, water = c.dx * c.heat, c.dx * c.w
    wk.X[j, 0], wk.X[j, 1] = value(heat), value(water)
    D = over_inside(heat, water)
    wk.D[j, 0], wk.D[j, 1], wk.D[j, 3] = D[0], D[1], D[3]
    held = (value(heat), value(water)), (D[0], D[1], D[3])
    if pb.face[j, BEYOND] != 0:
        leave_out(pb, wk, j)
        held = pair(wk.X, j), (wk.D[j, 0], wk.D[j, 1], wk.D[j, 3])
    drains = some((c.u > pb.cell[j, CAP]) & (c.T > T0))
    wk.dirty[j] = 0
    if drains or reached(pb, wk, j):
        wk.dirty[j] = wk.dirty[len(wk.T)] = 1
        brought = source_flux(pb, wk, j, c, drains)
        q, v = q + brought.q, v + brought.v
    return q, v, held


@inlined
def begin(wk, J, per, j, q, v, asked):
    """Row j over the cell before it, from the flux at its outer face; kept where asked."""
    L = over_outside(q, v)
    if per is not None and asked:
        keep(wk.L, j, L)
    if J is not None:
        J[j, 0], J[j, 1], J[j, 2], J[j, 3] = L
    return L


@inlined
def complete(wk, J, per, i, q, v, gone, held, L, asked):
    """Row i over itself and the cell after it, from what stays in it; see `fold`."""
    if J is not None:
        J[i, 4], J[i, 5], J[i, 6], J[i, 7] = over_outside(q, v)
        J[i, 8], J[i, 9], J[i, 10], J[i, 11] = over_inside(q, v)
    if per is not None:
        rates = value(q), value(v)
        return fold(wk, per, i, over_outside(q, v), over_inside(q, v), rates, gone, held, L, asked)
    wk.F[i, 0], wk.F[i, 1] = value(q), value(v)
    return gone


@inlined
def over_outside(q, v):
    """Block of slopes over the cell outside."""
    return over_Ta(q), over_ua(q), over_Ta(v), over_ua(v)


@inlined
def over_inside(q, v):
    """Block of slopes over the cell under work."""
    return over_T(q), over_u(q), over_T(v), over_u(v)


@inlined
def leave_out(pb, wk, j):
    """Row j holds nothing where it lies beyond the wall of a lane."""
    gone = pb.own[j, BEYOND] != 0.0
    wk.X[j, 0], wk.X[j, 1] = where(gone, 0.0, wk.X[j, 0]), where(gone, 0.0, wk.X[j, 1])
    wk.D[j, 0], wk.D[j, 1] = where(gone, 1.0, wk.D[j, 0]), where(gone, 0.0, wk.D[j, 1])
    wk.D[j, 3] = where(gone, 1.0, wk.D[j, 3])


@inlined
def book_surface(led, row, got):
    """Into the ledger, with slopes over T and u of the cell there."""
    book(led, row, 0, got.e)
    book(led, row + 1, 0, got.v)
    book(led, row + 2, 0, got.rain)
