"""Closing stages and steps of the two-stage method: ledger, error, the new state."""

from __future__ import annotations

import math

from hygro.solve.columns import AIR_DROP, DRAINED, DRIP_IN, DRIP_OUT, FIXED, LEAK, RAIN_IN, WET_IN
from hygro.solve.control import (
    BROKEN,
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
    SHRINK_LIMIT,
    U_MIN,
    WORST_WEIGHT,
)
from hygro.solve.dual import value
from hygro.solve.kernels.arrays import (
    BEYOND,
    BROUGHT,
    DRAIN,
    DROP,
    ERROR_SUM,
    FIRST,
    FREEZING,
    GAP_ROW,
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
    TOOK,
)
from hygro.solve.kernels.cell import a_cell
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.linear import solve
from hygro.solve.kernels.unknowns import over_T, over_u
from hygro.solve.lanes import least, most, where, width_of


@inlined
def close_first(wk, st):
    """Lanes that close their first stage: X1, and from it the base and the guess of the second."""
    y, X, D = wk.y, wk.X, wk.D
    first = wk.at[MODE] == FIRST
    carry, ahead = (1.0 - GAMMA) / GAMMA, 1.0 / GAMMA
    for i in range(len(wk.T)):
        dT, du = y[i, 0], y[i, 1]
        X0 = X[i, 0] + (D[i, 0] * dT + D[i, 1] * du)
        X1 = X[i, 1] + D[i, 3] * du
        wk.X1[i, 0], wk.X1[i, 1] = where(first, X0, wk.X1[i, 0]), where(first, X1, wk.X1[i, 1])
        s0, s1 = st.X[i, 0], st.X[i, 1]
        wk.base[i, 0] = where(first, s0 + carry * (X0 - s0), wk.base[i, 0])
        wk.base[i, 1] = where(first, s1 + carry * (X1 - s1), wk.base[i, 1])
        T, u, sT, su = wk.T[i], wk.u[i], st.T[i], st.u[i]
        guess = most(su + ahead * (most(u + du, U_MIN) - su), KEEP_GUESS * su)
        wk.T[i] = where(first, sT + ahead * (T + dT - sT), T)
        wk.u[i] = where(first, guess, u)


@inlined
def close_second(wk, st):
    """Lanes that close their second stage: the new state, and in r the residual of its error."""
    y, X, D = wk.y, wk.X, wk.D
    second = wk.at[MODE] == SECOND
    for i in range(len(wk.T)):
        dT, du = y[i, 0], y[i, 1]
        X0 = X[i, 0] + (D[i, 0] * dT + D[i, 1] * du)
        X1 = X[i, 1] + D[i, 3] * du
        wk.X2[i, 0], wk.X2[i, 1] = X0, X1
        wk.r[i, 0] = (X0 - wk.base[i, 0]) - (wk.X1[i, 0] - st.X[i, 0])
        wk.r[i, 1] = (X1 - wk.base[i, 1]) - (wk.X1[i, 1] - st.X[i, 1])
        T, u = wk.T[i], wk.u[i]
        wk.T[i] = where(second, T + dT, T)
        wk.u[i] = where(second, most(u + du, U_MIN), u)


@inlined
def stage_ledger(pb, wk):
    """Ledger of a stage: values at the last iterate plus their linear change by the last update."""
    y, out, led = wk.y, wk.stage_led, wk.led
    n = len(y)
    inner_T, inner_u = y[n - 1, 0], y[n - 1, 1]
    if pb.face[n, BEYOND] != 0:
        for k in range(width_of(y)):
            i = int(pb.cells[0, k]) - 1
            wk.node[0, k], wk.node[1, k] = y[i, 0, k], y[i, 1, k]
        inner_T, inner_u = wk.node[0], wk.node[1]
    for e in range(6):
        dT, du = y[0, 0], y[0, 1]
        if e >= 3:
            dT, du = inner_T, inner_u
        out[e] = led[e, 0] + led[e, 1] * dT + led[e, 2] * du
    zero = 0.0 * y[0, 0]
    for e in range(6, len(out)):
        out[e] = zero
    for f in range(1, n):
        if pb.face[f, GAP_ROW] >= 0:
            for r in range(2):
                g = 2 * pb.face[f, GAP_ROW] + r
                q = wk.gap_led
                out[FIXED + g] = (
                    q[g, 0]
                    + q[g, 1] * y[f - 1, 0]
                    + q[g, 2] * y[f - 1, 1]
                    + q[g, 3] * y[f, 0]
                    + q[g, 4] * y[f, 1]
                )
    out[LEAK] = led[LEAK, 0]
    # liquid at a surface: what is taken up, and what an over-filled surface gives off
    out[DRIP_OUT], out[DRIP_IN] = most(-out[RAIN_IN], 0.0), most(-out[WET_IN], 0.0)
    out[RAIN_IN], out[WET_IN] = most(out[RAIN_IN], 0.0), most(out[WET_IN], 0.0)
    per_layer = FIXED + 2 * len(wk.gap_rate)
    for i in range(n):
        if wk.dirty[i] == 0:
            continue
        s, dT, du = wk.cell_led, y[i, 0], y[i, 1]
        took = s[i, TOOK] + s[i, TOOK + 1] * dT + s[i, TOOK + 2] * du
        drain = s[i, DRAIN] + s[i, DRAIN + 1] * dT + s[i, DRAIN + 2] * du
        drop = s[i, DROP] + s[i, DROP + 1] * dT + s[i, DROP + 2] * du
        e = s[i, BROUGHT] + s[i, BROUGHT + 1] * dT + s[i, BROUGHT + 2] * du
        out[DRAINED] = out[DRAINED] + drain
        out[AIR_DROP] = out[AIR_DROP] + drop
        wk.node[0], wk.node[1] = e, took + drop
        for k in range(width_of(y)):
            row = per_layer + 2 * int(pb.layer[i, k])
            out[row, k] = out[row, k] + wk.node[0, k]
            out[row + 1, k] = out[row + 1, k] + wk.node[1, k]


