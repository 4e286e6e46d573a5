"""What the record wants to know of stored states: curves, interfaces, contents."""

from __future__ import annotations

from hygro.solve.columns import B_P, B_T
from hygro.solve.dual import value
from hygro.solve.kernels.arrays import (
    BEYOND,
    DRY,
    FREEZING,
    GAP,
    GAP_ROW,
    JOINT,
    MIXED,
    SHEET_A,
)
from hygro.solve.kernels.cell import as_outside, cell_of, inner_side, stored_cell, values_of
from hygro.solve.kernels.compiler import compiled, entry, inlined
from hygro.solve.kernels.equations import evaluate
from hygro.solve.kernels.face import face_flux, vapour_across, vapour_way
from hygro.solve.kernels.gap import gap_nodes
from hygro.solve.kernels.half import half_giving
from hygro.solve.kernels.hour import hour_loads, loads_at
from hygro.solve.kernels.lookup import saturation_at
from hygro.solve.kernels.surface import surface_flux
from hygro.solve.lanes import least, some, where, width_of


@entry
def report(pb, ld, hours, wk, T, u, grate, rh, w, ice, T_if, p_if, gap_T, gap_p):
    """Curves and interfaces at the instants of some hours from their states T, u.

    Row r n + i of T, u, rh, w, ice is cell i at instant r = 0..hours; row (r F + m) 2 + side of
    T_if, p_if the side of joint m; row r G + g of grate, gap_T, gap_p gap g in hour r.
    """
    n, gaps, sides = len(pb.layer), len(wk.gap_rate), 0
    for j in range(n + 1):
        sides += 2 * pb.face[j, JOINT]
    for r in range(hours + 1):
        hour, past, at = max(r, 1), max(r - 1, 0) * gaps, r * sides
        for k in range(width_of(T)):
            loads_at(ld, wk, k, hour, 1.0 if r > 0 else 0.0)
            hour_loads(ld, wk, k, hour)
        cells(pb, r * n, T, u, rh, w, ice)
        surface_sides(pb, wk, 0, 0, stored(pb, 0, r, T, u), at, T_if, p_if)
        for j in range(1, n):
            if pb.face[j, JOINT] == 0:
                continue
            at += 2
            a = as_outside(inner_side(pb.cell, j - 1, stored(pb, j - 1, r, T, u)))
            c = stored(pb, j, r, T, u)
            g = pb.face[j, GAP_ROW]
            out_a, out_c = joint_sides(pb, wk, j, a, c, grate, past, at, T_if, p_if)
            if g >= 0 and r > 0:
                gap_T[past + g], gap_p[past + g] = wk.node[0], wk.node[1]
            calm = (wk.air[0] == 0.0) & ((pb.own[j, DRY] + pb.own[j, GAP]) != 0.0)
            here = calm & goes_on(pb, j - 1)
            if some(here):
                b = values_of(stored(pb, j - 2, r, T, u))
                into = face_flux(pb, wk, j - 1, b, values_of(a)).v
                p_if[at] = where(here, bent(pb, j - 1, a, out_a, into, p_if[at]), p_if[at])
            here = calm & goes_on(pb, j + 1)
            if some(here):
                b = values_of(stored(pb, j + 1, r, T, u))
                into = -face_flux(pb, wk, j + 1, values_of(c), b).v
                straight = p_if[at + 1]
                p_if[at + 1] = where(here, bent(pb, j, c, out_c, into, straight), straight)
        c = inner_side(pb.cell, n, last(pb, wk.node, r, T, u))
        surface_sides(pb, wk, 1, n, c, at + 2, T_if, p_if)
        for side in range(r * sides, (r + 1) * sides):
            # no surface holds more than saturation: what is beyond has condensed or fills pores
            p_if[side] = least(p_if[side], saturation_at(pb.tab, T_if[side]))


@inlined
def cells(pb, first, T, u, rh, w, ice):
    """Humidity, water and ice of all cells at the instant whose rows start at `first`."""
    for i in range(len(pb.layer)):
        row = first + i
        c = cell_of(pb.tab, pb.cell, i, pb.flags[FREEZING], T[row], u[row])
        rh[row], w[row], ice[row] = humidity_of(c), c.w, c.ice


@inlined
def humidity_of(c):
    """Relative humidity of a cell, values without slopes; below 0 °C over ice, as at faces."""
    return least(where(c.ph != c.ps, c.pv / c.ps, c.rh), 1.0)


@inlined
def stored(pb, i, r, T, u):
    """Cell i at instant r."""
    row = r * len(pb.layer) + i
    return stored_cell(pb.tab, pb.cell, i, pb.flags[FREEZING], T[row], u[row])


@inlined
def last(pb, node, r, T, u):
    """The last cell of every lane at instant r."""
    for k in range(width_of(T)):
        row = r * len(pb.layer) + int(pb.cells[0, k]) - 1
        node[0, k], node[1, k] = T[row, k], u[row, k]
    return stored_cell(pb.tab, pb.cell, len(pb.layer), pb.flags[FREEZING], node[0], node[1])


@inlined
def goes_on(pb, f):
    """Where face f lies within a layer."""
    return (pb.own[f, JOINT] + pb.own[f, BEYOND]) == 0.0


