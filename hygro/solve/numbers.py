"""The numbers of a wall on its grid: one lane of what the kernels read, and its tables."""

from __future__ import annotations

from collections.abc import Hashable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.constants import AIR_DENSITY, STANDARD_PRESSURE, STEFAN_BOLTZMANN
from hygro.material import Material
from hygro.material.vapour import thinner
from hygro.solve.kernels import arrays
from hygro.solve.kernels.layout import SHEET_ROWS
from hygro.solve.structure import Part, cells_of, openings_of
from hygro.solve.tables import (
    excess_per_u,
    full_liquid_potential,
    full_potential,
    material_table,
    sheet_table,
)
from hygro.wall.elements import Gap, Layer, Membrane
from hygro.wall.grid import Grid
from hygro.wall.loads import LEWIS, radiation_constant
from hygro.wall.wall import Wall

Array = NDArray[np.floating]
BETWEEN = 50.0
"""What a layer holds between its faces per metre, over the film of a face; our choice. [1/m]"""
NODE_DEPTH = 1e-6
"""Depth of a node that stands at a face; little beside a film of water. [m]"""


class Numbers(NamedTuple):
    """One lane of `arrays.WallArrays`."""

    cell: Array
    contact: Array
    sheet: Array
    own: Array
    layer: Array
    cells: Array
    gap: Array
    source_length: Array
    side: Array
    air_density: Array


class Tables:
    """Collects the tables of materials and sheets; equal ones stand once."""

    def __init__(self) -> None:
        self.parts, self.size = list[Array](), 0
        self._known = dict[Hashable, int]()

    def add(self, key: Hashable, table: Array) -> int:
        """Where a table starts."""
        if key not in self._known:
            self._known[key] = self.size
            self.parts.append(table)
            self.size += len(table)
        return self._known[key]

    def whole(self) -> Array:
        """All of them, starting with a line of the cache."""
        room = np.empty(self.size + 8)
        first = (-room.ctypes.data % 64) // 8
        table = room[first : first + self.size]
        np.concatenate(self.parts, out=table)
        return table


def numbers_of(part: Part, tables: Tables) -> Numbers:
    """The numbers of a wall of n cells."""
    wall, grid, pressure = part.wall, part.grid, part.pressure
    materials = [layer.material for layer in wall.solids]
    curves = [material_table(m, pressure) for m in materials]
    blocks = [tables.add(id(table), table) for table in curves]
    per_layer = np.array(
        [
            (full_potential(m), b, m.density * m.heat_capacity, m.w_free, 1.0 / m.w_free,
             _shut(m), 0.0, 1.0 / float(m.thermal.conductivity(np.array([m.w_max]))[0]),
             full_liquid_potential(m),
             excess_per_u(m))
            for m, b in zip(materials, blocks, strict=True)
        ]
    )[grid.layer]  # fmt: skip
    n = len(grid.layer)
    cell = np.zeros((n, arrays.CELL_COLUMNS))
    cell[:, arrays.DX] = grid.thickness
    cell[:, 1 : arrays.WAY] = per_layer[:, :-1]
    cell[:, arrays.WAY], cell[:, arrays.WAY_ON] = 0.5 * grid.thickness, 1.0
    # saturation is read from the first table: that of a material
    no_sheet = np.full(2, float(tables.add("no sheet", np.zeros(4 * SHEET_ROWS))))
    contact, sheet = np.zeros(n + 1), np.tile(no_sheet, (n + 1, 1))
    gaps: list[list[float]] = []
    for interface in grid.interfaces:
        f = interface.cell
        for side, sheets in ((arrays.OUTER, interface.before), (arrays.INNER, interface.after)):
            if sheets:
                sheet[f, side] = _sheets(sheets, pressure, tables)
        contact[f] = sum(m.material.thermal_resistance for m in interface.before)
        if interface.gap is not None:
            gaps.append(_gap(interface.gap, pressure))
            _film(cell[:, arrays.CAP], interface.cell, interface.gap.film, grid, wall)
    for k, layer in enumerate(wall.solids):
        if layer.material.liquid is None:
            own = np.flatnonzero(grid.layer == k)
            _held(cell, own, layer, grid)
    # beyond free saturation water rises straight
    cell[:, arrays.W_CAP] = per_layer[:, 3] + per_layer[:, -1] * (cell[:, arrays.CAP] - 1.0)
    places = [cells_of(source, wall, grid) for source in wall.leaks.all()]
    return Numbers(
        cell=cell,
        contact=contact,
        sheet=sheet,
        own=part.structure.face.astype(float),
        layer=grid.layer.astype(float),
        cells=np.array([float(n)]),
        gap=np.array(gaps, dtype=float).reshape(len(gaps), 7),
        source_length=np.array([grid.thickness[i:j].sum() for i, j in places], dtype=float),
        side=np.array([radiation_constant(wall), 0.0]),
        air_density=np.array([AIR_DENSITY * pressure / STANDARD_PRESSURE]),
    )


