"""What leaks, wettings and leaking air bring to a cell, and what drains from it."""

from __future__ import annotations

from typing import NamedTuple

from hygro.constants import GAS_CONSTANT_VAPOUR as R_V
from hygro.constants import HEAT_CAPACITY_VAPOUR as C_VAP
from hygro.constants import HEAT_CAPACITY_WATER as C_W
from hygro.constants import HEAT_OF_EVAPORATION as L_V
from hygro.constants import REFERENCE_TEMPERATURE as T_REF
from hygro.constants import ZERO_CELSIUS as T0
from hygro.solve.columns import B_P, LEAK
from hygro.solve.dual import value
from hygro.solve.kernels.arrays import BROUGHT, CAP, DRAIN, DROP, TOOK, W_CAP
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.layout import DRAIN_TIME, FILL_TIME, FREEZING_RANGE
from hygro.solve.kernels.unknowns import over_T, over_u
from hygro.solve.lanes import Number, least, most, some, where


class Brought(NamedTuple):
    """Energy [W/m²] and water [kg/(m²·s)] that sources bring to a cell, with slopes."""

    q: Number
    v: Number


@inlined
def rain_uptake(share, room):
    """A leak fills what room there is, within `FILL_TIME`; the rest drains; (13). [kg/(m²·s)]"""
    return least(share, most(room, 0.0) * (1.0 / FILL_TIME))


@inlined
def air_drop(rate, room_p, outdoor_p, c):
    """Water that leaking air drops in a cell, or dries from it. [kg/(m²·s)]

        g = |V| / (R_v T_ref) (p_air - p_sat) where p_air > p_sat, (p_air - p) where p_air < p  (14)

    Room air where it flows out (V > 0), outdoor air where it flows in. It leaves at saturation
    where it comes wetter, at the state of the cell where it comes drier.
    """
    per = abs(rate) * (1.0 / (R_V * T_REF))
    p = where(rate > 0.0, room_p, outdoor_p)
    dries = where(p < c.pv, per * (p - c.pv), 0.0)
    return where(p > c.ps, per * (p - c.ps), dries)


@compiled
def source_flux(pb, wk, i, c, drains):
    """What rain leaks, wettings and leaking air bring to cell i, and what drains from it.

    Fills row i of wk.cell_led (`TOOK`, `DRAIN`, `DROP`, `BROUGHT`, each with slopes over T and u).
    """
    took = drain = drop = 0.0 * c.w * c.T
    room = (pb.cell[i, W_CAP] - c.w) * c.dx
    for s in range(pb.source.shape[0]):
        if not pb.source[s, 1] <= i < pb.source[s, 2]:
            continue
        share = wk.source_rate[s] * c.dx / pb.source_length[s]
        if pb.source[s, 0] == 0:
            g = rain_uptake(share, room)
            took += g
            drain += share - g
            wk.led[LEAK, 0] = wk.led[LEAK, 0] + share
        else:
            drop += air_drop(share, wk.room_p[0], wk.b[0, B_P], c)
    if drains:
        # ice does not run off
        z = most(least((c.T - T0) * (1.0 / FREEZING_RANGE), 1.0), 0.0)
        g = where(c.u > pb.cell[i, CAP], room * (z * z * (3.0 - 2.0 * z) / DRAIN_TIME), 0.0)
        took += g
        drain -= g
    theta = c.T - T0
    energy = took * (C_W * theta) + drop * (L_V + C_VAP * theta)
    book(wk.cell_led, i, TOOK, took)
    book(wk.cell_led, i, DRAIN, drain)
    book(wk.cell_led, i, DROP, drop)
    book(wk.cell_led, i, BROUGHT, energy)
    return Brought(energy, took + drop)


@inlined
def book(led, row, at, x):
    """A value and its slopes over T and u, from column `at` on."""
    led[row, at], led[row, at + 1], led[row, at + 2] = value(x), over_T(x), over_u(x)


@compiled
def reached(pb, wk, i):
    """Whether a source that runs now reaches cell i."""
    for s in range(pb.source.shape[0]):
        if pb.source[s, 1] <= i < pb.source[s, 2] and some(wk.source_rate[s] != 0.0):
            return True
    return False
