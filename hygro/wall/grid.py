"""The grid: cells graded to interfaces and surfaces by how deep moisture reaches in a day.

Owns cell sizes and where elements stand between cells; knows no climate and no numerics.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache
from itertools import pairwise
from typing import Any, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.material.reach import daily_reach
from hygro.wall.elements import Gap, Layer, Membrane
from hygro.wall.wall import Wall

Accuracy = Literal["draft", "normal", "fine"]
Face = Literal["wet", "film", "dry"]
KEPT = 256
"""Layers whose cells are kept, some tens of numbers each."""


class Sizes(NamedTuple):
    """Bounds of the cells of a layer: least and highest first cell, largest cell. [m]"""

    least: float
    first: float
    largest: float


class Grading(NamedTuple):
    """How cells are graded.

    `first` and `within`, the first cell and where growth by `ratio` ends, are shares of the depth
    that moisture reaches in a day, within bounds for layers with liquid transport (`storing`) or
    without (`inert`). The
    first cell at a face that liquid crosses is `wet` [m]. Where a storing layer touches one that
    holds water at its face it is the share `film`: what is sucked in at once is short by a part of
    that cell.
    """

    first: float
    within: float
    ratio: float
    wet: float
    film: float
    storing: Sizes
    inert: Sizes


GRADING: dict[Accuracy, Grading] = {
    "draft": Grading(
        first=0.5, within=5.0, ratio=2.2, wet=1.0e-3, film=0.2,
        storing=Sizes(3e-4, 1e-3, 50e-3), inert=Sizes(1e-3, 8e-3, 50e-3),
    ),
    "normal": Grading(
        first=0.25, within=1.8, ratio=1.9, wet=1.0e-3, film=0.02,
        storing=Sizes(8e-5, 1e-3, 12.5e-3), inert=Sizes(5e-4, 7e-3, 50e-3),
    ),
    "fine": Grading(
        first=0.1, within=1.2, ratio=1.5, wet=4e-4, film=0.01,
        storing=Sizes(4e-5, 4e-4, 10e-3), inert=Sizes(3e-4, 4e-3, 25e-3),
    ),
}  # fmt: skip
LEAST_FILM = 1e-5
"""Least cell beside a film. [m]"""
ONWARD = 0.2
"""Share of the way to the nearer face that cells deep inside have: slow swings reach there. [1]"""
SAMPLES = 1000
"""Points of a stretch of a layer at which the density of cells is summed up."""


class Interface(NamedTuple):
    """What stands between two cells, or on a surface.

    `cell` is the index of the cell on the inner side (0: outdoor surface, n: indoor surface).
    `before` and `after` are the membranes outside and inside of the gap (all in `before` if there
    is no gap).
    """

    cell: int
    name: str
    depth: float
    before: tuple[Membrane, ...]
    gap: Gap | None
    after: tuple[Membrane, ...]
    contact: bool


class Grid(NamedTuple):
    """Cells, outside to inside, and the interfaces between layers with both surfaces.

    Attributes
    ----------
    thickness, depth, node : (n,) arrays
        Cell size, depth of its centre and of its node from the outdoor surface, gaps included. [m]
    layer : (n,) int array
        Index of the layer of each cell.
    interfaces : tuple of Interface
        Layer interfaces in order, first the outdoor and last the indoor surface.
    """

    thickness: NDArray[np.float64]
    depth: NDArray[np.float64]
    node: NDArray[np.float64]
    layer: NDArray[np.int64]
    interfaces: tuple[Interface, ...]


def graded_cells(
    thickness: float,
    first: tuple[float, float],
    ratio: float,
    within: float,
    largest: float,
    lines: Iterable[float] = (),
) -> NDArray[np.float64]:
    """Cell sizes of one layer, outside to inside. [m]

    Parameters
    ----------
    first : (float, float)
        Cells at the outer and inner face, at most a quarter of the layer. [m]
    ratio, within, largest : float
        Growth of the cells from both faces, where it ends, and the largest cell deep inside: there
        they are the share `ONWARD` of the way to the nearer face. [1], [m], [m]
    lines : floats
        Depths from the outer face at which a cell ends. [m]
    """
    ends = [0.0, *sorted({x for x in lines if 0 < x < thickness}), thickness]
    outer, inner = (min(x, thickness / 4) for x in first)
    growth = (ratio - 1.0) / math.log(ratio)
    sizes = []
    for low, high in pairwise(ends):
        x = low + (high - low) * 0.5 * (1.0 - np.cos(np.linspace(0.0, np.pi, SAMPLES)))
        near = np.minimum(outer + (ratio - 1.0) * x, inner + (ratio - 1.0) * (thickness - x))
        deep = np.maximum(within, ONWARD * np.minimum(x, thickness - x))
        density = np.maximum(growth / near, 1.0 / np.minimum(deep, largest))
        cells = _integral(density, x)
        count = max(1, round(cells[-1]))
        sizes.append(np.diff(np.interp(np.linspace(0.0, cells[-1], count + 1), cells, x)))
    return np.concatenate(sizes)


@lru_cache(maxsize=KEPT)
def _kept_cells(*given: Any) -> NDArray[np.float64]:
    """`graded_cells`, kept: walls that are compared have most layers in common."""
    sizes = graded_cells(*given)
    sizes.flags.writeable = False
    return sizes


def _integral(values: NDArray[np.float64], x: NDArray[np.float64]) -> NDArray[np.float64]:
    """Integral from the first place on, by trapezoids; SciPy's is slow to import."""
    parts = np.diff(x) * (values[1:] + values[:-1]) / 2.0
    return np.concatenate([[0.0], np.cumsum(parts)])


