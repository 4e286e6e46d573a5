"""The ledger of stages and steps: what crossed surfaces, left through gaps, came from sources."""

from __future__ import annotations

from hygro.solve.columns import AIR_DROP, DRAINED, DRIP_IN, DRIP_OUT, FIXED, LEAK, RAIN_IN, WET_IN
from hygro.solve.kernels.arrays import (
    BEYOND,
    BROUGHT,
    DRAIN,
    DROP,
    FIRST,
    GDT,
    MODE,
    SECOND,
    STEP,
    TOOK,
)
from hygro.solve.kernels.compiler import inlined
from hygro.solve.kernels.passes import over_rows, put
from hygro.solve.lanes import most, where, width_of


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
    for g in range(len(pb.gaps)):
        book_through_gap(wk, pb.gaps[g] - 1, 2 * g)
    out[LEAK] = led[LEAK, 0]
    # liquid at a surface: what is taken up, and what an over-filled surface gives off
    out[DRIP_OUT], out[DRIP_IN] = most(-out[RAIN_IN], 0.0), most(-out[WET_IN], 0.0)
    out[RAIN_IN], out[WET_IN] = most(out[RAIN_IN], 0.0), most(out[WET_IN], 0.0)
    if wk.dirty[n] != 0:
        over_rows(y, n, _is_dirty, _source_booked, (pb, wk), 0)


@inlined
def book_through_gap(wk, i, first):
    """What leaves through a gap between cells i and i + 1, in two rows of the ledger of gaps."""
    y, q = wk.y, wk.gap_led
    for g in range(first, first + 2):
        wk.stage_led[FIXED + g] = (
            q[g, 0]
            + q[g, 1] * y[i, 0]
            + q[g, 2] * y[i, 1]
            + q[g, 3] * y[i + 1, 0]
            + q[g, 4] * y[i + 1, 1]
        )


@inlined
def _is_dirty(i, given):
    return given[1].dirty[i]


@inlined
def _source_booked(i, dirty, given, carried):
    """What sources bring to cell i, into the rows of its layer in each lane."""
    pb, wk = given
    if dirty != 0:
        s, out, dT, du = wk.cell_led, wk.stage_led, wk.y[i, 0], wk.y[i, 1]
        took = s[i, TOOK] + s[i, TOOK + 1] * dT + s[i, TOOK + 2] * du
        drain = s[i, DRAIN] + s[i, DRAIN + 1] * dT + s[i, DRAIN + 2] * du
        drop = s[i, DROP] + s[i, DROP + 1] * dT + s[i, DROP + 2] * du
        e = s[i, BROUGHT] + s[i, BROUGHT + 1] * dT + s[i, BROUGHT + 2] * du
        out[DRAINED] = out[DRAINED] + drain
        out[AIR_DROP] = out[AIR_DROP] + drop
        wk.node[0], wk.node[1] = e, took + drop
        per_layer = FIXED + 2 * len(wk.gap_rate)
        for k in range(width_of(out)):
            row = per_layer + 2 * int(pb.layer[i, k])
            out[row, k] = out[row, k] + wk.node[0, k]
            out[row + 1, k] = out[row + 1, k] + wk.node[1, k]
    return carried


@inlined
def book_stage(wk):
    """Add the ledger of the stages that close to the ledger of their step, by their weights."""
    at = wk.at
    first, second = at[MODE] == FIRST, at[MODE] == SECOND
    gdt = at[GDT]
    given = wk.stage_led, wk.step_led, first, second, at[STEP] - gdt, gdt
    over_rows(wk.step_led, len(wk.step_led), of_both, _booked, given, 0)


@inlined
def of_both(e, given):
    """An entry of a ledger, and of the longer one that it is added to."""
    return given[0][e], given[1][e]


@inlined
def _booked(e, row, given, carried):
    _, step_led, first, second, rest, gdt = given
    value, so_far = row
    put(step_led, e, first | second, where(first, rest * value, so_far + gdt * value))
    return carried
