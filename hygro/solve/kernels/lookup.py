"""Curves read from the tables of a wall: values and slopes. Knows the layout of the tables."""

from __future__ import annotations

import math
from typing import NamedTuple

from hygro.solve.dual import chain, value
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.layout import (
    CURVE_ROWS,
    CURVES_AT,
    LN_S_INV,
    LN_S_MAX,
    LN_S_MIN,
    OVER_WATER,
    POTENTIAL_AT,
    PRESSURE,
    SHEET_ROWS,
    SUCTION_AT,
    T_ROWS,
    T_TABLE_INV,
    T_TABLE_MIN,
)
from hygro.solve.lanes import Number, least, most, row_of_1, rows_of_4, where, width_of


@inlined
def cubic_at(tab, first, x, columns, last):
    """Value and slope over x of one cubic of a table in rows of `columns`; floats."""
    j = min(max(int(x), 0), last)
    t = x - j
    k = first + 4 * columns * j
    c0, c1, c2, c3 = tab[k], tab[k + columns], tab[k + 2 * columns], tab[k + 3 * columns]
    return ((c3 * t + c2) * t + c1) * t + c0, (3.0 * c3 * t + 2.0 * c2) * t + c1


@compiled
def curve_at(tab, block, column, u):
    """One material curve and its slope over the moisture potential."""
    y, y_x = cubic_at(tab, block + CURVES_AT + column, u * CURVE_ROWS, 8, CURVE_ROWS)
    return y, y_x * CURVE_ROWS


@compiled
def suction_at(tab, block, u):
    """ln(s) and its slope over u; cut at the wet end of the table."""
    y, y_x = cubic_at(tab, block + SUCTION_AT, u * CURVE_ROWS, 1, CURVE_ROWS)
    return y, y_x * CURVE_ROWS


@compiled
def potential_at(tab, block, ln_s):
    """U of a material at a given ln(s), and its slope."""
    x = (min(max(ln_s, LN_S_MIN), LN_S_MAX) - LN_S_MIN) * LN_S_INV
    y, y_x = cubic_at(tab, block + POTENTIAL_AT, x, 1, CURVE_ROWS - 1)
    return y, y_x * LN_S_INV


@inlined
def saturation_of(tab, T):
    """Saturation pressure. [Pa]"""
    x = value(T)
    q = rows_of_4(tab, 0.0 * x, x - T_TABLE_MIN, T_TABLE_INV, T_ROWS - 1)
    return chain(q[PRESSURE], q[4 + PRESSURE], T)


class Saturations(NamedTuple):
    """Saturation pressure over pore water, and what it cannot exceed below 0 °C. [Pa]"""

    water: Number
    ice: Number


@inlined
def saturations_of(tab, T, freezes):
    """Over water and over ice; both over ice where nothing freezes (ISO 13788)."""
    x = value(T)
    q = rows_of_4(tab, 0.0 * x, x - T_TABLE_MIN, T_TABLE_INV, T_ROWS - 1)
    ice = chain(q[PRESSURE], q[4 + PRESSURE], T)
    water = chain(q[OVER_WATER], q[4 + OVER_WATER], T)
    if freezes == 0:
        water = ice
    return Saturations(water, ice)


@compiled
def saturation_at(tab, T):
    """Saturation pressure in lanes, not inlined. [Pa]"""
    return saturation_of(tab, T)


@inlined
def sheet_at(tab, first, rh):
    """Vapour resistance of a sheet over the mean rh. [m²·s·Pa/kg]"""
    x = value(rh)
    r = row_of_1(tab, first, most(least(x, 1.0), 0.0), SHEET_ROWS, SHEET_ROWS - 1)
    return chain(r[0], where((x > 0.0) & (x < 1.0), r[1], 0.0), rh)


@compiled
def equilibrium(tab, node, block, rh):
    """Moisture potential at a relative humidity, in lanes."""
    node[0], node[1] = rh, block
    for k in range(width_of(node)):
        dry = max(-math.log(max(min(node[0, k], 1.0), 1e-17)), 1e-8)
        node[0, k], _ = potential_at(tab, int(node[1, k]), math.log(dry))
    return node[0]