def _shut(material: Material) -> float:
    """Ice over full pores, which shuts them to vapour; 0 where it does not. [m³/kg]

    In wool and foam frost grows at the face where it is coldest, out of the way of the vapour that
    feeds it: how thick the cell is in which it is counted must not decide what it holds back.
    """
    return 0.0 if material.liquid is None else 1.0 / max(material.w_max, material.w_free)


def _sheets(membranes: tuple[Membrane, ...], pressure: float, tables: Tables) -> int:
    sheets = tuple(m.material for m in membranes)
    return tables.add((sheets, pressure), sheet_table(sheets, pressure))


def _gap(gap: Gap, pressure: float) -> list[float]:
    """Depth, radiation factor, coefficients per side, openings, height, wind coefficient.

    Convection surface to surface is max(1.25, 0.025/d) W/(m²·K) (ISO 6946, horizontal flow), each
    side having twice that; radiation between grey parallel planes.
    """
    across = max(1.25, 0.025 / gap.depth)
    h = gap.convection if gap.convection is not None else 2.0 * across
    grey = 1.0 / (1.0 / gap.emissivity_outer + 1.0 / gap.emissivity_inner - 1.0)
    openings = openings_of(gap)
    return [
        gap.depth,
        grey * STEFAN_BOLTZMANN,
        h,
        LEWIS * thinner(pressure) * h,
        openings.discharge * openings.area if openings else 0.0,
        openings.height if openings else 1.0,
        openings.wind_coefficient if openings else 0.0,
    ]


def _film(cap: Array, inner: int, film: float, grid: Grid, wall: Wall) -> None:
    """Water above free saturation at a face of a gap drains once the film is full."""
    for cell in (inner - 1, inner):
        material = wall.solids[grid.layer[cell]].material
        held = film / grid.thickness[cell]
        cap[cell] = min(cap[cell], 1.0 + held / excess_per_u(material))


def _held(cell: Array, own: NDArray[np.int64], layer: Layer, grid: Grid) -> None:
    """What a layer without liquid transport holds beyond free saturation, from its film.

    A film is per area: a thin cell at a face may hold more than its pores do. It stands at the
    face, in contact with the neighbour: so does the node of its cell, with no part of the layer
    between them that the film would bridge.
    """
    per = layer.film / excess_per_u(layer.material)
    cell[own, arrays.CAP] = np.minimum(cell[own, arrays.CAP], 1.0 + BETWEEN * per)
    wet = float(layer.material.thermal.conductivity(np.array([layer.material.w_free]))[0])
    if len(own) == 1:
        cell[own, arrays.CAP] = 1.0 + per / grid.thickness[own]
    for i in own[grid.node[own] != grid.depth[own]]:
        whole = grid.thickness[i]
        outer = NODE_DEPTH if grid.node[i] < grid.depth[i] else whole - NODE_DEPTH
        cell[i, arrays.CAP] = 1.0 + per / whole
        cell[i, arrays.WAY], cell[i, arrays.WAY_ON] = outer, (whole - outer) / outer
        cell[i, arrays.LEAST_R] = 1.0 / wet
