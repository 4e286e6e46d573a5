"""What leaks, wettings and leaking air bring to a cell, and what drains from it."""

from __future__ import annotations

from hygro.constants import GAS_CONSTANT_VAPOUR as R_V
from hygro.constants import HEAT_CAPACITY_VAPOUR as C_VAP
from hygro.constants import HEAT_CAPACITY_WATER as C_W
from hygro.constants import HEAT_OF_EVAPORATION as L_V
from hygro.constants import REFERENCE_TEMPERATURE as T_REF
from hygro.constants import ZERO_CELSIUS as T0
from hygro.solve.kernels.arrays import BROUGHT, CAP, DRAIN, DROP, LEAK, TOOK, W_CAP
from hygro.solve.kernels.compiler import compiled
from hygro.solve.kernels.layout import DRAIN_TIME, FILL_TIME
from hygro.solve.lanes import most, some, where


@compiled
def source_flux(pb, wk, i, c, drains):
    """What rain leaks, wettings and leaking air bring to cell i, and what drains from it.

    Fills row i of wk.cell_led (`TOOK`, `DRAIN`, `DROP`, `BROUGHT`, each with slopes over T and u).
    """
    zero = 0.0 * c.dx
    theta = c.T - T0
    took, took_u, drain, drain_u = zero, zero, zero, zero
    drop, drop_T, drop_u = zero, zero, zero
    for s in range(pb.source.shape[0]):
        if not pb.source[s, 1] <= i < pb.source[s, 2]:
            continue
        share = wk.source_rate[s] * c.dx / pb.source_length[s]
        if pb.source[s, 0] == 0:
            room = (pb.cell[i, W_CAP] - c.w) * c.dx
            tight = room < share * FILL_TIME
            g = where(tight, most(room, 0.0) * (1.0 / FILL_TIME), share)
            g_u = where(tight & (room > 0.0), c.w_u * c.dx * (-1.0 / FILL_TIME), 0.0)
            took, took_u = took + g, took_u + g_u
            drain, drain_u = drain + (share - g), drain_u - g_u
            wk.led[LEAK, 0] = wk.led[LEAK, 0] + share
        else:
            share = share * (1.0 / (R_V * T_REF))
            room_p = wk.room_p[0]
            wets, dries = room_p > c.ps, room_p < c.pv
            g = where(wets, share * (room_p - c.ps), where(dries, share * (room_p - c.pv), 0.0))
            drop = drop + g
            drop_T = drop_T + where(wets, -share * c.ps_T, where(dries, -share * c.pv_T, 0.0))
            drop_u = drop_u + where(wets, 0.0, where(dries, -share * c.pv_u, 0.0))
    if drains:
        over = c.u > pb.cell[i, CAP]
        g = where(over, (pb.cell[i, W_CAP] - c.w) * c.dx * (1.0 / DRAIN_TIME), 0.0)
        g_u = where(over, c.w_u * c.dx * (-1.0 / DRAIN_TIME), 0.0)
        took, took_u = took + g, took_u + g_u
        drain, drain_u = drain - g, drain_u - g_u
    hw, hv = C_W * theta, L_V + C_VAP * theta
    led = wk.cell_led
    led[i, TOOK], led[i, TOOK + 1], led[i, TOOK + 2] = took, zero, took_u
    led[i, DRAIN], led[i, DRAIN + 1], led[i, DRAIN + 2] = drain, zero, drain_u
    led[i, DROP], led[i, DROP + 1], led[i, DROP + 2] = drop, drop_T, drop_u
    led[i, BROUGHT] = took * hw + drop * hv
    led[i, BROUGHT + 1] = took * C_W + drop_T * hv + drop * C_VAP
    led[i, BROUGHT + 2] = took_u * hw + drop_u * hv


@compiled
def reached(pb, wk, i):
    """Whether a source that runs now reaches cell i."""
    for s in range(pb.source.shape[0]):
        if pb.source[s, 1] <= i < pb.source[s, 2] and some(wk.source_rate[s] != 0.0):
            return True
    return False
