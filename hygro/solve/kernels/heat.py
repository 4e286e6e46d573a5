"""The temperature at which a cell holds a given heat."""

from __future__ import annotations

from hygro.solve.control import HALVINGS, T_HIGH, T_LOW
from hygro.solve.dual import value
from hygro.solve.kernels.arrays import FREEZING
from hygro.solve.kernels.cell import a_cell
from hygro.solve.kernels.compiler import compiled
from hygro.solve.lanes import where


@compiled
def temperature_at(pb, i, u, heat):
    """T at which cell i holds some heat [J/m²] at the potential u, in lanes. [K]

    Heat rises with T at any water, however steeply while that freezes: halving always ends.
    """
    low, high = 0.0 * u + T_LOW, 0.0 * u + T_HIGH
    for _ in range(HALVINGS):
        T = 0.5 * (low + high)
        c = a_cell(pb.tab, pb.cell, i, pb.flags[FREEZING], T, u)
        below = c.dx * value(c.heat) < heat
        low, high = where(below, T, low), where(below, high, T)
    return 0.5 * (low + high)