def build_grid(
    wall: Wall,
    accuracy: Accuracy = "normal",
    *,
    cells: dict[str, NDArray[np.float64]] | None = None,
    parts: int = 1,
) -> Grid:
    """Lay the grid over a wall.

    Parameters
    ----------
    wall : Wall
    accuracy : "draft", "normal" or "fine"
        One setting for the density everywhere.
    cells : dict, optional
        Cell sizes [m] of named layers, outside to inside, instead of the graded ones.
    parts : int
        Split every cell in so many equal ones; all lines of the grid stay.
    """
    met = _faces(wall)
    sizes = [
        _layer_cells(wall, k, met[k : k + 2], accuracy, cells or {})
        for k in range(len(wall.solids))
    ]
    sizes = [np.repeat(size / parts, parts) for size in sizes]
    counts = [len(s) for s in sizes]
    interfaces = _interfaces(wall, np.concatenate([[0], np.cumsum(counts)]))
    thickness = np.concatenate(sizes)
    layer = np.repeat(np.arange(len(sizes)), counts)
    shift = np.zeros(len(thickness))
    for interface in interfaces:
        if interface.gap is not None:
            shift[interface.cell :] += interface.gap.depth
    depth = np.cumsum(thickness) - 0.5 * thickness + shift
    node = depth + 0.5 * thickness * _towards(wall, layer, interfaces)
    return Grid(thickness, depth, node, layer, interfaces)


def _towards(
    wall: Wall, layer: NDArray[np.int64], interfaces: tuple[Interface, ...]
) -> NDArray[np.float64]:
    """Where the node of each cell stands: -1 at its outer face, 0 in its middle, 1 at its inner.

    Water stands at the faces of a layer without liquid transport: so do the nodes of the cells
    there, in contact with the neighbour.
    """
    towards = np.zeros(len(layer))
    for k, part in enumerate(wall.solids):
        cells = np.flatnonzero(layer == k)
        if part.material.liquid is not None or len(cells) == 1:
            continue
        if _is_face(wall, interfaces, k):
            towards[cells[0]] = -1.0
        if _is_face(wall, interfaces, k + 1):
            towards[cells[-1]] = 1.0
    return towards


def _is_face(wall: Wall, interfaces: tuple[Interface, ...], k: int) -> bool:
    """Whether water can stand at an interface: not where one material goes on in two layers."""
    x = interfaces[k]
    if x.before or x.gap or x.after or not 0 < k < len(wall.solids):
        return True
    return wall.solids[k - 1].material != wall.solids[k].material


