"""The half cell between a cell and a face that no liquid crosses.

Inside of it liquid still moves, so the face has a moisture potential of its own, and what the half
cell lets through bends with it:

    g = (p - p_f) / r_v + (2/dx) f_l (Theta - Theta_f),   p_f = rh(u_f) p_1          (12)

with p, Theta of the cell, p_1 its vapour pressure per rh and r_v its vapour resistance. The face is
sought by Newton, with g straightened about its last state as (drive - p_f) / r; what it gives at
the end is (12) to second order, and its slopes are exact.
"""

from __future__ import annotations

from typing import NamedTuple

from hygro.constants import ZERO_CELSIUS as T0
from hygro.solve.control import HALF_CLOSE, HALF_STEP, HALF_TURNS, LEAST_RISE, U_FACE, U_MIN
from hygro.solve.dual import chain, value
from hygro.solve.kernels.arrays import BLOCK, FREEZING, FULL_TH, W_FREE
from hygro.solve.kernels.cell import unfrozen, values_of
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.layout import (
    CURVE_ROWS,
    CURVES_AT,
    RH,
    THETA,
)
from hygro.solve.kernels.lookup import saturations_of
from hygro.solve.kernels.unknowns import over_own_u
from hygro.solve.lanes import Number, least, most, rows_of_8, some, where


class Face(NamedTuple):
    """State of a face: potential, rh and liquid potential, slopes of both over the first."""

    u: Number
    rh: Number
    rh_u: Number
    th: Number
    th_u: Number


class Half(NamedTuple):
    """A half cell about a state of its face: p [Pa] and dp/du there; g = (drive - p_f) / r."""

    p: Number
    p_u: Number
    drive: Number
    r: Number


@inlined
def either(mask, x, y):
    """Half cell x in the lanes of the mask, else y."""
    return Half(
        where(mask, x.p, y.p), where(mask, x.p_u, y.p_u), where(mask, x.drive, y.drive),
        where(mask, x.r, y.r),
    )  # fmt: skip


@inlined
def like_cell(c):
    """The face in the state of its cell."""
    return Face(
        value(c.u), value(c.rh), over_own_u(c.rh), value(c.th), over_own_u(c.th)
    )  # fmt: skip


@inlined
def half_about(c, face):
    """(12) straightened about a state of the face; vapour alone where nothing is capillary."""
    p, p_u, drive, r = c.pv, value(c.ph), c.pv, c.rv
    if some(c.mo != 0.0):
        capillary = c.mo != 0.0
        p = where(capillary, face.rh * c.ph, c.pv)
        rise = most(face.rh_u, LEAST_RISE) * c.ph
        liquid = where(capillary, (2.0 / c.dx) * c.fl, 0.0)
        share = 1.0 / (1.0 + c.rv * liquid * face.th_u / rise)
        r = c.rv * share
        drive = p + (c.pv - p) * share + liquid * (c.th - face.th) * r
        p_u = value(rise)
    return Half(p, p_u, drive, r)


@inlined
def moved(pb, i, c, face, half, p):
    """The face for the next turn, at the pressure p it should have, and where it moved."""
    step = most(least((p - half.p) / half.p_u, HALF_STEP), -HALF_STEP)
    new = most(least(face.u + step, U_FACE), U_MIN)
    moves = (c.mo != 0.0) & (abs(new - face.u) > HALF_CLOSE)
    if some(moves):
        # a lane that is there stays as it is, whatever the others still do
        u = where(moves, new, face.u)
        r = rows_of_8(pb.tab, pb.cell[i, BLOCK] + CURVES_AT, u, CURVE_ROWS, CURVE_ROWS)
        face = Face(
            u,
            where(moves, r[RH], face.rh),
            where(moves, r[8 + RH], face.rh_u),
            where(moves, r[THETA], face.th),
            where(moves, r[8 + THETA], face.th_u),
        )
    return face, moves


@compiled
def wettest(pb, i, c):
    """Liquid potential of a face at free saturation, below 0 °C where its water freezes."""
    full = pb.cell[i, FULL_TH] + 0.0 * c.T
    if pb.flags[FREEZING] != 0 and some(c.T < T0):
        block, p = pb.cell[i, BLOCK], saturations_of(pb.tab, c.T, 1)
        u = 0.5 * (p.ice / p.water + unfrozen(pb.tab, block, c.T) / pb.cell[i, W_FREE])
        q = rows_of_8(pb.tab, block + CURVES_AT, value(u), CURVE_ROWS, CURVE_ROWS)
        full = where(c.T < T0, chain(q[THETA], q[8 + THETA], u), full)
    return full


@compiled
def intake(pb, i, c):
    """Most that half cell i takes in through vapour. [kg/(m²·s)]

        g_max = (2/dx) f_l (Theta_max - Theta) + (p_sat - p) / r_v  (15)

    Its face is at most at free saturation, below 0 °C at the humidity at which its water freezes.
    What more comes stays where it condenses, outside of it.
    """
    liquid = (2.0 / c.dx) * c.fl * (wettest(pb, i, c) - c.th)
    return where(c.mo != 0.0, most(liquid + (c.ps - c.pv) / c.rv, 0.0), 1e30)


@compiled
def half_towards(pb, i, c, p, R):
    """Half cell i at its face, beyond which lies the resistance R to the vapour pressure p."""
    face = like_cell(c)
    if some(c.mo != 0.0):
        held, far = values_of(c), value(R)
        for _ in range(HALF_TURNS):
            half = half_about(held, face)
            at = half.drive + (p - half.drive) * half.r / (half.r + far)
            face, moves = moved(pb, i, held, face, half, at)
            if not some(moves):
                break
    return half_about(c, face)


@compiled
def half_giving(pb, i, c, g):
    """Half cell i at its face, out of which the flow g goes."""
    face = like_cell(c)
    if some(c.mo != 0.0):
        held = values_of(c)
        for _ in range(HALF_TURNS):
            half = half_about(held, face)
            face, moves = moved(pb, i, held, face, half, half.drive - g * half.r)
            if not some(moves):
                break
    return half_about(c, face)


@compiled
def halves_across(pb, f, a, c, Z):
    """The half cells on both sides of face f, with the sheet Z between them."""
    outer, inner = like_cell(a), like_cell(c)
    if some((a.mo != 0.0) | (c.mo != 0.0)):
        held_a, held_c, sheet = values_of(a), values_of(c), value(Z)
        for _ in range(HALF_TURNS):
            x, y = half_about(held_a, outer), half_about(held_c, inner)
            g = (x.drive - y.drive) / (x.r + y.r + sheet)
            outer, moves_a = moved(pb, f - 1, held_a, outer, x, x.drive - g * x.r)
            inner, moves_c = moved(pb, f, held_c, inner, y, y.drive + g * y.r)
            if not some(moves_a | moves_c):
                break
    return half_about(a, outer), half_about(c, inner)
