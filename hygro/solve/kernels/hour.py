"""Loads of an hour, air through gaps, the first step after a jump."""

from __future__ import annotations

import math

from hygro.constants import AIR_DENSITY as RHO_AIR
from hygro.constants import GRAVITY as G_EARTH
from hygro.constants import STANDARD_PRESSURE
from hygro.solve.columns import B_H, B_P, B_RADIATION, B_RAIN, B_T
from hygro.solve.control import ONSET_RATE, ONSET_T, RADIATION_H
from hygro.solve.dual import value
from hygro.solve.kernels.arrays import (
    DEADBAND,
    FREEZING,
    HEIGHT,
    HOUR,
    HOUR_END,
    JUMP,
    MAX_STEP,
    MODE,
    OPENING,
    OPENINGS,
    WIND,
)
from hygro.solve.kernels.cell import a_cell, as_outside, inner_side
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.gap import gap_nodes
from hygro.solve.lanes import where, width_of

LIGHTER = 0.378 / STANDARD_PRESSURE
"""By how much vapour of a pressure makes air lighter, at standard pressure. [1/Pa]"""


@inlined
def loads_at(ld, wk, k, hour, x):
    """Surface loads of lane k at the fraction x of an hour: instants linear, means constant."""
    for s in range(2):
        for c in range(4):
            lo = ld.instant[k, hour, s, c]
            wk.b[s, c, k] = lo + x * (ld.instant[k, hour + 1, s, c] - lo)
        wk.b[s, B_RADIATION, k] = ld.mean[k, hour, s, 0]
        wk.b[s, B_RAIN, k] = ld.mean[k, hour, s, 1]
    lo = ld.source_instant[k, hour]
    wk.room_p[0, k] = lo + x * (ld.source_instant[k, hour + 1] - lo)


@compiled
def hour_loads(ld, wk, k, hour):
    """Loads of lane k that hold for a whole hour: sources and air through the wall."""
    wk.air[0, k] = ld.air[k, hour]
    for s in range(len(wk.source_rate)):
        wk.source_rate[s, k] = ld.source[k, hour, s]


@compiled
def gap_rates(pb, ld, wk, st):
    """Air flow through each gap in the hour [m³/(s·m²)]: given, or from wind and buoyancy.

    Openings: V = Cd A / sqrt(2) sqrt(2 dp / rho) per metre width over the height between them, dp
    from wind 0.5 rho Cp v² and from the density difference of gap and outdoor air, both thermal and
    by vapour (virtual temperature). The gap state is that at the start of the hour. Lanes in the
    mode `HOUR_END` get their flow.
    """
    at, node, width = wk.at, wk.node, width_of(wk.at)
    for g in range(len(pb.gaps)):
        f = pb.gaps[g]
        for k in range(width):
            hour = int(at[HOUR, k])
            node[0, k] = ld.instant[k, hour, 0, B_T]
            node[1, k] = ld.instant[k, hour, 0, B_P]
            node[2, k] = ld.gap_rate[k, hour, g]
        rate = node[2]
        if pb.flags[OPENINGS] != 0:
            To, po = node[0], node[1]
            tab, freezing = pb.tab, pb.flags[FREEZING]
            a = a_cell(tab, pb.cell, f - 1, freezing, st.T[f - 1], st.u[f - 1])
            a = as_outside(inner_side(pb.cell, f - 1, a))
            c = a_cell(tab, pb.cell, f, freezing, st.T[f], st.u[f])
            N = gap_nodes(pb, f, g, a, c, st.memory[4 + g], wk.air[0], To, po)
            wet = LIGHTER * RHO_AIR / pb.air_density[0]
            light_o = To * (1.0 + wet * po)
            light_g = value(N.air) * (1.0 + wet * value(N.pa))
            tall = pb.gap[g, HEIGHT]
            node[3] = RHO_AIR * G_EARTH * tall * (light_g - light_o) / light_g
            for k in range(width):
                speed = ld.wind[k, int(at[HOUR, k])]
                dp = abs(node[3, k] + 0.5 * RHO_AIR * pb.gap[g, WIND, k] * speed**2)
                node[3, k] = math.sqrt(dp / RHO_AIR)
            given = rate
            opening = pb.gap[g, OPENING]
            rate = where(opening > 0.0, opening * node[3] / tall, given)
        mine = at[MODE] == HOUR_END
        wk.gap_rate[g] = where(mine, rate, wk.gap_rate[g])
        st.memory[4 + g] = where(mine, rate, st.memory[4 + g])


@compiled
def onset(now, before):
    """Jump of water or air in kelvin of a surface: 20 K for a shower or a leak that starts. [K]"""
    change = abs(now - before)
    return ONSET_T * change / (change + ONSET_RATE)


@compiled
def after_jump(ld, sources, k, hour, control):
    """First step of an hour by how far its means jump from those of the hour before. [s]

    Radiation counts as the change of surface temperature it would bring; rain as its onset or end.
    """
    worst = 0.0
    for s in range(2):
        jump = abs(ld.mean[k, hour, s, 0] - ld.mean[k, hour - 1, s, 0])
        worst = max(worst, jump / (ld.instant[k, hour, s, B_H] + RADIATION_H))
        worst = max(worst, onset(ld.mean[k, hour, s, 1], ld.mean[k, hour - 1, s, 1]))
    for i in range(sources):
        worst = max(worst, onset(ld.source[k, hour, i], ld.source[k, hour - 1, i]))
    felt = max(worst - control[DEADBAND], 0.0)
    return control[MAX_STEP] / (1.0 + math.sqrt(felt * control[JUMP]))


@inlined
def write_hour(wk, st, k, hour, out_T, out_u, out_led, out_grate):
    """Lane k at the end of an hour, which is counted from 1."""
    n, entries, gaps = len(st.T), len(wk.hour_led), len(wk.gap_rate)
    for i in range(n):
        out_T[hour * n + i, k], out_u[hour * n + i, k] = st.T[i, k], st.u[i, k]
    for e in range(entries):
        out_led[(hour - 1) * entries + e, k] = wk.hour_led[e, k]
        wk.hour_led[e, k] = 0.0
    for g in range(gaps):
        out_grate[(hour - 1) * gaps + g, k] = wk.gap_rate[g, k]
