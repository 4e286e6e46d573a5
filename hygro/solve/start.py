"""The state that a run starts from."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from hygro.errors import InputError
from hygro.solve.tables import (
    potential_at_rh,
    potential_at_water_content,
)
from hygro.wall.grid import Grid
from hygro.wall.loads import Loads
from hygro.wall.wall import Wall


def initial_state(
    wall: Wall, grid: Grid, loads: Loads
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Temperature [K] and moisture potential [1] of each cell at the start."""
    T_out, T_in = loads.outside.temperature[0], loads.inside.temperature[0]
    T = T_out + (T_in - T_out) * grid.node / wall.thickness
    u = np.empty_like(T)
    for index, layer in enumerate(wall.solids):
        cells = grid.layer == index
        start = wall.initial_of(layer)
        if start.temperature is not None:
            T[cells] = start.temperature
        content = start.content(layer.material)
        if content is not None:
            w = content * layer.material.density
            if not 0 <= w <= layer.material.w_max:
                full = layer.material.w_max / layer.material.density
                raise InputError(
                    f"wall '{wall.name}', layer '{layer.name}': initial moisture content = "
                    f"{content:g} kg/kg: must be 0-{full:.3g} (full pores); is it "
                    "in per cent?"
                )
            u[cells] = potential_at_water_content(layer.material, w)
        else:
            u[cells] = potential_at_rh(layer.material, start.rh)
    return T, u
