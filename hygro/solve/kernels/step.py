"""Closing stages and steps of the two-stage method: error, the new state."""

from __future__ import annotations

import math

from hygro.solve.control import (
    BROKEN,
    FILM_UNIT,
    GAMMA,
    KEEP_GUESS,
    MEAN_WEIGHT,
    NEGLIGIBLE_STORAGE,
    NEXT_HIGH,
    NEXT_LOW,
    RETRY,
    SAFETY,
    SETTLE,
    SETTLE_U,
    SETTLED,
    SHRINK_LIMIT,
    U_MIN,
    WORST_WEIGHT,
)
from hygro.solve.dual import value
from hygro.solve.kernels.arrays import (
    BEYOND,
    ERROR_SUM,
    FIRST,
    FREEZING,
    GDT,
    HOUR,
    HOUR_END,
    IDLE,
    LAST,
    LOST,
    MIN_STEP,
    MODE,
    NEXT,
    REJECT,
    SECOND,
    STATUS,
    STEP,
    STEP_T,
    STEP_TOO_SMALL,
    STEP_U,
    TAKEN,
    TIGHT,
    TIME,
)
from hygro.solve.kernels.cell import a_cell
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.heat import temperature_at
from hygro.solve.kernels.ledger import of_both
from hygro.solve.kernels.linear import solve
from hygro.solve.kernels.passes import over_rows, pair, put
from hygro.solve.kernels.unknowns import over_T, over_u
from hygro.solve.lanes import least, most, some, where


@inlined
def close_first(wk, st):
    """Lanes that close their first stage: X1, and from it the base and the guess of the second."""
    given = wk, st, wk.at[MODE] == FIRST
    over_rows(wk.T, len(wk.T), _before_first, _closed_first, given, 0)


@inlined
def _before_first(i, given):
    wk, st, _ = given
    return _last_iterate(wk, i), pair(st.X, i), (wk.T[i], wk.u[i]), (st.T[i], st.u[i])


@inlined
def _closed_first(i, row, given, carried):
    wk, _, first = given
    iterate, (s0, s1), (T, u), (sT, su) = row
    dT, du = iterate[0]
    X0, X1 = _closing(iterate)
    carry, ahead = (1.0 - GAMMA) / GAMMA, 1.0 / GAMMA
    put(wk.X1, (i, 0), first, X0)
    put(wk.X1, (i, 1), first, X1)
    put(wk.base, (i, 0), first, s0 + carry * (X0 - s0))
    put(wk.base, (i, 1), first, s1 + carry * (X1 - s1))
    put(wk.T, i, first, sT + ahead * (T + dT - sT))
    put(wk.u, i, first, most(su + ahead * (most(u + du, U_MIN) - su), KEEP_GUESS * su))
    return carried


@inlined
def _last_iterate(wk, i):
    """The last update of cell i, X before it and the slopes of X; water has none over T."""
    return pair(wk.y, i), pair(wk.X, i), (wk.D[i, 0], wk.D[i, 1], wk.D[i, 3])


@inlined
def _closing(iterate):
    """X after the last update, straight on from before."""
    (dT, du), (X0, X1), (D0, D1, D3) = iterate
    return X0 + (D0 * dT + D1 * du), X1 + D3 * du


@inlined
def close_second(wk, st):
    """Lanes that close their second stage: the new state, and in r the residual of its error."""
    over_rows(wk.T, len(wk.T), _before_second, _closed_second, (wk, st, wk.at[MODE] == SECOND), 0)


@inlined
def _before_second(i, given):
    wk, st, _ = given
    known = pair(wk.base, i), pair(wk.X1, i), pair(st.X, i)
    return _last_iterate(wk, i), known, (wk.T[i], wk.u[i])


@inlined
def _closed_second(i, row, given, carried):
    wk, _, second = given
    iterate, (base, first, start), (T, u) = row
    dT, du = iterate[0]
    X0, X1 = _closing(iterate)
    wk.X2[i, 0], wk.X2[i, 1] = X0, X1
    wk.r[i, 0] = (X0 - base[0]) - (first[0] - start[0])
    wk.r[i, 1] = (X1 - base[1]) - (first[1] - start[1])
    put(wk.T, i, second, T + dT)
    put(wk.u, i, second, most(u + du, U_MIN))
    return carried


@inlined
def estimate(pb, wk, per_T, per_u):
    """Error of steps whose second stage has closed, in units of the tolerance, in at[ERROR_SUM].

    The embedded first-order result, gdt (F2 - F1), seen through the stage matrix.
    """
    at, y = wk.at, wk.y
    solve(wk, at[GDT])
    none = 0.0 * at[GDT]
    total, worst = over_rows(y, len(y), _residual, _error, (wk, per_T, per_u), (none, none))
    at[ERROR_SUM] = MEAN_WEIGHT * (total / pb.cells[0]) + WORST_WEIGHT * worst


@inlined
def _residual(i, given):
    wk = given[0]
    return pair(wk.y, i), wk.D[i, 3], wk.u[i]


