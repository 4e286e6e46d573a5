"""What stands where in a wall on its grid: faces, gaps, cells of sources, what is switched on."""

from __future__ import annotations

from collections.abc import Hashable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.solve.kernels import arrays
from hygro.solve.settings import Settings
from hygro.wall.elements import Gap, Openings
from hygro.wall.grid import Grid
from hygro.wall.leaks import AirLeak, Source
from hygro.wall.wall import Wall


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


class Part(NamedTuple):
    """A wall on its grid as it goes into lanes: its structure, and what its numbers come from."""

    wall: Wall
    grid: Grid
    pressure: float
    structure: Structure


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
    places = [cells_of(s, wall, grid) for s in wall.leaks.all()]
    rows = [(kind, *place) for kind, place in zip(kinds, places, strict=True)]
    opens = any(openings_of(gap) for gap in wall.gaps)
    flags = [settings.freezing, wall.outside.imposed, wall.inside.imposed, opens]
    return Structure(
        face=face,
        gaps=np.flatnonzero(face[:, arrays.GAP]),
        source=np.array(rows, dtype=np.int64).reshape(len(rows), 3),
        flags=np.array(flags, dtype=np.int64),
    )


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


def openings_of(gap: Gap) -> Openings | None:
    """Openings whose air change the march computes from the state of the gap."""
    change = gap.air_change
    return change if isinstance(change, Openings) and not change.friction else None


def cells_of(source: Source, wall: Wall, grid: Grid) -> tuple[int, int]:
    """First cell that a source acts in, and the one after the last."""
    index = wall.solids.index(wall.layer(source.at))
    cells = np.flatnonzero(grid.layer == index)
    reach = np.cumsum(grid.thickness[cells if source.face == "outer" else cells[::-1]])
    count = int(np.searchsorted(reach, source.depth * (1 - 1e-9))) + 1
    count = min(count, len(cells))
    if source.face == "outer":
        return int(cells[0]), int(cells[0]) + count
    return int(cells[-1]) + 1 - count, int(cells[-1]) + 1