def split(wall: Wall, grid: Grid, parts: int) -> dict[str, NDArray[np.float64]]:
    """Cell sizes [m] of every layer with each cell in equal parts, as `build_grid` takes them.

    The lines of the grid stay, so that a source keeps the depth it acts on.
    """
    return {
        layer.name: np.repeat(grid.thickness[grid.layer == k] / parts, parts)
        for k, layer in enumerate(wall.solids)
    }


def _faces(wall: Wall) -> list[Face]:
    """What a storing layer meets at every surface and interface."""
    nowhere = np.zeros(len(wall.solids) + 1, dtype=np.int64)
    liquid = [layer.material.liquid is not None for layer in wall.solids]

    def kind(k: int, x: Interface) -> Face:
        if x.contact and liquid[k - 1] and liquid[k]:
            return "wet"
        inner = 0 < k < len(liquid)
        touches = inner and not x.before and x.gap is None
        return "film" if touches and liquid[k - 1] != liquid[k] else "dry"

    return [kind(k, x) for k, x in enumerate(_interfaces(wall, nowhere))]


def _layer_cells(
    wall: Wall,
    k: int,
    met: list[Face],
    accuracy: Accuracy,
    given: dict[str, NDArray[np.float64]],
) -> NDArray[np.float64]:
    layer, grading = wall.solids[k], GRADING[accuracy]
    if layer.name in given:
        own = np.asarray(given[layer.name], dtype=float)
        return own * (layer.thickness / own.sum())
    sizes = grading.inert if layer.material.liquid is None else grading.storing
    reach = daily_reach(layer.material)
    smallest = min(max(grading.first * reach, sizes.least), sizes.first)
    within = min(max(grading.within * reach, 4.0 * smallest), sizes.largest)
    at: dict[Face, float] = {"wet": grading.wet, "film": smallest, "dry": smallest}
    if layer.material.liquid is not None:
        at["film"] = min(smallest, max(grading.film * reach, LEAST_FILM))
    first = [at[x] for x in met]
    lines = tuple(
        x.depth if x.face == "outer" else layer.thickness - x.depth
        for x in wall.leaks.all()
        if x.at == layer.name
    )
    ends = (first[0], first[1])
    return _kept_cells(layer.thickness, ends, grading.ratio, within, sizes.largest, lines)


def _interfaces(wall: Wall, starts: NDArray[np.int64]) -> tuple[Interface, ...]:
    groups = _between_layers(wall)
    found = []
    depth = 0.0
    for k, (group, start) in enumerate(zip(groups, starts, strict=True)):
        gap = next((e for e in group if isinstance(e, Gap)), None)
        split = group.index(gap) if gap is not None else len(group)
        before = tuple(e for e in group[:split] if isinstance(e, Membrane))
        after = tuple(e for e in group[split:] if isinstance(e, Membrane))
        outer = wall.solids[k - 1] if k else None
        inner = wall.solids[k] if k < len(wall.solids) else None
        tight = gap is not None or any(m.material.liquid_tight for m in before)
        contact = outer is not None and inner is not None and outer.capillary_contact and not tight
        name = _interface_name(outer, inner, group)
        found.append(Interface(int(start), name, depth, before, gap, after, contact))
        depth += (gap.depth if gap else 0.0) + (inner.thickness if inner else 0.0)
    return tuple(found)


def _between_layers(wall: Wall) -> list[tuple[Membrane | Gap, ...]]:
    groups: list[list[Membrane | Gap]] = [[]]
    for element in wall.layers:
        if isinstance(element, Layer):
            groups.append([])
        else:
            groups[-1].append(element)
    return [tuple(group) for group in groups]


def _interface_name(
    outer: Layer | None, inner: Layer | None, group: tuple[Membrane | Gap, ...]
) -> str:
    if outer is None:
        return "outdoor surface"
    if inner is None:
        return "indoor surface"
    return " | ".join([outer.name, *(e.name for e in group), inner.name])
