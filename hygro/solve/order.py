"""Which walls go together and in which order, so that lanes cost least."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from typing import NamedTuple, TypeVar

from hygro.errors import HygroError
from hygro.solve.lanes import WIDTH
from hygro.solve.settings import Settings
from hygro.solve.structure import Structure, structure
from hygro.wall.grid import build_grid
from hygro.wall.wall import Wall

Item = TypeVar("Item")
PRICE = 3.4
"""What walls in lanes cost, few or many, in walls one by one: 2.9 to 3.4 where they are alike,
3.4 to 4.2 in unlike climates, 4.9 where all walls differ (measured)."""
WORTH = 4
"""Walls from which on lanes pay."""


def share(count: int, groups: int) -> int:
    """How many of some walls one group takes: no more than the others will."""
    return min(WIDTH, -(-count // groups))


def grouped(walls: Sequence[Item]) -> list[list[Item]]:
    """Walls together where lanes pay, else one by one."""
    return [list(walls)] if len(walls) >= WORTH else [[wall] for wall in walls]


def portions(places: Sequence[int], groups: int) -> Iterator[Sequence[int]]:
    """Walls in tasks for some workers: in lanes, or one by one where too few are left."""
    first = 0
    while first < len(places):
        size = share(len(places) - first, groups)
        for _ in range(groups):
            part = places[first : first + size]
            first += len(part)
            yield from grouped(part)


class Placed(NamedTuple):
    """A wall by its place, its company and its structure; without a grid it has neither."""

    place: int
    company: Hashable
    key: Hashable
    cells: int


def order(walls: Sequence[Wall], settings: Settings) -> list[Placed]:
    """Walls in the order in which they take lanes: by company, then by size and structure."""
    placed = []
    for k, wall in enumerate(walls):
        found = outline(wall, settings)
        if found is None:
            placed.append(Placed(k, "none", k, 0))
        else:
            placed.append(Placed(k, found.company(), found.key(), len(found.face)))
    return sorted(placed, key=lambda x: (repr(x.company), x.cells, repr(x.key)))


def outline(wall: Wall, settings: Settings) -> Structure | None:
    """Structure of a wall on its grid, if it has one."""
    try:
        return structure(wall, build_grid(wall, settings.accuracy, parts=settings.parts), settings)
    except HygroError:
        return None
