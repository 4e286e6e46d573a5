"""A surface that vapour alone crosses."""

from __future__ import annotations

from typing import NamedTuple

from hygro.constants import HEAT_CAPACITY_VAPOUR as C_VAP
from hygro.constants import HEAT_OF_EVAPORATION as L_V
from hygro.constants import ZERO_CELSIUS as T0
from hygro.solve.columns import B_BETA, B_H, B_P, B_RADIATION, B_T
from hygro.solve.control import DRY_CLOSE, DRY_TURNS
from hygro.solve.dual import value
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.half import half_towards
from hygro.solve.kernels.lookup import saturation_at, sheet_at
from hygro.solve.lanes import Number, least, some, where


class Surface(NamedTuple):
    """Energy, vapour and rain into the cell at a surface, with slopes; surface T [K], p [Pa]."""

    e: Number
    v: Number
    rain: Number
    T: Number
    p: Number


@inlined
def surface_temperature(h, Ta, radiation, eps, R, T):
    """Film and radiation in, conduction on: h (T_air - Ts) + q - eps Ts⁴ = (Ts - T) / R  (8)."""
    held, per = value(T), 1.0 / value(R)
    Ts, drop = held, h + per
    moves = h == h
    for _ in range(DRY_TURNS):
        cube = eps * Ts * Ts * Ts
        now = h + 4.0 * cube + per
        f = (h * (Ta - Ts) + radiation - cube * Ts - (Ts - held) * per) / now
        drop = where(moves, now, drop)
        Ts = where(moves, Ts + f, Ts)
        moves = moves & (eps > 0.0) & (abs(f) >= DRY_CLOSE)
        if not some(moves):
            break
    # one more step carries the slopes
    return Ts + (h * (Ta - Ts) + radiation - eps * Ts * Ts * Ts * Ts - (Ts - T) / R) / drop


@compiled
def dry_surface(pb, i, R, sheet, first, eps, imposed, c, s, b):
    """Evaporation happens in the cell; see `surface_flux`.

    q = (Ts - T) / R + g (L_v + c_v theta),   g = (p_air - p) / (1/beta + Z + r_v)           (9)
    """
    Ta, p = b[s, B_T], b[s, B_P]
    film = 0.0 * Ta
    Ts = Ta
    if imposed == 0:
        Ts = surface_temperature(b[s, B_H], Ta, b[s, B_RADIATION], eps, R, c.T)
        film = 1.0 / b[s, B_BETA]
    Z = 0.0 * Ta
    if sheet:
        Z = sheet_at(pb.tab, first, 0.5 * (c.rh + least(p / saturation_at(pb.tab, Ta), 1.0)))
    half = half_towards(pb, i, c, p, film + Z)
    vapour = (p - half.drive) / (film + Z + half.r)
    energy = (Ts - c.T) / R + vapour * (L_V + C_VAP * (0.5 * (Ts + c.T) - T0))
    return Surface(energy, vapour, 0.0 * vapour, Ts, p - vapour * film)