@inlined
def _error(_, row, given, found):
    """The square of the error of cell i, added; and the largest."""
    per_T, per_u = given[1], given[2]
    (dT, du), storage, u = row
    total, worst = found
    eT = dT * per_T
    # a cell that holds next to nothing follows its neighbours; its own swing is no error
    share = least(storage * (1.0 / NEGLIGIBLE_STORAGE), 1.0)
    # a film is a small part of what its cell can hold; what runs off of it is lost to its neighbour
    eu = du * per_u * most(share, where(u > 1.0, storage * (1.0 / FILM_UNIT), 0.0))
    e = eT * eT + eu * eu
    return total + e, most(worst, e)


@inlined
def judge(wk, control, counters, where_, k):
    """Take or repeat the step of lane k, whose error is known; gives the mode and the next step."""
    at = wk.at
    step = at[STEP, k]
    err = math.sqrt(at[ERROR_SUM, k]) * at[TIGHT, k]
    if not err < BROKEN:
        return begin_again(wk, control, counters, where_, k)
    if err > control[REJECT]:
        counters[1, k] += 1.0
        at[NEXT, k] = step * max(SHRINK_LIMIT, SAFETY * err**-0.5)
        return repeated(wk, control, where_, k)
    counters[0, k] += 1.0
    at[NEXT, k] = step * min(max(SAFETY * max(err, 1e-6) ** -0.5, NEXT_LOW), NEXT_HIGH)
    return TAKEN


@inlined
def begin_again(wk, control, counters, where_, k):
    """The mode of lane k, whose step led nowhere."""
    at = wk.at
    counters[3, k] += 1.0
    at[NEXT, k] = RETRY * at[STEP, k]
    return repeated(wk, control, where_, k)


@inlined
def repeated(wk, control, where_, k):
    """The mode of lane k, which is to repeat its step; a step too short ends it, and says where."""
    at = wk.at
    if at[NEXT, k] >= control[MIN_STEP]:
        return LOST
    worst, cell = 0.0, 0
    for i in range(len(wk.y)):
        e = max(abs(wk.y[i, 0, k]) / control[STEP_T], abs(wk.y[i, 1, k]) / control[STEP_U])
        if not e <= worst:
            worst, cell = e, i
    where_[0, k], where_[1, k], where_[2, k] = at[HOUR, k], at[TIME, k], cell
    where_[3, k], where_[4, k] = at[NEXT, k], worst
    at[STATUS, k] = STEP_TOO_SMALL
    return IDLE


@inlined
def take(wk, st):
    """The new state of lanes that have taken their step."""
    taken, step = wk.at[MODE] == TAKEN, wk.at[STEP]
    over_rows(wk.T, len(wk.T), _before_taking, _taken, (wk, st, taken, 1.0 / step), 0)
    given = wk.step_led, wk.hour_led, taken
    over_rows(wk.step_led, len(wk.step_led), of_both, _added, given, 0)


@inlined
def _before_taking(i, given):
    wk, st, _, _ = given
    return (wk.T[i], wk.u[i]), (st.T[i], st.u[i]), pair(wk.X2, i)


@inlined
def _taken(i, row, given, carried):
    _, st, taken, per = given
    (T, u), (sT, su), X = row
    put(st.slope, (i, 0), taken, (T - sT) * per)
    put(st.slope, (i, 1), taken, (u - su) * per)
    put(st.T, i, taken, T)
    put(st.u, i, taken, u)
    put(st.X, (i, 0), taken, X[0])
    put(st.X, (i, 1), taken, X[1])
    return carried


@inlined
def _added(e, row, given, carried):
    _, hour_led, taken = given
    put(hour_led, e, taken, row[1] + row[0])
    return carried


@compiled
def settle(pb, wk, st):
    """Bring T and u to the carried X cell by cell, in lanes that have ended their last hour.

    They differ by what Newton left open. Across the bend of freezing Newton may go to and fro
    without end; there T is sought by halving.
    """
    mine = (wk.at[MODE] == HOUR_END) & (wk.at[HOUR] == wk.at[LAST] - 1.0)
    for i in range(len(st.T)):
        moves = mine
        if pb.face[i, BEYOND] != 0:
            moves = mine & (pb.own[i, BEYOND] == 0.0)
        dT = 0.0 * st.T[i]
        for _ in range(SETTLE):
            T, u = st.T[i], st.u[i]
            c = a_cell(pb.tab, pb.cell, i, pb.flags[FREEZING], T, u)
            du = (st.X[i, 1] - c.dx * value(c.w)) / (c.dx * over_u(c.w))
            du = most(least(du, SETTLE_U), -SETTLE_U)
            heat = c.dx * c.heat
            dT = (st.X[i, 0] - value(heat) - over_u(heat) * du) / over_T(heat)
            st.u[i] = where(moves, most(u + du, U_MIN), u)
            st.T[i] = where(moves, T + dT, T)
        left = moves & (abs(dT) > SETTLED)
        if some(left):
            st.T[i] = where(left, temperature_at(pb, i, st.u[i], st.X[i, 0]), st.T[i])
