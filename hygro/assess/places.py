"""Where ratings look: layers by name, parts of a layer, and the two faces of each layer.

Owns the way from a name to indices of the Dataset; rates nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from numbers import Real
from typing import Literal, NamedTuple

import numpy as np

from hygro.assess.hourly import Hourly, Record, hourly, lasting
from hygro.assess.select import array, flags, text, times
from hygro.errors import InputError, brief, must_be, near_matches
from hygro.record.variables import INNER, OUTER

Face = Literal["outer", "inner"]
Part = tuple[Face, float]

# Depths are sums of layer thicknesses; a file in single precision keeps a metre to 1e-7.
SAME_DEPTH = 1e-6
BOARD_DENSITY = 300.0
"""Lightest layer taken for a board when the sheathing is not named (our choice). [kg/m³]"""


class Surface(NamedTuple):
    """One face of one layer, and where the Dataset keeps its state."""

    name: str
    layer: int
    face: Face
    interface: int
    side: int


@dataclass(frozen=True)
class Sheathing:
    """The layer judged as sheathing, and why it was taken."""

    name: str
    index: int
    reason: str


def layer_index(ds: Record, layer: str) -> int:
    """Index of a layer by name.

    Raises
    ------
    InputError
        If no layer, or more than one, has this name.
    """
    names = text(ds, "layer_name")
    found = [i for i, name in enumerate(names) if name == layer]
    if not found:
        raise InputError(f"layer '{layer}': not in this wall ({near_matches(layer, names)})")
    if len(found) > 1:
        raise InputError(f"layer '{layer}': {len(found)} layers have this name; rename them")
    return found[0]


def interface_index(ds: Record, interface: str) -> int:
    """Index of an interface by name; raises `InputError` with near matches."""
    names = text(ds, "interface_name")
    if interface not in names:
        raise InputError(
            f"interface '{interface}': not in this wall ({near_matches(interface, names)})"
        )
    return names.index(interface)


@lasting
def cell_spans(ds: Hourly) -> tuple[np.ndarray, np.ndarray]:
    """Outer and inner edge of each cell, from the outdoor surface. [m]"""
    centre, half = array(ds, "cell_depth"), 0.5 * array(ds, "cell_thickness")
    return centre - half, centre + half


@lasting
def layer_span(ds: Hourly, index: int) -> tuple[float, float]:
    """Outer and inner edge of a layer, from the outdoor surface. [m]"""
    outer, inner = cell_spans(ds)
    mine = flags(ds, "cell_layer") == index
    if not mine.any():
        raise InputError(f"result: layer {index} has no cell; the file is damaged")
    return float(outer[mine].min()), float(inner[mine].max())


def span(inside: np.ndarray) -> slice:
    """The cells of a mask, which lie side by side; none where it has none."""
    places = np.flatnonzero(inside)
    return slice(int(places[0]), int(places[-1]) + 1) if len(places) else slice(0, 0)


@lasting
def part_weights(ds: Hourly, index: int, part: Part | None) -> np.ndarray:
    """Thickness of each cell that lies in a layer, or in its outer or inner part. [m]

    The part ``("outer", 0.003)`` is the outer 3 mm of layer `index`; None is the whole layer.

    Raises
    ------
    InputError
        If the part is not thicker than 0, or thicker than the layer.
    """
    start, end = layer_span(ds, index)
    if part is not None:
        start, end = _narrow(start, end, part, text(ds, "layer_name")[index])
    outer, inner = cell_spans(ds)
    overlap = np.minimum(inner, end) - np.maximum(outer, start)
    return np.where(flags(ds, "cell_layer") == index, np.maximum(overlap, 0.0), 0.0)


A_PART = 'a face and a depth in m, as ("outer", 0.003)'


def _narrow(start: float, end: float, part: Part, layer: str) -> tuple[float, float]:
    must_be(part, tuple, "part", A_PART)
    if len(part) != 2 or not isinstance(part[1], Real):
        raise InputError(f"part: {brief(part)}: must be {A_PART}")
    face, depth = part
    if face not in ("outer", "inner"):
        raise InputError(f"part of layer '{layer}': face '{face}' must be 'outer' or 'inner'")
    if not 0.0 < depth <= end - start + SAME_DEPTH:
        raise InputError(
            f"part of layer '{layer}': {depth} m must be above 0 and at most the thickness "
            f"{end - start:.4g} m; is it in mm?"
        )
    return (start, min(start + depth, end)) if face == "outer" else (max(end - depth, start), end)


def part_name(layer: str, part: Part | None) -> str:
    """Name a layer or its part in words."""
    return layer if part is None else f"{layer}, {part[0]} {part[1] * 1000:g} mm"


@lasting
def surfaces(ds: Hourly) -> tuple[Surface, ...]:
    """Both faces of every layer, outdoors to indoors."""
    depth = array(ds, "interface_depth")
    found: list[Surface] = []
    for index, layer in enumerate(text(ds, "layer_name")):
        start, end = layer_span(ds, index)
        # An interface stands where its outer layer ends; a gap in it pushes the inner layer away.
        # So a layer's outer face belongs to the last interface not deeper than the layer's start.
        outer = np.flatnonzero(depth <= start + SAME_DEPTH)
        inner = np.flatnonzero(depth >= end - SAME_DEPTH)
        if not (len(outer) and len(inner)):
            raise InputError(f"result: layer '{layer}' lies outside the interfaces; damaged file")
        found.append(Surface(f"{layer}, outer face", index, "outer", int(outer[-1]), INNER))
        found.append(Surface(f"{layer}, inner face", index, "inner", int(inner[0]), OUTER))
    return tuple(found)


def surface(ds: Record, layer: str, face: Face) -> Surface:
    """One face of one layer; raises `InputError` for an unknown layer or face."""
    index = layer_index(ds, layer)
    if face not in ("outer", "inner"):
        raise InputError(f"face {face!r}: must be 'outer' or 'inner'")
    return next(s for s in surfaces(ds) if s.layer == index and s.face == face)


def at_surfaces(ds: Record, name: str, places: tuple[Surface, ...]) -> np.ndarray:
    """Values of an interface array at some surfaces, dims (time, surface)."""
    values = array(ds, name)
    return values[:, [p.interface for p in places], [p.side for p in places]]


def find_sheathing(ds: Record, layer: str | None = None) -> Sheathing:
    """Choose the layer to judge as sheathing.

    A named layer is taken as it is, then the one that the wall of the record names. Otherwise, in
    this order: a layer whose name says sheathing, a wood-based board, any board or masonry, any
    wood-based layer. The outermost layer (cladding) is taken only where no other layer fits.

    Raises
    ------
    InputError
        If none of these exists.
    """
    if layer is not None:
        return Sheathing(layer, layer_index(ds, layer), "named by the user")
    times(ds)  # refuses what is no record
    wall = hourly(ds).wall
    named = None if wall is None else wall.sheathing
    if named is not None:
        return Sheathing(named, layer_index(ds, named), "named by the wall")
    wood = flags(ds, "layer_wood_based") == 1
    return choose_sheathing(text(ds, "layer_name"), wood, array(ds, "layer_density"))


def choose_sheathing(names: Sequence[str], wood: np.ndarray, density: np.ndarray) -> Sheathing:
    """`find_sheathing` from the names, kinds and densities [kg/m³] of the layers alone."""
    heavy = density >= BOARD_DENSITY
    named = np.array(["sheath" in name.lower() for name in names])
    rules = (
        (named, "its name says so"),
        (wood & heavy, "first wood-based board"),
        (heavy, "first board or masonry"),
        (wood, "first wood-based layer"),
    )
    for candidates in (range(1, len(names)), (0,)):
        for rule, reason in rules:
            found = [index for index in candidates if rule[index]]
            if found:
                return Sheathing(names[found[0]], found[0], reason)
    raise InputError(f"sheathing: none of the layers {list(names)} can be it; name one")
