"""A capillary surface that has a state of its own: evaporation, rain, run-off."""

from __future__ import annotations

from typing import NamedTuple

from hygro.constants import HEAT_CAPACITY_VAPOUR as C_VAP
from hygro.constants import HEAT_CAPACITY_WATER as C_W
from hygro.constants import HEAT_OF_EVAPORATION as L_V
from hygro.constants import REFERENCE_TEMPERATURE as T_REF
from hygro.constants import ZERO_CELSIUS as T0
from hygro.solve.columns import B_BETA, B_H, B_P, B_RADIATION, B_RAIN, B_T
from hygro.solve.control import (
    POTENTIAL_CLOSE,
    POTENTIAL_TURNS,
    SURFACE_CLOSE,
    SURFACE_CLOSE_U,
    SURFACE_STEP,
    SURFACE_TURNS,
)
from hygro.solve.dual import chain, value
from hygro.solve.kernels.arrays import BLOCK, FREEZING, PER_FREE
from hygro.solve.kernels.cell import values_of
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.dry_surface import Surface
from hygro.solve.kernels.layout import CURVE_ROWS, CURVES_AT, RH, THERMAL, THETA
from hygro.solve.kernels.lookup import equilibrium, saturations_of
from hygro.solve.kernels.unknowns import holding_surface, of_Ts, of_us, over_Ts, over_us
from hygro.solve.lanes import Number, least, most, rows_of_8, some, where


class Loads(NamedTuple):
    """What acts on a surface: air [K], [Pa], films, radiation [W/m²], rain [kg/(m²·s)]."""

    T: Number
    p: Number
    h: Number
    beta: Number
    radiation: Number
    rain: Number
    eps: Number


class Water(NamedTuple):
    """Vapour from the air, vapour and liquid into the cell [kg/(m²·s)], vapour pressure [Pa]."""

    air: Number
    vapour: Number
    liquid: Number
    p: Number


@inlined
def water_flows(tab, block, b, c, Ts, ps, us):
    """Water that comes to a surface at Ts, us and goes on into the half cell.

    Vapour pressure at the surface: min(rh p_water, p_ice).
    Liquid: (T + Ts)/(2 T_ref) (Theta_s - Theta) - (Ts - T) (kt_s + kt)/2 over half a cell.
    """
    r = rows_of_8(tab, block + CURVES_AT, value(us), CURVE_ROWS, CURVE_ROWS)
    p = least(chain(r[RH], r[8 + RH], us) * ps.water, ps.ice)
    rise = chain(r[THETA], r[8 + THETA], us) - c.th
    both = chain(r[THERMAL], r[8 + THERMAL], us) + c.kt
    core = (0.5 / T_REF) * (c.T + Ts) * rise + 0.5 * (c.T - Ts) * both
    return Water(b.beta * (b.p - p), (p - c.pv) / c.rv, (2.0 / c.dx) * c.fl * core, p)


@inlined
def heat_balance(b, R, c, Ts, water):
    """Film, radiation and latent heat of what evaporates at the surface, less conduction."""
    latent = (water.air - water.vapour) * (L_V + (C_VAP - C_W) * (Ts - T0))
    film = b.h * (b.T - Ts) + b.radiation - b.eps * Ts * Ts * Ts * Ts
    return film + latent - (Ts - c.T) / R


@inlined
def surface_potential(tab, block, b, c, Ts, ps, guess, open_):
    """Moisture potential of a capillary surface from its water balance; at most free saturation.

    Lanes that are not `open_` keep their guess.
    """
    full = water_flows(tab, block, b, c, Ts, ps, 0.0 * guess + 1.0)
    f = full.air + b.rain - full.vapour - full.liquid
    us = where(open_ & (f >= 0.0), 1.0, where(open_, least(guess, 1.0 - 1e-9), guess))
    open_ = open_ & (f < 0.0)
    low, high = 0.0 * us, 0.0 * us + 1.0
    for _ in range(POTENTIAL_TURNS):
        if not some(open_):
            break
        x = water_flows(tab, block, b, c, Ts, ps, of_us(us))
        balance = x.air + b.rain - x.vapour - x.liquid
        f, slope = value(balance), over_us(balance)
        low, high = where(f > 0.0, us, low), where(f > 0.0, high, us)
        new = us - f / slope
        good = (slope < 0.0) & (low < new) & (new < high)
        new = where(good, new, 0.5 * (low + high))
        moved = abs(new - us)
        us = where(open_, new, us)
        open_ = open_ & (moved >= POTENTIAL_CLOSE)
    return us


