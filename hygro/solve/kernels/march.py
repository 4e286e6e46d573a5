"""The march of the lanes over hours."""

from __future__ import annotations

import math

from hygro.solve.control import GAMMA, KEEP_GUESS, TIGHTER
from hygro.solve.kernels.arrays import (
    BEFORE,
    COUNT,
    FIRST,
    GDT,
    GO,
    HOUR,
    HOUR_END,
    IDLE,
    LAST,
    LOST,
    MAX_STEP,
    MODE,
    NEWTON_T,
    NEWTON_U,
    NEXT,
    OK,
    RELAX,
    SECOND,
    SPAN,
    STAGE,
    STATUS,
    STEP,
    STEP_T,
    STEP_U,
    TAKEN,
    TIGHT,
    TIME,
)
from hygro.solve.kernels.compiler import compiled, entry, inlined
from hygro.solve.kernels.equations import evaluate
from hygro.solve.kernels.hour import after_jump, gap_rates, hour_loads, loads_at, write_hour
from hygro.solve.kernels.ledger import book_stage, stage_ledger
from hygro.solve.kernels.newton import damp, decide, go_on, measure
from hygro.solve.kernels.passes import over_rows, pair, put
from hygro.solve.kernels.step import (
    begin_again,
    close_first,
    close_second,
    estimate,
    judge,
    settle,
    take,
)
from hygro.solve.kernels.stretch import goes_on, keep_first, write_within
from hygro.solve.lanes import most, some, width_of


@compiled
def start_step(pb, ld, wk, st, control):
    """The next step of lanes that need one: its length, its loads, the guess of its first stage."""
    at, width = wk.at, width_of(wk.at)
    hour_starts = False
    for k in range(width):
        hour_starts = hour_starts or at[MODE, k] == HOUR_END
    if hour_starts:
        for k in range(width):
            if at[MODE, k] == HOUR_END:
                hour_loads(ld, wk, k, int(at[HOUR, k]))
        gap_rates(pb, ld, wk, st)
    for k in range(width):
        mode, hour = at[MODE, k], int(at[HOUR, k])
        if mode == HOUR_END:
            at[TIME, k] = 0.0
            at[SPAN, k] = 1.0
            if control[MAX_STEP] == 3600.0:
                at[SPAN, k] = ld.even[k, hour]
            if not goes_on(at, ld, k, hour):
                first = after_jump(ld, len(wk.source_rate), k, hour, control)
                at[NEXT, k] = min(at[NEXT, k], first)
        if mode in (HOUR_END, TAKEN, LOST):
            rest = 3600.0 * at[SPAN, k] - at[TIME, k]
            longest = control[MAX_STEP] if at[SPAN, k] == 1.0 else rest
            count = math.ceil(rest / min(at[NEXT, k], longest) - 1e-9)
            step = rest / count
            # what a jump at the start of even hours brings about passes in the first of them
            within = at[TIME, k] >= 3600.0 or goes_on(at, ld, k, hour)
            at[TIGHT, k] = TIGHTER if within else 1.0
            at[STEP, k], at[GDT, k], at[STAGE, k] = step, GAMMA * step, 0.0
            at[COUNT, k], at[BEFORE, k], at[RELAX, k] = 0.0, 1e30, 1.0
            loads_at(ld, wk, k, hour, (at[TIME, k] + GAMMA * step) / 3600.0)
    begins = (at[MODE] == HOUR_END) | (at[MODE] == TAKEN) | (at[MODE] == LOST)
    over_rows(wk.T, len(wk.T), _at_start, _first_guess, (wk, st, begins, at[GDT]), 0)
    for k in range(width):
        if at[MODE, k] != IDLE:
            at[MODE, k] = GO


@inlined
def _at_start(i, given):
    _, st, _, _ = given
    return (st.T[i], st.u[i]), pair(st.slope, i), pair(st.X, i)


@inlined
def _first_guess(i, row, given, carried):
    wk, _, begins, gdt = given
    (T, u), slope, X = row
    put(wk.T, i, begins, T + gdt * slope[0])
    put(wk.u, i, begins, most(u + gdt * slope[1], KEEP_GUESS * u))
    put(wk.base, (i, 0), begins, X[0])
    put(wk.base, (i, 1), begins, X[1])
    return carried


