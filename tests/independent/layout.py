"""Nodes of a wall for the independent model: control volumes, with a node on every face of a layer.

A wall is plain data (`walls.py`). The first and last volume of a layer have their node on its face,
so that a surface or an interface has a state of its own and nothing is sought there by iteration.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from independent import walls as data
from independent.constants import (
    AIR,
    CAP,
    DRY_MASS,
    FILM,
    FREE,
    FULL,
    GAP,
    GREY,
    HEAT_R,
    IN,
    KIND,
    LEWIS,
    LIQUID,
    OUT,
    RAIN,
    RATE,
    SIGMA,
    SIZE,
    STANDARD,
    TOUCH,
    Z_IN,
    Z_OUT,
)
from independent.curves import Curves, curves_of, permeance

TOUCH_R, TOUCH_Z = 1e-4, 1e4
"""What keeps two nodes at one place apart: 1 mK at 10 W/m², 2 µm of air to vapour.
[m²·K/W], [m²·s·Pa/kg]"""
FACE = (1e-4, 2e-4, 3e-4, 4e-4)
"""Volumes at a face of a layer that stores; they end at 1 mm, as far as leaks reach. [m]"""
WOOL_FACE = (2e-4, 8e-4, 1e-3, 1e-3)
DRAINING_FILM, BETWEEN = 0.1, 50.0
"""Water on a face of wool or of a gap [kg/m²], of wool between per metre over it [1/m]."""


class Nodes(NamedTuple):
    """Arrays of a wall for `balance.rates`.

    Attributes
    ----------
    node : (n, 6) volume [m], ways to its outer and inner edge [m], content that it holds before it
        drains [kg/m³], share of the driving rain and flow of room air that reach it
    link : (n, 7) to the next node
    material, layer : (n,) int
    curves : of the materials
    sheet_in : resistance of what is on the indoor surface [m²·s·Pa/kg]
    depth : (n,) with gaps [m]
    """

    node: np.ndarray
    link: np.ndarray
    material: np.ndarray
    layer: np.ndarray
    curves: Curves
    sheet_in: float
    depth: np.ndarray


def volumes(thickness: float, face: tuple[float, ...], ratio: float, largest: float) -> np.ndarray:
    """Sizes from face to face: given ones at both, growing between. [m]"""
    rest = thickness - 2.0 * sum(face)
    half: list[float] = []
    while 2.0 * sum(half) < rest:
        half.append(min(face[-1] * ratio ** (len(half) + 1), largest))
    middle = np.array([*half, *half[::-1]]) * (rest / (2.0 * sum(half)))
    return np.concatenate([face, middle, face[::-1]])


def lay(wall: data.Wall, pressure: float, fine: float = 1.0) -> Nodes:
    """Nodes of a wall in air of a pressure [Pa]; volumes between faces `fine` times the usual."""
    layers = [part for part in wall.parts if isinstance(part, data.Layer)]
    keys = list(dict.fromkeys(layer.material for layer in layers))
    curves = curves_of(keys, pressure)
    kind = [keys.index(layer.material) for layer in layers]
    node = [_nodes_of(x, wall, curves.number[m], fine) for x, m in zip(layers, kind, strict=True)]
    link = [np.zeros((len(rows), 7)) for rows in node]
    for k, layer in enumerate(layers[:-1]):
        link[k][-1, KIND] = TOUCH
        free = [curves.number[m, FREE] for m in kind[k : k + 2]]
        _join(wall, layer, pressure, node[k], node[k + 1], link[k][-1], free)
        wet = all(curves.number[m, LIQUID] > 0.0 for m in kind[k : k + 2])
        assert _behind(wall, layer) or not wet, f"{layer.name}: the model has no capillary contact"
    counts = [len(rows) for rows in node]
    on = [permeance(p.key) for p in _behind(wall, layers[-1]) if isinstance(p, data.Sheet)]
    return Nodes(
        np.concatenate(node), np.concatenate(link), np.repeat(kind, counts),
        np.repeat(np.arange(len(layers)), counts), curves, sum(1.0 / x for x in on),
        _depths(wall, layers, node),
    )  # fmt: skip


def _nodes_of(layer: data.Layer, wall: data.Wall, number: np.ndarray, fine: float) -> np.ndarray:
    """Rows of a layer."""
    wool = number[LIQUID] == 0.0
    face, ratio, largest = (WOOL_FACE, 1.6, fine * 12e-3) if wool else (FACE, 1.35, fine * 2e-3)
    size = volumes(layer.thickness, face, ratio, largest)
    rows = np.zeros((len(size), 6))
    rows[:, SIZE], rows[:, OUT], rows[:, IN] = size, 0.5 * size, 0.5 * size
    rows[0, OUT], rows[0, IN], rows[-1, OUT], rows[-1, IN] = 0.0, size[0], size[-1], 0.0
    rows[:, CAP] = number[FREE] + BETWEEN * DRAINING_FILM if wool else number[FULL]
    if wool:
        rows[[0, -1], CAP] = number[FREE] + DRAINING_FILM / size[[0, -1]]
    if layer.name == wall.leaks_at:
        near = len(face)
        reach = size[:near] / 1e-3
        rows[:near, RAIN] = wall.rain_share * reach
        rows[-near:, AIR] = wall.air_rate * reach[::-1]
    return rows


def _depths(wall: data.Wall, layers: list[data.Layer], node: list[np.ndarray]) -> np.ndarray:
    """Depth of every node, gaps included. [m]"""
    at, found = 0.0, []
    for layer, rows in zip(layers, node, strict=True):
        found.append(at + np.cumsum(rows[:, SIZE]) - rows[:, SIZE] + rows[:, OUT])
        gaps = [p.depth for p in _behind(wall, layer) if isinstance(p, data.Gap)]
        at += layer.thickness + sum(gaps)
    return np.concatenate(found)


def _behind(wall: data.Wall, layer: data.Layer) -> list[data.Gap | data.Sheet]:
    """What stands between a layer and the next."""
    found: list[data.Gap | data.Sheet] = []
    for part in wall.parts[wall.parts.index(layer) + 1 :]:
        if isinstance(part, data.Layer):
            break
        found.append(part)
    return found


def _join(
    wall: data.Wall,
    layer: data.Layer,
    pressure: float,
    a: np.ndarray,
    c: np.ndarray,
    row: np.ndarray,
    free: list[float],
) -> None:
    """The link between the last node of a layer and the first of the next."""
    free_a, free_c = free
    parts = _behind(wall, layer)
    gaps = [k for k, part in enumerate(parts) if isinstance(part, data.Gap)]
    split = gaps[0] if gaps else len(parts)
    outer, inner = (
        sum(1.0 / permeance(p.key) for p in side if isinstance(p, data.Sheet))
        for side in (parts[:split], parts[split:])
    )
    row[HEAT_R], row[Z_OUT], row[Z_IN] = TOUCH_R, outer + TOUCH_Z, inner
    if gaps:
        gap = parts[split]
        h = 2.0 * max(1.25, 0.025 / gap.depth)
        row[KIND], row[Z_OUT], row[FILM] = GAP, outer, h
        row[RATE] = gap.air_change * gap.depth / 3600.0
        row[GREY] = SIGMA / (2.0 / 0.9 - 1.0)
        # vapour transfer by Lewis, in air of the site
        beta = LEWIS * STANDARD / pressure * h
        row[Z_OUT] += 1.0 / beta
        row[Z_IN] += 1.0 / beta
        for side, end, free in ((a, -1, free_a), (c, 0, free_c)):
            side[end, CAP] = min(side[end, CAP], free + DRAINING_FILM / side[end, SIZE])


def contents(nodes: Nodes, w: np.ndarray, layer: int) -> np.ndarray:
    """Mean content of a layer over its dry mass at each instant. [% by mass]"""
    mine = nodes.layer == layer
    size = nodes.node[mine, SIZE]
    density = nodes.curves.number[nodes.material[mine][0], DRY_MASS]
    return 100.0 / density * (w[:, mine] @ size) / size.sum()
