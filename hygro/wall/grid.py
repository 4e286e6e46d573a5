"""The grid: cells graded to interfaces and surfaces, faces exactly on interfaces.

Owns cell sizes and where elements stand between cells; knows no climate and no numerics.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.wall.elements import Gap, Layer, Membrane
from hygro.wall.wall import Wall

Accuracy = Literal["draft", "normal", "fine"]

# (cell at a face of a storing layer [m], at a face of an inert layer [m], growth ratio)
GRADING: dict[Accuracy, tuple[float, float, float]] = {
    "draft": (2.0e-3, 8.0e-3, 2.2),
    "normal": (1.0e-3, 4.0e-3, 1.8),
    "fine": (0.4e-3, 1.5e-3, 1.4),
}


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


def graded_cells(thickness: float, first: float, ratio: float) -> NDArray[np.float64]:
    """Cell sizes of one layer, mirror symmetric, growing by `ratio` from both faces. [m]"""
    if thickness <= 2.5 * first:
        count = 2 if thickness > first else 1
        return np.full(count, thickness / count)
    half: list[float] = [first]
    while sum(half) + half[-1] * ratio < 0.5 * thickness:
        half.append(half[-1] * ratio)
    rest = thickness - 2 * sum(half)
    middle = max(1, round(rest / (half[-1] * ratio)))
    sizes = np.array([*half, *[rest / middle] * middle, *half[::-1]])
    if rest / middle < 0.5 * half[-1]:
        sizes = np.array([*half, *half[::-1]])
    return sizes * (thickness / sizes.sum())


def build_grid(
    wall: Wall,
    accuracy: Accuracy = "normal",
    *,
    cells: dict[str, NDArray[np.float64]] | None = None,
) -> Grid:
    """Lay the grid over a wall.

    Parameters
    ----------
    wall : Wall
    accuracy : "draft", "normal" or "fine"
        One setting for the density everywhere.
    cells : dict, optional
        Cell sizes [m] of named layers, outside to inside, instead of the graded ones.
    """
    sizes = [_layer_cells(layer, accuracy, cells or {}) for layer in wall.solids]
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


def _layer_cells(
    layer: Layer, accuracy: Accuracy, given: dict[str, NDArray[np.float64]]
) -> NDArray[np.float64]:
    if layer.name in given:
        sizes = np.asarray(given[layer.name], dtype=float)
        return sizes * (layer.thickness / sizes.sum())
    storing, inert, ratio = GRADING[accuracy]
    hygroscopic = layer.material.liquid is not None or layer.material.absorbent
    first = storing if hygroscopic else inert
    return graded_cells(layer.thickness, min(first, layer.thickness / 4), ratio)


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
