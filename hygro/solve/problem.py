"""Walls on their grids as the arrays that the kernels read. Owns the mapping and its defaults."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
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
from hygro.solve.kernels.layout import SHEET_ROWS
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
BETWEEN = 50.0
"""What a layer holds between its faces per metre, over the film of a face; our choice. [1/m]"""

STRAIGHT = 1e-12
"""Bend of a series, over its value, below which it goes straight on: round-off. [1]"""
IDLE_GAP = (0.0, 0.0, 1.0, 1.0, 0.0, 1.0, 0.0)
"""Columns of a gap that a wall has not: nothing divides by zero, and no air flows."""
NODE_DEPTH = 1e-6
"""Depth of a node that stands at a face; little beside a film of water. [m]"""


class Structure(NamedTuple):
    """What stands where in a wall: n+1 faces, sources, flags.

    `face` (n+1, 8) has the first columns of `arrays.WallArrays.own`; `gaps` are the faces of gaps.
    """

    face: NDArray[np.int64]
    gaps: NDArray[np.int64]
    source: NDArray[np.int64]
    flags: NDArray[np.int64]

    def key(self) -> Hashable:
        """Equal for walls whose faces and flags are the same: they cost least side by side."""
        return tuple((x.shape, x.tobytes()) for x in (self.face, self.flags))

    def company(self) -> Hashable:
        """Equal for walls that can share lanes: all but those with an imposed surface."""
        return tuple(self.flags[arrays.IMPOSED_OUT : arrays.IMPOSED_IN + 1].tolist())


class _Numbers(NamedTuple):
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


class Part(NamedTuple):
    """A wall on its grid as it goes into lanes: its structure, and what its numbers come from."""

    wall: Wall
    grid: Grid
    pressure: float
    structure: Structure


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
    """Kinds of faces, cells of sources, and what is switched on."""
    n = len(grid.layer)
    face = np.zeros((n + 1, arrays.OWN_COLUMNS), dtype=np.int64)
    liquid = _liquid(wall, grid)
    face[:, arrays.LIQUID], face[:, arrays.CONTACT] = liquid > 0, liquid == 2
    for interface in grid.interfaces:
        f, gap = interface.cell, interface.gap is not None
        face[f, arrays.JOINT], face[f, arrays.GAP] = True, gap
        face[f, arrays.DRY] = not (gap or liquid[f])
        face[f, arrays.SHEET_A], face[f, arrays.SHEET_B] = (
            bool(interface.before),
            bool(interface.after),
        )
    kinds = [int(isinstance(s, AirLeak)) for s in wall.leaks.all()]
    places = [_place_cells(s, wall, grid) for s in wall.leaks.all()]
    rows = [(kind, *place) for kind, place in zip(kinds, places, strict=True)]
    opens = any(_openings(gap) for gap in wall.gaps)
    flags = [settings.freezing, wall.outside.imposed, wall.inside.imposed, opens]
    return Structure(
        face=face,
        gaps=np.flatnonzero(face[:, arrays.GAP]),
        source=np.array(rows, dtype=np.int64).reshape(len(rows), 3),
        flags=np.array(flags, dtype=np.int64),
    )


def build_problem(parts: Sequence[Part], width: int) -> WallArrays:
    """Arrays of walls in `width` lanes; the first fills lanes that are left.

    Gaps and sources are those of all walls, see `gap_rows` and `sources`.

    Raises
    ------
    ValueError
        There are more walls than lanes, or an imposed surface beside others.
    """
    made = [part.structure for part in parts]
    if len(parts) > width or any(x.company() != made[0].company() for x in made):
        raise ValueError(f"{len(parts)} walls for {width} lanes: must fit and share flags")
    n = max(len(x.face) for x in made) - 1
    tables = _Tables()
    gaps, sources = gap_rows(made), shared_rows([x.source for x in made])
    lanes = [_at_length(_numbers(part, tables), part.structure, n, gaps, sources) for part in parts]
    lanes += [lanes[0]] * (width - len(lanes))
    stacked = {
        name: lane_array(np.stack([getattr(lane, name) for lane in lanes], axis=-1))
        for name in _Numbers._fields
    }
    return WallArrays(
        tab=tables.whole(),
        **stacked,
        face=_faces(stacked["own"].array, gaps),
        gaps=gaps,
        source=sources,
        flags=np.max([x.flags for x in made], axis=0),
    )


def gap_rows(walls: Sequence[Structure]) -> NDArray[np.int64]:
    """Faces at which some wall has a gap, in order: the row of each."""
    return np.unique(np.concatenate([x.gaps for x in walls]))


def _faces(own: Array, gaps: NDArray[np.int64]) -> NDArray[np.int64]:
    """What some lane has at each face, the row of its gap, and whether lanes differ."""
    faces = np.full((len(own), arrays.FACE_COLUMNS), -1, dtype=np.int64)
    faces[:, : arrays.OWN_COLUMNS] = own.any(axis=-1)
    faces[:, arrays.MIXED] = (own != own[..., :1]).any(axis=(1, 2))
    faces[gaps, arrays.GAP_ROW] = np.arange(len(gaps))
    # at the inner surface: whether some wall ends before the longest
    faces[-1, arrays.BEYOND] = faces[:-1, arrays.BEYOND].any()
    return faces


def _at_length(
    lane: _Numbers,
    own: Structure,
    n: int,
    gaps: NDArray[np.int64],
    sources: NDArray[np.int64],
) -> _Numbers:
    """A lane of n cells: the rest like its last one and left out, the inner surface in row n.

    What of gaps and sources it has not stands idle: no air flows there, and a length divides a rate
    of 0.
    """
    last = len(lane.layer)
    spare = n - last
    idle = np.tile(IDLE_GAP, (len(gaps), 1))
    idle[np.searchsorted(gaps, own.gaps)] = lane.gap
    length = np.ones(len(sources))
    length[places_in(sources, own.source)] = lane.source_length

    def surface_last(x: Array, between: Array) -> Array:
        return np.concatenate([x[:last], np.repeat(between[None], spare, axis=0), x[-1:]])

    beyond = np.zeros(arrays.OWN_COLUMNS)
    beyond[arrays.BEYOND] = 1.0
    return lane._replace(
        cell=np.concatenate([lane.cell, np.repeat(lane.cell[-1:], spare + 1, axis=0)]),
        contact=surface_last(lane.contact, np.zeros(())),
        sheet=surface_last(lane.sheet, np.zeros(2)),
        own=surface_last(lane.own, beyond),
        layer=np.concatenate([lane.layer, np.zeros(spare)]),
        gap=idle,
        source_length=length,
    )


def _numbers(part: Part, tables: _Tables) -> _Numbers:
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
    places = [_place_cells(source, wall, grid) for source in wall.leaks.all()]
    return _Numbers(
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


def hourly_loads(loads: Loads) -> HourlyLoads:
    """Loads of all hours in one lane."""
    return HourlyLoads(
        instant=_surfaces(loads, INSTANT)[None],
        mean=_surfaces(loads, MEAN)[None],
        gap_rate=_lane(loads.gap_rate),
        wind=_lane(loads.wind),
        source=_lane(loads.source),
        source_instant=_lane(loads.inside.vapour_pressure),
        air=_lane(loads.air),
        even=_even(loads)[None],
    )


def _even(loads: Loads) -> NDArray[np.int64]:
    """How many hours go on evenly from each: means stay, instants go straight. (N,)"""
    found = np.ones(loads.hours, dtype=np.int64)
    instants = [getattr(x, name) for x in (loads.outside, loads.inside) for name in INSTANT]
    means = [getattr(x, name) for x in (loads.outside, loads.inside) for name in MEAN]
    on = np.ones(loads.hours - 1, dtype=bool)
    for series in instants:
        bend = np.abs(np.diff(series, 2))
        on &= bend <= STRAIGHT * np.abs(series[1:-1])
        if not on.any():
            return found
    for series in (*means, loads.gap_rate, loads.wind, loads.source, loads.air):
        same = np.diff(series, axis=0) == 0.0
        on &= same if same.ndim == 1 else same.all(axis=1)
    for hour in range(loads.hours - 2, -1, -1):
        found[hour] = found[hour + 1] + 1 if on[hour] else 1
    return found


def _lane(series: Array) -> NDArray[np.float64]:
    return np.ascontiguousarray(series, dtype=np.float64)[None]


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
