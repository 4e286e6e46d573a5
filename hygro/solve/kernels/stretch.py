"""Steps that cross hours whose loads go on evenly: what is written of the hours within them."""

from __future__ import annotations

from hygro.solve.control import GAMMA
from hygro.solve.kernels.arrays import HOUR, SPAN, STEP, TIME
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.passes import over_rows, pair, put


@inlined
def goes_on(at, ld, k, hour):
    """Whether an hour of lane k goes on evenly from the one before, and the next from it."""
    return at[SPAN, k] > 1.0 and ld.even[k, hour - 1] > 1


@inlined
def keep_first(wk, first):
    """State and ledger of a first stage, for lanes that close it."""
    over_rows(wk.T, len(wk.T), _state_and_update, _first_kept, (wk, first), 0)
    for e in range(len(wk.stage_led)):
        put(wk.first_led, e, first, wk.stage_led[e])


@inlined
def _state_and_update(i, given):
    wk = given[0]
    return wk.T[i], wk.u[i], pair(wk.y, i)


@inlined
def _first_kept(i, row, given, carried):
    wk, first = given
    T, u, y = row
    put(wk.T1, i, first, T + y[0])
    put(wk.u1, i, first, u + y[1])
    return carried


@inlined
def between(x, start, first, end):
    """State at the share x of a step: the parabola through its start, first stage and end."""
    a = (x - GAMMA) * (x - 1.0) / GAMMA
    b = x * (1.0 - x) / (GAMMA * (1.0 - GAMMA))
    c = x * (x - GAMMA) / (1.0 - GAMMA)
    return a * start + b * first + c * end


@inlined
def crossed(x, step, first, whole):
    """What crosses in the first share x of a step; the flow goes straight through both stages.

    first is the flow of the first stage, whole what crosses in the step. Where a flow that keeps
    its sign would turn before the first stage, it is taken as even.
    """
    one = step * first
    two = (whole - (1.0 - GAMMA) * one) / GAMMA
    rise = (two - one) / (1.0 - GAMMA)
    if one * two >= 0.0 and (one - GAMMA * rise) * whole < 0.0:
        return x * whole
    return one * x + rise * x * (0.5 * x - GAMMA)


@compiled
def write_within(wk, st, k, out_T, out_u, out_led, out_grate):
    """Hours of lane k that end within the step it takes, before its state moves on.

    What crosses after the last of them stays in the ledger of the hour that has begun.
    """
    at, n, entries, gaps = wk.at, len(st.T), len(wk.hour_led), len(wk.gap_rate)
    begin, step = at[TIME, k], at[STEP, k]
    j = int(begin / 3600.0 + 1e-9) + 1
    while j < at[SPAN, k] and 3600.0 * j <= begin + step + 1e-6:
        x = min((3600.0 * j - begin) / step, 1.0)
        row = int(at[HOUR, k]) + j - 1
        for i in range(n):
            out_T[row * n + i, k] = between(x, st.T[i, k], wk.T1[i, k], wk.T[i, k])
            u = between(x, st.u[i, k], wk.u1[i, k], wk.u[i, k])
            low = min(st.u[i, k], wk.u[i, k], wk.u1[i, k])
            high = max(st.u[i, k], wk.u[i, k], wk.u1[i, k])
            out_u[row * n + i, k] = min(max(u, low), high)
        for e in range(entries):
            so_far = crossed(x, step, wk.first_led[e, k], wk.step_led[e, k])
            out_led[(row - 1) * entries + e, k] = wk.hour_led[e, k] + so_far
            wk.hour_led[e, k] = -so_far
        for g in range(gaps):
            out_grate[(row - 1) * gaps + g, k] = wk.gap_rate[g, k]
        j += 1
