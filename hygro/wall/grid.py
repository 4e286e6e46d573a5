"""The grid: cells graded to interfaces and surfaces, faces exactly on interfaces.

Owns cell sizes and where elements stand between cells; knows no climate and no numerics.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import cumulative_trapezoid

from hygro.wall.elements import Gap, Layer, Membrane
from hygro.wall.wall import Wall

Accuracy = Literal["draft", "normal", "fine"]


class Grading(NamedTuple):
    """First cell at a face of a storing layer that liquid crosses, or not, and of another layer;
    growth ratio from there; largest cell of a storing layer and of another. [m]
    """

    wet: float
    dry: float
    inert: float
    ratio: float
    largest: float
    largest_inert: float


# whole cells grown from a dry face end at 1 mm, the depth at which leaks act unless said otherwise
GRADING: dict[Accuracy, Grading] = {
    "draft": Grading(1.0e-3, 1.0e-3, 8.0e-3, 2.2, 50e-3, 50e-3),
    "normal": Grading(1.0e-3, 1.0e-3 / 2.8, 3.0e-3, 1.8, 16e-3, 25e-3),
    "fine": Grading(0.4e-3, 1.0e-3 / 4.75, 1.5e-3, 1.5, 10e-3, 15e-3),
}
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
    thickness, depth : (n,) arrays
        Cell size and depth of its centre from the outdoor surface, gaps included. [m]
    layer : (n,) int array
        Index of the layer of each cell.
    interfaces : tuple of Interface
        Layer interfaces in order, first the outdoor and last the indoor surface.
    """

    thickness: NDArray[np.float64]
    depth: NDArray[np.float64]
    layer: NDArray[np.int64]
    interfaces: tuple[Interface, ...]


def graded_cells(
    thickness: float,
    first: tuple[float, float],
    ratio: float,
    largest: float,
    lines: Iterable[float] = (),
) -> NDArray[np.float64]:
    """Cell sizes of one layer, outside to inside. [m]

    Parameters
    ----------
    first : (float, float)
        Cells at the outer and inner face, at most a quarter of the layer. [m]
    ratio, largest : float
        Growth of the cells from both faces and where it ends. [1], [m]
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
        cells = cumulative_trapezoid(np.maximum(growth / near, 1.0 / largest), x, initial=0.0)
        count = max(1, round(cells[-1]))
        sizes.append(np.diff(np.interp(np.linspace(0.0, cells[-1], count + 1), cells, x)))
    return np.concatenate(sizes)


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
    dry = _dry_faces(wall)
    sizes = [
        _layer_cells(wall, k, dry[k : k + 2], accuracy, cells or {})
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
    return Grid(thickness, depth, layer, interfaces)


def split(wall: Wall, grid: Grid, parts: int) -> dict[str, NDArray[np.float64]]:
    """Cell sizes [m] of every layer with each cell in equal parts, as `build_grid` takes them.

    The lines of the grid stay, so that a source keeps the depth it acts on.
    """
    return {
        layer.name: np.repeat(grid.thickness[grid.layer == k] / parts, parts)
        for k, layer in enumerate(wall.solids)
    }


def _dry_faces(wall: Wall) -> list[bool]:
    """Per surface and interface: whether no liquid crosses it."""
    nowhere = np.zeros(len(wall.solids) + 1, dtype=np.int64)
    liquid = [layer.material.liquid is not None for layer in wall.solids]
    return [
        not (x.contact and liquid[k - 1] and liquid[k])
        for k, x in enumerate(_interfaces(wall, nowhere))
    ]


def _layer_cells(
    wall: Wall,
    k: int,
    dry: list[bool],
    accuracy: Accuracy,
    given: dict[str, NDArray[np.float64]],
) -> NDArray[np.float64]:
    layer, grading = wall.solids[k], GRADING[accuracy]
    if layer.name in given:
        sizes = np.asarray(given[layer.name], dtype=float)
        return sizes * (layer.thickness / sizes.sum())
    first, largest = [grading.dry if x else grading.wet for x in dry], grading.largest
    if layer.material.liquid is None and not layer.material.absorbent:
        first, largest = [grading.inert, grading.inert], grading.largest_inert
    lines = [
        x.depth if x.face == "outer" else layer.thickness - x.depth
        for x in wall.leaks.all()
        if x.at == layer.name
    ]
    return graded_cells(layer.thickness, (first[0], first[1]), grading.ratio, largest, lines)


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
