"""A wall on its grid as the arrays that the kernels read. Owns the mapping and its defaults."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from hygro.constants import STEFAN_BOLTZMANN
from hygro.errors import InputError
from hygro.solve import kernels
from hygro.solve.kernels import HourlyLoads, Problem
from hygro.solve.settings import Settings
from hygro.solve.tables import (
    excess_per_u,
    full_potential,
    material_table,
    potential_at_rh,
    potential_at_water_content,
    sheet_table,
    temperature_table,
)
from hygro.wall.assembly import AirLeak, Gap, Membrane, Openings, Place, Wall
from hygro.wall.grid import Grid, Interface
from hygro.wall.loads import LEWIS, Loads, radiation_constant, wall_sources

PLAIN, INTERFACE, GAP = 0, 1, 2


def build_problem(wall: Wall, grid: Grid, settings: Settings) -> Problem:
    """Arrays of a wall for the kernels; see `kernels.Problem`."""
    materials = [layer.material for layer in wall.layers]
    unique = list(dict.fromkeys(id(m) for m in materials))
    tables = [material_table(next(m for m in materials if id(m) == key)) for key in unique]
    mat = np.array([unique.index(id(m)) for m in materials])[grid.layer]
    n = len(mat)
    face = np.full((n + 1, 5), -1, dtype=np.int64)
    face[:, kernels.KIND] = PLAIN
    face[:, kernels.LIQUID] = _liquid(wall, grid, mat)
    contact = np.zeros(n + 1)
    cap = np.array([full_potential(m) for m in materials])[grid.layer]
    sheets = _Sheets(start=2 * kernels.T_ROWS + len(tables) * kernels.MATERIAL_ROWS)
    gaps: list[list[float]] = []
    for interface in grid.interfaces:
        f = interface.cell
        face[f, kernels.KIND] = GAP if interface.gap else INTERFACE
        face[f, kernels.SHEET_A] = sheets.add(interface.before)
        face[f, kernels.SHEET_B] = sheets.add(interface.after)
        contact[f] = sum(m.material.thermal_resistance for m in interface.before)
        if interface.gap is not None:
            face[f, kernels.GAP_INDEX] = len(gaps)
            gaps.append(_gap(interface.gap))
            _film(cap, interface, grid, wall)
    first, last, length = _source_cells(wall, grid)
    kinds = [int(isinstance(s, AirLeak)) for s in wall_sources(wall)]
    return Problem(
        tab=np.concatenate([temperature_table(), *(t.rows for t in tables), *sheets.rows]),
        scalars=np.stack([t.scalars for t in tables]),
        cell=np.stack([grid.thickness, cap], axis=1),
        mat=mat.astype(np.int64),
        face=face,
        contact=contact,
        gap=np.array(gaps, dtype=float).reshape(len(gaps), 7),
        source=np.array([kinds, first, last], dtype=np.int64).T.reshape(len(kinds), 3).copy(),
        source_length=np.array(length),
        side=np.array(
            [
                [radiation_constant(wall), float(wall.outside.imposed)],
                [0.0, float(wall.inside.imposed)],
            ]
        ),
        layer=grid.layer.astype(np.int64),
        flags=np.array([int(settings.freezing)]),
    )


class _Sheets:
    """Collects the resistance tables of sheets while the faces are read."""

    def __init__(self, start: int) -> None:
        self.start, self.rows = start, list[NDArray[np.float64]]()

    def add(self, membranes: tuple[Membrane, ...]) -> int:
        """First row of the table of these membranes in series; -1 for none."""
        if not membranes:
            return -1
        self.rows.append(sheet_table(tuple(m.material for m in membranes)))
        return self.start + (len(self.rows) - 1) * kernels.SHEET_ROWS


def hourly_loads(loads: Loads) -> HourlyLoads:
    """Loads as the kernels read them: own, writable arrays, so that one compilation serves all."""

    def own(values: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.array(values, dtype=np.float64, order="C")

    return HourlyLoads(
        instant=own(loads.instant),
        mean=own(loads.mean),
        gap_rate=own(loads.gap_rate),
        wind=own(loads.wind),
        source=own(loads.source),
        source_instant=own(loads.instant[:, 1, 1]),
        air=own(loads.air),
    )


def initial_state(
    wall: Wall, grid: Grid, loads: Loads
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Temperature [K] and moisture potential [1] of each cell at the start."""
    T_out, T_in = loads.instant[0, 0, 0], loads.instant[0, 1, 0]
    T = T_out + (T_in - T_out) * grid.depth / wall.thickness
    u = np.empty_like(T)
    for index, layer in enumerate(wall.layers):
        cells = grid.layer == index
        start = layer.initial
        if start.temperature is not None:
            T[cells] = start.temperature
        if start.moisture_content is not None:
            w = start.moisture_content * layer.material.density
            if not 0 <= w <= layer.material.w_max:
                raise InputError(
                    f"layer '{layer.name}': initial moisture content = {start.moisture_content:g} "
                    f"kg/kg: must be 0-{layer.material.w_max / layer.material.density:.3g} "
                    "(full pores); is it in per cent?"
                )
            u[cells] = potential_at_water_content(layer.material, w)
        elif 0 < start.rh <= 1:
            u[cells] = potential_at_rh(layer.material, start.rh)
        else:
            raise InputError(
                f"layer '{layer.name}': initial rh = {start.rh:g}: must be above 0 and at most 1; "
                "is it in per cent?"
            )
    return T, u