@inlined
def book_stage(wk):
    """Add the ledger of the stages that close to the ledger of their step, by their weights."""
    at = wk.at
    first, second = at[MODE] == FIRST, at[MODE] == SECOND
    gdt = at[GDT]
    rest = at[STEP] - gdt
    for e in range(len(wk.step_led)):
        value, so_far = wk.stage_led[e], wk.step_led[e]
        wk.step_led[e] = where(first, rest * value, where(second, so_far + gdt * value, so_far))


@inlined
def estimate(pb, wk, per_T, per_u):
    """Error of steps whose second stage has closed, in units of the tolerance, in at[ERROR_SUM].

    The embedded first-order result, gdt (F2 - F1), seen through the stage matrix.
    """
    at, y = wk.at, wk.y
    solve(wk, at[GDT])
    total = 0.0 * at[GDT]
    worst = total
    for i in range(len(y)):
        eT = y[i, 0] * per_T
        # a cell that holds next to nothing follows its neighbours; its own swing is no error
        eu = y[i, 1] * per_u * least(wk.D[i, 3] * (1.0 / NEGLIGIBLE_STORAGE), 1.0)
        e = eT * eT + eu * eu
        total += e
        worst = most(worst, e)
    at[ERROR_SUM] = MEAN_WEIGHT * (total / pb.cells[0]) + WORST_WEIGHT * worst


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
    per = 1.0 / step
    for i in range(len(wk.T)):
        T, u = wk.T[i], wk.u[i]
        st.slope[i, 0] = where(taken, (T - st.T[i]) * per, st.slope[i, 0])
        st.slope[i, 1] = where(taken, (u - st.u[i]) * per, st.slope[i, 1])
        st.T[i], st.u[i] = where(taken, T, st.T[i]), where(taken, u, st.u[i])
        st.X[i, 0] = where(taken, wk.X2[i, 0], st.X[i, 0])
        st.X[i, 1] = where(taken, wk.X2[i, 1], st.X[i, 1])
    for e in range(len(wk.step_led)):
        led = wk.hour_led[e]
        wk.hour_led[e] = where(taken, led + wk.step_led[e], led)


@compiled
def settle(pb, wk, st):
    """Bring T and u to the carried X cell by cell, in lanes that have ended their last hour.

    They differ by what Newton left open.
    """
    mine = (wk.at[MODE] == HOUR_END) & (wk.at[HOUR] == wk.at[LAST] - 1.0)
    for _ in range(SETTLE):
        for i in range(len(st.T)):
            T, u = st.T[i], st.u[i]
            moves = mine
            if pb.face[i, BEYOND] != 0:
                moves = mine & (pb.own[i, BEYOND] == 0.0)
            c = a_cell(pb.tab, pb.cell, i, pb.flags[FREEZING], T, u)
            du = (st.X[i, 1] - c.dx * value(c.w)) / (c.dx * over_u(c.w))
            du = most(least(du, SETTLE_U), -SETTLE_U)
            heat = c.dx * c.heat
            dT = (st.X[i, 0] - value(heat) - over_u(heat) * du) / over_T(heat)
            st.u[i] = where(moves, most(u + du, U_MIN), u)
            st.T[i] = where(moves, T + dT, T)
