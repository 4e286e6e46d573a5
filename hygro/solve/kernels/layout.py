"""Layout of the table of a material. Owns sizes and places; see `hygro.solve.tables`."""

from __future__ import annotations

import math

from hygro.constants import ZERO_CELSIUS as T0

# one block of the table per material: rows of cubic coefficients, lowest power first; see `tables`
T_ROWS, CURVE_ROWS, SHEET_ROWS, ICE_ROWS = 400, 512, 64, 1600
CURVES_AT = 16 * T_ROWS
SUCTION_AT = CURVES_AT + 32 * (CURVE_ROWS + 1)
POTENTIAL_AT = SUCTION_AT + 4 * (CURVE_ROWS + 1)
UNFROZEN_AT = POTENTIAL_AT + 4 * CURVE_ROWS
MATERIAL_SIZE = -(-(UNFROZEN_AT + 4 * ICE_ROWS) // 8) * 8
# a whole number of cache lines of 8, so that no row of curves lies across two
# places of the curves in a row
RH, W, RESISTIVITY, THETA, THERMAL, HEAT_RESISTIVITY, MOBILITY = range(7)
PRESSURE, LAW, FACTOR, OVER_WATER = range(4)

T_TABLE_MIN = T0 - 80.0
T_TABLE_INV = 2.0
ICE_MIN = T0 - 80.0
ICE_INV = 20.0
LN_S_MIN = math.log(1e-8)
LN_S_MAX = math.log(40.0)
LN_S_INV = CURVE_ROWS / (LN_S_MAX - LN_S_MIN)

FREEZING_RANGE = 0.2
"""Water beyond free saturation freezes within this below 0 °C, and drains within it above. [K]"""
FREEZING_ROUND = 0.01
"""Rounding of the onset of freezing in the pores, over free saturation. [1]"""
DRAIN_TIME = 600.0
"""Time constant in which water beyond the highest content runs off. [s]"""
FILL_TIME = 60.0
"""Time in which a leak may fill the room that is left. [s]"""