def _liquid(wall: Wall, grid: Grid, mat: NDArray[np.int64]) -> NDArray[np.int64]:
    n = len(mat)
    liquid = np.zeros(n + 1, dtype=np.int64)
    capillary = np.array([layer.material.liquid is not None for layer in wall.layers])[grid.layer]
    liquid[1:n] = (capillary[:-1] & capillary[1:]).astype(np.int64)
    for interface in grid.interfaces[1:-1]:
        f = interface.cell
        if not interface.contact:
            liquid[f] = 0
        elif liquid[f] and mat[f - 1] != mat[f]:
            liquid[f] = 2
    return liquid


def _gap(gap: Gap) -> list[float]:
    """Depth, radiation factor, coefficients per side, openings, height, wind coefficient.

    Convection surface to surface is max(1.25, 0.025/d) W/(m²·K) (ISO 6946, horizontal flow), each
    side having twice that; radiation between grey parallel planes.
    """
    across = max(1.25, 0.025 / gap.depth)
    h = gap.convection if gap.convection is not None else 2.0 * across
    grey = 1.0 / (1.0 / gap.emissivity_outer + 1.0 / gap.emissivity_inner - 1.0)
    openings = gap.air_change if isinstance(gap.air_change, Openings) else None
    return [
        gap.depth,
        grey * STEFAN_BOLTZMANN,
        h,
        LEWIS * h,
        openings.discharge * openings.area if openings else 0.0,
        openings.height if openings else 1.0,
        openings.wind_coefficient if openings else 0.0,
    ]


def _film(cap: NDArray[np.float64], interface: Interface, grid: Grid, wall: Wall) -> None:
    """Water above free saturation at a face of a gap drains once the film is full."""
    for cell in (interface.cell - 1, interface.cell):
        material = wall.layers[grid.layer[cell]].material
        held = interface.gap.film / grid.thickness[cell]  # type: ignore[union-attr]
        cap[cell] = min(cap[cell], 1.0 + held / excess_per_u(material))


def _source_cells(wall: Wall, grid: Grid) -> tuple[list[int], list[int], list[float]]:
    cells = [_place_cells(source.place, wall, grid) for source in wall_sources(wall)]
    length = [float(grid.thickness[i:j].sum()) for i, j in cells]
    return [i for i, _ in cells], [j for _, j in cells], length


def _place_cells(place: Place, wall: Wall, grid: Grid) -> tuple[int, int]:
    index = wall.layers.index(wall.layer(place.layer))
    cells = np.flatnonzero(grid.layer == index)
    depth = place.depth if place.depth is not None else 0.0
    reach = np.cumsum(grid.thickness[cells if place.face == "outer" else cells[::-1]])
    count = int(np.searchsorted(reach, depth * (1 - 1e-9))) + 1
    count = min(count, len(cells))
    if place.face == "outer":
        return int(cells[0]), int(cells[0]) + count
    return int(cells[-1]) + 1 - count, int(cells[-1]) + 1
