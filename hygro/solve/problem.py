"""Walls on their grids as the arrays that the kernels read, in lanes. Owns the mapping."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from hygro.solve.kernels import arrays
from hygro.solve.kernels.arrays import WallArrays
from hygro.solve.lanes import lane_array
from hygro.solve.numbers import Numbers, Tables, numbers_of
from hygro.solve.sources import places_in, shared_rows
from hygro.solve.structure import Part, Structure

Array = NDArray[np.floating]
IDLE_GAP = (0.0, 0.0, 1.0, 1.0, 0.0, 1.0, 0.0)
"""Columns of a gap that a wall has not: nothing divides by zero, and no air flows."""


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
    tables = Tables()
    gaps, sources = gap_rows(made), shared_rows([x.source for x in made])
    lanes = [
        _at_length(numbers_of(part, tables), part.structure, n, gaps, sources) for part in parts
    ]
    lanes += [lanes[0]] * (width - len(lanes))
    stacked = {
        name: lane_array(np.stack([getattr(lane, name) for lane in lanes], axis=-1))
        for name in Numbers._fields
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
    lane: Numbers,
    own: Structure,
    n: int,
    gaps: NDArray[np.int64],
    sources: NDArray[np.int64],
) -> Numbers:
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