@inlined
def falls(water):
    """Slope of the water balance over the potential of the surface; never quite zero."""
    return least(over_us(water), -1e-30)


@inlined
def resolved(x, dTs, dus):
    """X with the surface's own state followed: Ts moves by dTs and us by dus with the cell."""
    return holding_surface(x) + over_Ts(x) * dTs + over_us(x) * dus


@compiled
def wet_surface(pb, i, R, eps, imposed, c, s, loads, node, open_):
    """Capillary surface with a state of its own (temperature, potential); see `Surface`.

    Water (10): film + rain = vapour + liquid into the cell, at most free saturation (the rest of
    the rain runs off). Heat: film + radiation + latent heat of what changes phase at the surface =
    conduction into the cell (11). Lanes that are not `open_` are undefined.
    """
    b = Loads(
        loads[s, B_T], loads[s, B_P], loads[s, B_H], loads[s, B_BETA], loads[s, B_RADIATION],
        loads[s, B_RAIN], eps,
    )  # fmt: skip
    tab, freezes = pb.tab, pb.flags[FREEZING]
    block, held, R_held = pb.cell[i, BLOCK], values_of(c), value(R)
    Ts = b.T if imposed != 0 else held.T
    us = 0.5 * held.rh + 0.5 * least(held.w * pb.cell[i, PER_FREE], 1.0)
    if imposed != 0:
        us = equilibrium(tab, node, block, b.p / saturations_of(tab, Ts, freezes).water)
    else:
        for _ in range(SURFACE_TURNS):
            us = surface_potential(
                tab, block, b, held, Ts, saturations_of(tab, Ts, freezes), us, open_
            )
            T_, u_ = of_Ts(Ts), of_us(us)
            x = water_flows(tab, block, b, held, T_, saturations_of(tab, T_, freezes), u_)
            water = x.air + b.rain - x.vapour - x.liquid
            heat = heat_balance(b, R_held, held, T_, x)
            # the potential moves with the temperature where the surface is not saturated
            follows = where(us < 1.0, -over_Ts(water) / falls(water), 0.0)
            step = -value(heat) / (over_Ts(heat) + over_us(heat) * follows)
            step = most(least(step, SURFACE_STEP), -SURFACE_STEP)
            Ts = where(open_, Ts + step, Ts)
            us = where(open_ & (us < 1.0), most(least(us + follows * step, 1.0), 1e-9), us)
            # what is left goes with the square of the step
            moves = (abs(step) >= SURFACE_CLOSE) | (abs(follows * step) >= SURFACE_CLOSE_U)
            open_ = open_ & moves
            if not some(open_):
                break
    T_, u_ = of_Ts(Ts), of_us(us)
    x = water_flows(tab, block, b, c, T_, saturations_of(tab, T_, freezes), u_)
    energy = (T_ - c.T) / R
    theta = 0.5 * (T_ + c.T) - T0
    energy = energy + x.vapour * (L_V + C_VAP * theta) + x.liquid * (C_W * theta)
    dTs = dus = 0.0 * holding_surface(energy)
    rain = 0.0 * energy
    if imposed == 0:
        free = us < 1.0
        water = x.air + b.rain - x.vapour - x.liquid
        heat = heat_balance(b, R, c, T_, x)
        # one more step of both balances carries the slopes
        follows = where(free, -over_Ts(water) / falls(water), 0.0)
        at = where(free, -holding_surface(water) / falls(water), 0.0)
        own = over_Ts(heat) + over_us(heat) * follows
        dTs = -(holding_surface(heat) + over_us(heat) * at) / own
        dus = at + follows * dTs
        rain = where(free, b.rain, x.vapour + x.liquid - x.air)
        # rain comes with the temperature of the air
        energy += most(rain, 0.0) * C_W * (b.T - T0 - theta)
    energy, rain = resolved(energy, dTs, dus), resolved(rain, dTs, dus)
    vapour = resolved(x.vapour, dTs, dus) + resolved(x.liquid, dTs, dus) - rain
    return Surface(energy, vapour, rain, resolved(T_, dTs, dus), resolved(x.p, dTs, dus))