@compiled
def joint_sides(pb, wk, f, a, c, grate, past, at, T_if, p_if):
    """Both sides of a joint of layers, with a gap or without, each lane as its wall has it.

    Returns the vapour that leaves cell a, and cell c. The air of a gap goes to rows of wk.node.
    """
    g = pb.face[f, GAP_ROW]
    if g < 0:
        return face_sides(pb, f, a, c, at, T_if, p_if)
    if pb.face[f, MIXED] == 0:
        return gap_sides(pb, wk, f, a, c, grate[past + g], at, T_if, p_if)
    plain_a, plain_c = face_sides(pb, f, a, c, at, T_if, p_if)
    T_a, T_c, p_a, p_c = T_if[at], T_if[at + 1], p_if[at], p_if[at + 1]
    out_a, out_c = gap_sides(pb, wk, f, a, c, grate[past + g], at, T_if, p_if)
    here = pb.own[f, GAP] != 0.0
    T_if[at] = where(here, T_if[at], T_a)
    T_if[at + 1] = where(here, T_if[at + 1], T_c)
    p_if[at] = where(here, p_if[at], p_a)
    p_if[at + 1] = where(here, p_if[at + 1], p_c)
    return where(here, out_a, plain_a), where(here, out_c, plain_c)


@compiled
def gap_sides(pb, wk, f, a, c, rate, at, T_if, p_if):
    """Both sides of a gap, beneath a sheet that lies there; its air goes to two rows of wk.node.

    Returns the vapour that leaves cell a, and cell c, to the gap.
    """
    g = pb.face[f, GAP_ROW]
    N = gap_nodes(pb, f, g, a, c, rate, wk.air[0], wk.b[0, B_T], wk.b[0, B_P])
    T_if[at], T_if[at + 1] = value(N.s1), value(N.s2)
    out_a, out_c = N.y1 * (N.half1.drive - N.pa), N.y2 * (N.half2.drive - N.pa)
    p_if[at] = value(N.half1.drive - out_a * N.half1.r)
    p_if[at + 1] = value(N.half2.drive - out_c * N.half2.r)
    wk.node[0], wk.node[1] = value(N.air), value(N.pa)
    return value(out_a), value(out_c)


@compiled
def surface_sides(pb, wk, s, i, c, at, T_if, p_if):
    """Both sides of the surface; they differ by a sheet that lies there."""
    got = surface_flux(pb, wk, s, i, c)
    T_if[at + s], p_if[at + s] = value(got.T), value(got.p)
    share = c.rk / (c.rk + pb.contact[i])
    T_if[at + 1 - s] = value(c.T + (got.T - c.T) * share)
    p_if[at + 1 - s] = value(got.p)
    if pb.face[i, SHEET_A] != 0:
        out = -value(got.v)
        half = half_giving(pb, i, c, out)
        beneath = pb.own[i, SHEET_A] != 0.0
        p_if[at + 1 - s] = where(beneath, value(half.drive - out * half.r), value(got.p))


@compiled
def face_sides(pb, f, a, c, at, T_if, p_if):
    """Both sides of an interface without a gap; returns the vapour that leaves cell a, cell c."""
    q = (a.T - c.T) / (a.rk + c.rk + pb.contact[f])
    T_if[at], T_if[at + 1] = value(a.T - q * a.rk), value(c.T + q * c.rk)
    x, Z, y = vapour_way(pb, f, a, c)
    v = value(vapour_across(pb, f, x, Z, y, a, c))
    p_if[at], p_if[at + 1] = value(x.drive - v * x.r), value(y.drive + v * y.r)
    return v, -v


@compiled
def bent(pb, i, c, out, into, straight):
    """Vapour pressure at a face that no liquid crosses, with the flow bent by what the cell stores.

    The flow in a cell goes straight from `into` at the other face to `out`; the half cell then
    carries (2 out + into) / 3 on average, weighted by the way to the face. Where
    the cell is saturated or frozen, or cannot give so much, its face is that of the march.
    """
    flow = (2.0 * out + into) * (1.0 / 3.0)
    half = half_giving(pb, i, c, flow)
    p = value(half.drive - flow * half.r)
    held = (c.mo != 0.0) & (c.u < 1.0) & (c.ice <= 0.0) & (p > 0.0)
    return where(held, p, straight)


@entry
def contents(pb, T, u, X):
    """Conserved quantities of all cells at a state."""
    for i in range(len(T)):
        c = values_of(stored_cell(pb.tab, pb.cell, i, pb.flags[FREEZING], T[i], u[i]))
        X[i, 0], X[i, 1] = c.dx * c.heat, c.dx * c.w


@entry
def curves(pb, T, u, rh, w):
    """Relative humidity and water of all cells at states that stand one after another."""
    n = len(pb.layer)
    for row in range(len(T)):
        c = values_of(stored_cell(pb.tab, pb.cell, row % n, pb.flags[FREEZING], T[row], u[row]))
        rh[row], w[row] = humidity_of(c), c.w


@entry
def rates(pb, ld, hour, x, T, u, gap_rate, wk, dT, du):
    """dT/dt and du/dt of the semi-discrete equations at the fraction x of an hour; one lane."""
    hour_loads(ld, wk, 0, hour)
    loads_at(ld, wk, 0, hour, x)
    for g in range(gap_rate.shape[0]):
        wk.gap_rate[g, 0] = gap_rate[g]
    evaluate(pb, wk, T, u, None, None)
    for i in range(len(T)):
        du[i] = wk.F[i, 1, 0] / wk.D[i, 3, 0]
        dT[i] = (wk.F[i, 0, 0] - wk.D[i, 1, 0] * du[i]) / wk.D[i, 0, 0]