@entry
def march(pb, ld, st, wk, control, out_T, out_u, out_led, out_grate, counters, where_):
    """March the lanes through their hours; two-stage steps (SDIRK of order 2).

    gamma = 1 - 1/sqrt(2). Stage 1: X1 = X0 + gdt F1. Stage 2: X2 = X0 + (1 - gamma) dt F1 + gdt F2
    (Alexander 1977, from memory). Each turn of the loop makes one Newton update in every lane,
    wherever in its steps the lane is.

    Lanes whose wk.at[MODE] is `IDLE` rest; the others go from row 1 of their loads to wk.at[LAST].
    Row h of out_T, out_u (n cells) holds the end of hour h = 1, 2, …, row h - 1 of out_led
    [J/m², kg/m²] and out_grate that hour.
    counters: accepted steps, rejected steps, evaluations, failed stages. where_: hour, second,
    cell, step [s], size of the last change, of lanes that end with another status than `OK`.
    """
    at, width = wk.at, width_of(wk.at)
    per_T, per_u = 1.0 / control[NEWTON_T], 1.0 / control[NEWTON_U]
    busy = 0
    for k in range(width):
        at[HOUR, k], at[NEXT, k], at[STATUS, k] = 1.0, st.memory[0, k], OK
        if at[MODE, k] != IDLE:
            at[MODE, k] = HOUR_END
            busy += 1
    for e in range(len(wk.hour_led)):
        wk.hour_led[e] = 0.0 * wk.hour_led[e]
    start_step(pb, ld, wk, st, control)
    while busy > 0:
        evaluate(pb, wk, wk.T, wk.u, None, at[GDT])
        measure(pb, wk, per_T, per_u)
        going, first_, second, lost = False, False, False, False
        for k in range(width):
            if at[MODE, k] == GO:
                counters[2, k] += 1.0
                mode = decide(wk, st, control, k)
                at[MODE, k] = mode
                going, first_ = going or mode == GO, first_ or mode == FIRST
                second, lost = second or mode == SECOND, lost or mode == LOST
        if first_ or second:
            stage_ledger(pb, wk)
            book_stage(wk)
        if going:
            go_on(wk)
        if first_:
            if some(at[SPAN] > 1.0):
                keep_first(wk, at[MODE] == FIRST)
            close_first(wk, st)
        if second:
            close_second(wk, st)
        for k in range(width):
            if at[MODE, k] == GO:
                damp(wk, control, k)
            elif at[MODE, k] == FIRST:
                at[MODE, k], at[STAGE, k] = GO, 1.0
                at[COUNT, k], at[BEFORE, k], at[RELAX, k] = 0.0, 1e30, 1.0
                loads_at(ld, wk, k, int(at[HOUR, k]), (at[TIME, k] + at[STEP, k]) / 3600.0)
        if not (second or lost):
            continue
        # the last updates of a lane that has lost its way are gone with the estimate of others
        for k in range(width):
            if at[MODE, k] == LOST:
                at[MODE, k] = begin_again(wk, control, counters, where_, k)
                busy -= at[MODE, k] == IDLE
        if second:
            estimate(pb, wk, 1.0 / control[STEP_T], 1.0 / control[STEP_U])
        for k in range(width):
            if at[MODE, k] == SECOND:
                at[MODE, k] = judge(wk, control, counters, where_, k)
                busy -= at[MODE, k] == IDLE
        if some(at[SPAN] > 1.0):
            for k in range(width):
                if at[MODE, k] == TAKEN:
                    write_within(wk, st, k, out_T, out_u, out_led, out_grate)
        take(wk, st)
        ended, finished = False, False
        for k in range(width):
            if at[MODE, k] == TAKEN:
                at[TIME, k] += at[STEP, k]
                if at[TIME, k] >= 3600.0 * at[SPAN, k] - 1e-6:
                    at[MODE, k] = HOUR_END
                    ended = True
                    at[HOUR, k] += at[SPAN, k] - 1.0
                    finished = finished or at[HOUR, k] == at[LAST, k] - 1.0
        if finished:
            settle(pb, wk, st)
        if ended:
            for k in range(width):
                if at[MODE, k] == HOUR_END:
                    write_hour(wk, st, k, int(at[HOUR, k]), out_T, out_u, out_led, out_grate)
                    at[HOUR, k] += 1.0
                    if at[HOUR, k] >= at[LAST, k]:
                        st.memory[0, k] = at[NEXT, k]
                        at[HOUR, k] = at[LAST, k] - 1.0
                        at[MODE, k] = IDLE
                        busy -= 1
        start_step(pb, ld, wk, st, control)
