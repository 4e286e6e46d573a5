"""A surface that vapour alone crosses."""

from __future__ import annotations

from typing import Any, NamedTuple

from hygro.constants import HEAT_CAPACITY_VAPOUR as C_VAP
from hygro.constants import HEAT_OF_EVAPORATION as L_V
from hygro.constants import ZERO_CELSIUS as T0
from hygro.solve.control import DRY_CLOSE, DRY_TURNS
from hygro.solve.kernels.arrays import (
    B_BETA,
    B_H,
    B_P,
    B_RADIATION,
    B_T,
)
from hygro.solve.kernels.cell import half_cell
from hygro.solve.kernels.compiler import inlined
from hygro.solve.kernels.lookup import saturation_at, sheet_at
from hygro.solve.lanes import least, some, where


class Surface(NamedTuple):
    """Energy, vapour and rain into the cell at a surface, over its T, u; surface T [K], p [Pa]."""

    e: Any
    e_T: Any
    e_u: Any
    v: Any
    v_T: Any
    v_u: Any
    rain: Any
    rain_T: Any
    rain_u: Any
    T: Any
    p: Any


@inlined
def dry_surface(tab, R, sheet, first, eps, imposed, c, s, b):
    """Surface that vapour alone crosses; evaporation happens in the cell. See `surface_flux`."""
    Ta, h, p = b[s, B_T], b[s, B_H], b[s, B_P]
    zero = 0.0 * Ta
    per = 1.0 / R
    Ts, Ts_T, Ts_R = Ta, zero, zero
    if imposed == 0:
        Ts = c.T
        drop = h + per
        moves = h == h
        for _ in range(DRY_TURNS):
            cube = eps * Ts * Ts * Ts
            now = h + 4.0 * cube + per
            f = (h * (Ta - Ts) + b[s, B_RADIATION] - cube * Ts - (Ts - c.T) * per) / now
            drop = where(moves, now, drop)
            Ts = where(moves, Ts + f, Ts)
            moves = moves & (eps > 0.0) & (abs(f) >= DRY_CLOSE)
            if not some(moves):
                break
        Ts_T = per / drop
        Ts_R = (Ts - c.T) * per * Ts_T
    q = (Ts - c.T) * per
    q_R = (Ts_R - q) * per
    Ts_u = Ts_R * c.rk_u
    Ts_T += Ts_R * c.rk_T
    q_T = (Ts_T - 1.0 - q * c.rk_T) * per
    q_u = q_R * c.rk_u
    film = zero if imposed != 0 else 1.0 / b[s, B_BETA]
    half, half_T, half_u = half_cell(c)
    Rv = film + half
    if sheet:
        mean = 0.5 * (c.rh + least(p / saturation_at(tab, Ta), 1.0))
        Z, Z_rh = sheet_at(tab, first, mean)
        Rv = film + Z + half
        half_u = half_u + 0.5 * Z_rh * c.rh_u
    y = 1.0 / Rv
    vap = (p - c.pv) * y
    vap_T = -(c.pv_T + vap * half_T) * y
    vap_u = -(c.pv_u + vap * half_u) * y
    hv = L_V + C_VAP * (0.5 * (Ts + c.T) - T0)
    return Surface(
        q + vap * hv,
        q_T + vap_T * hv + vap * C_VAP * 0.5 * (Ts_T + 1.0),
        q_u + vap_u * hv + vap * C_VAP * 0.5 * Ts_u,
        vap, vap_T, vap_u, zero, zero, zero, Ts, p - vap * film,
    )  # fmt: skip
