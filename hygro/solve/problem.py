"""Walls on their grids as the arrays that the kernels read. Owns the mapping and its defaults."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.constants import AIR_DENSITY, STANDARD_PRESSURE, STEFAN_BOLTZMANN
from hygro.errors import InputError
from hygro.material import Material
from hygro.material.vapour import thinner
from hygro.solve.columns import INSIDE, INSTANT, MEAN, OUTSIDE
from hygro.solve.kernels import arrays
from hygro.solve.kernels.arrays import HourlyLoads, WallArrays
from hygro.solve.lanes import lane_array
from hygro.solve.settings import Settings
from hygro.solve.sources import places_in, shared_rows
from hygro.solve.tables import (
    excess_per_u,
    full_liquid_potential,
    full_potential,
    material_table,
    potential_at_rh,
    potential_at_water_content,
    sheet_table,
)
from hygro.wall.elements import Gap, Layer, Membrane, Openings
from hygro.wall.grid import Grid
from hygro.wall.leaks import AirLeak, Source
from hygro.wall.loads import LEWIS, Loads, radiation_constant
from hygro.wall.wall import Wall

Array = NDArray[np.floating]
PLAIN, INTERFACE, GAP = 0, 1, 2
BETWEEN = 50.0
"""What a layer holds between its faces per metre, over the film of a face; our choice. [1/m]"""

NODE_DEPTH = 1e-6
"""Depth of a node that stands at a face; little beside a film of water. [m]"""


class Structure(NamedTuple):
    """Integers of `arrays.WallArrays`; walls that share lanes have all but sources in common."""

    face: NDArray[np.int64]
    source: NDArray[np.int64]
    layer: NDArray[np.int64]
    flags: NDArray[np.int64]

    def key(self) -> Hashable:
        """Equal for walls that can share lanes."""
        return tuple((x.shape, x.tobytes()) for x in (self.face, self.layer, self.flags))


class _Numbers(NamedTuple):
    """One lane of `arrays.WallArrays`."""

    cell: Array
    contact: Array
    sheet: Array
    gap: Array
    source_length: Array
    side: Array
    air_density: Array


class _Tables:
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


def structure(wall: Wall, grid: Grid, settings: Settings) -> Structure:
    """Kinds of faces, cells of sources and layers, and what is switched on."""
    n = len(grid.layer)
    face = np.full((n + 1, 5), -1, dtype=np.int64)
    face[:, arrays.KIND] = PLAIN
    face[:, arrays.LIQUID] = _liquid(wall, grid)
    gaps = 0
    for interface in grid.interfaces:
        f = interface.cell
        face[f, arrays.KIND] = GAP if interface.gap else INTERFACE
        face[f, arrays.SHEET_A] = 0 if interface.before else -1
        face[f, arrays.SHEET_B] = 0 if interface.after else -1
        if interface.gap is not None:
            face[f, arrays.GAP_INDEX] = gaps
            gaps += 1
    kinds = [int(isinstance(s, AirLeak)) for s in wall.leaks.all()]
    places = [_place_cells(s, wall, grid) for s in wall.leaks.all()]
    rows = [(kind, *place) for kind, place in zip(kinds, places, strict=True)]
    opens = any(_openings(gap) for gap in wall.gaps)
    flags = [settings.freezing, wall.outside.imposed, wall.inside.imposed, opens]
    return Structure(
        face=face,
        source=np.array(rows, dtype=np.int64).reshape(len(rows), 3),
        layer=grid.layer.astype(np.int64),
        flags=np.array(flags, dtype=np.int64),
    )


def build_problem(
    walls: Sequence[tuple[Wall, Grid, float]], settings: Settings, width: int
) -> WallArrays:
    """Arrays of walls of one structure in `width` lanes; the first fills lanes that are left.

    With each wall stand its grid and the pressure of the air at its site [Pa]. Sources are those of
    all walls, see `sources`.

    Raises
    ------
    ValueError
        The walls differ in structure, or there are more than lanes.
    """
    made = [structure(wall, grid, settings) for wall, grid, _ in walls]
    if len(walls) > width or any(x.key() != made[0].key() for x in made):
        raise ValueError(f"{len(walls)} walls for {width} lanes: must fit and share one structure")
    tables = _Tables()
    lanes = [_numbers(wall, grid, pressure, tables) for wall, grid, pressure in walls]
    shared = shared_rows([x.source for x in made])
    lanes = [_with_sources(x, y.source, shared) for x, y in zip(lanes, made, strict=True)]
    lanes += [lanes[0]] * (width - len(lanes))
    stacked = [lane_array(np.stack(parts, axis=-1)) for parts in zip(*lanes, strict=True)]
    return WallArrays._make([tables.whole(), *stacked, *made[0]._replace(source=shared)])


def _with_sources(lane: _Numbers, own: NDArray[np.int64], shared: NDArray[np.int64]) -> _Numbers:
    """A lane with a length for every source; that of one it has not divides a rate of 0."""
    length = np.ones(len(shared))
    length[places_in(shared, own)] = lane.source_length
    return lane._replace(source_length=length)


def _numbers(wall: Wall, grid: Grid, pressure: float, tables: _Tables) -> _Numbers:
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
    contact, sheet = np.zeros(n + 1), np.zeros((n + 1, 2))
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
    for k, part in enumerate(wall.solids):
        if part.material.liquid is None:
            own = np.flatnonzero(grid.layer == k)
            _held(cell, own, part, grid)
    # beyond free saturation water rises straight
    cell[:, arrays.W_CAP] = per_layer[:, 3] + per_layer[:, -1] * (cell[:, arrays.CAP] - 1.0)
    places = [_place_cells(source, wall, grid) for source in wall.leaks.all()]
    return _Numbers(
        cell=cell,
        contact=contact,
        sheet=sheet,
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


def _sheets(membranes: tuple[Membrane, ...], pressure: float, tables: _Tables) -> int:
    sheets = tuple(m.material for m in membranes)
    return tables.add((sheets, pressure), sheet_table(sheets, pressure))


def check_loads(wall: Wall, loads: Loads) -> None:
    """Refuse loads that are not those of the wall; the kernels read them unchecked.

    Raises
    ------
    InputError
        There are other numbers of gaps or sources, or water of a leak or wetting is negative.
    """
    columns = {"gap_rate": len(wall.gaps), "source": len(wall.leaks.all())}
    for name, count in columns.items():
        found = getattr(loads, name).shape[1]
        if found != count:
            raise InputError(
                f"wall '{wall.name}': loads.{name} has {found} columns: must be {count} for "
                f"{columns['gap_rate']} gaps and {columns['source']} leaks; are they the loads of "
                "this wall?"
            )
    wet = len(wall.leaks.rain) + len(wall.leaks.wetting)
    least = loads.source[:, :wet].min(initial=0.0)
    if least < 0.0:
        raise InputError(
            f"wall '{wall.name}': loads.source: {least:g} kg/(m²·s) of a rain leak or wetting: "
            "must be at least 0; only air leaks turn"
        )


def hourly_loads(
    loads: Sequence[Loads], width: int, sources: Sequence[Array] | None = None
) -> HourlyLoads:
    """Loads in `width` lanes; the first fills lanes that are left.

    `sources` are the rates of each of them where they share rows, see `sources.spread`.
    """
    spare = width - len(loads)
    rates = [x.source for x in loads] if sources is None else list(sources)
    filled, rates = [*loads, *[loads[0]] * spare], [*rates, *[rates[0]] * spare]

    def stacked(arrays: Iterable[Array]) -> Array:
        return np.stack(list(arrays)).astype(np.float64)

    return HourlyLoads(
        instant=stacked(_surfaces(x, INSTANT) for x in filled),
        mean=stacked(_surfaces(x, MEAN) for x in filled),
        gap_rate=stacked(x.gap_rate for x in filled),
        wind=stacked(x.wind for x in filled),
        source=stacked(rates),
        source_instant=stacked(x.inside.vapour_pressure for x in filled),
        air=stacked(x.air for x in filled),
    )


def _surfaces(loads: Loads, columns: Mapping[str, int]) -> Array:
    """Some series of both surfaces in the columns of the kernels. (N or N+1, 2, columns)"""
    sides = {OUTSIDE: loads.outside, INSIDE: loads.inside}
    rows = len(getattr(loads.outside, next(iter(columns))))
    packed = np.empty((rows, len(sides), len(columns)))
    for side, surface in sides.items():
        for name, column in columns.items():
            packed[:, side, column] = getattr(surface, name)
    return packed


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


def _liquid(wall: Wall, grid: Grid) -> NDArray[np.int64]:
    """Per face: no liquid crosses (0), it does in one material (1), from one to another (2)."""
    n = len(grid.layer)
    liquid = np.zeros(n + 1, dtype=np.int64)
    capillary = np.array([layer.material.liquid is not None for layer in wall.solids])[grid.layer]
    liquid[1:n] = (capillary[:-1] & capillary[1:]).astype(np.int64)
    for interface in grid.interfaces[1:-1]:
        f = interface.cell
        if not interface.contact:
            liquid[f] = 0
        elif liquid[f] and wall.solids[grid.layer[f - 1]].material != (
            wall.solids[grid.layer[f]].material
        ):
            liquid[f] = 2
    return liquid


def _openings(gap: Gap) -> Openings | None:
    """Openings whose air change the march computes from the state of the gap."""
    change = gap.air_change
    return change if isinstance(change, Openings) and not change.friction else None


def _gap(gap: Gap, pressure: float) -> list[float]:
    """Depth, radiation factor, coefficients per side, openings, height, wind coefficient.

    Convection surface to surface is max(1.25, 0.025/d) W/(m²·K) (ISO 6946, horizontal flow), each
    side having twice that; radiation between grey parallel planes.
    """
    across = max(1.25, 0.025 / gap.depth)
    h = gap.convection if gap.convection is not None else 2.0 * across
    grey = 1.0 / (1.0 / gap.emissivity_outer + 1.0 / gap.emissivity_inner - 1.0)
    openings = _openings(gap)
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


def _place_cells(source: Source, wall: Wall, grid: Grid) -> tuple[int, int]:
    index = wall.solids.index(wall.layer(source.at))
    cells = np.flatnonzero(grid.layer == index)
    reach = np.cumsum(grid.thickness[cells if source.face == "outer" else cells[::-1]])
    count = int(np.searchsorted(reach, source.depth * (1 - 1e-9))) + 1
    count = min(count, len(cells))
    if source.face == "outer":
        return int(cells[0]), int(cells[0]) + count
    return int(cells[-1]) + 1 - count, int(cells[-1]) + 1
