"""Passes over rows: each row is worked on once and in order, whether rows are read ahead or not.

The expected values are those of a plain loop in Python; 1e-14 is round-off of at most 13 terms.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
import pytest

from hygro.solve.card.threads import wall_of
from hygro.solve.card.tiles import TILE, Tiles, by_wall, of_thread, tiled
from hygro.solve.kernels.compiler import compiled, inlined
from hygro.solve.kernels.passes import over_rows, pair, put
from hygro.solve.lanes import LaneArray, rows_at_once

WALLS = 3


class Arrays(NamedTuple):
    """Pairs, and room for what a pass over them ends with."""

    x: Any
    end: Any


@inlined
def _row(k, given):
    return pair(given[0], k)


@inlined
def _summed(k, row, given, total):
    """Carries the weighted sum on; the sum so far goes where the first of the pair is positive."""
    x, weight = given
    total = total + weight * row[0] * row[1]
    put(x, (k, 1), row[0] > 0.0, total)
    return total


@compiled
def gone_through(arrays):
    """A pass over the rows of an array."""
    x = arrays.x
    arrays.end[0] = over_rows(x, len(x), _row, _summed, (x, 2.0), 0.0 * x[0, 0])


@compiled
def wall_gone_through(arrays, g):
    """The same for wall g of some in tiles."""
    gone_through(of_thread(arrays, g))


@compiled
def at_once(x):
    return rows_at_once(x)


def by_hand(x: np.ndarray) -> tuple[np.ndarray, float]:
    after, total = x.copy(), 0.0
    for k, (a, b) in enumerate(x):
        total += 2.0 * a * b
        if a > 0.0:
            after[k, 1] = total
    return after, total


@pytest.mark.parametrize("rows", [1, 2, 3, 4, 5, 6, 7, 8, 13])
def test_every_row_once_and_in_order(rows: int) -> None:
    x = np.random.default_rng(rows).normal(size=(rows, 2, WALLS))
    tiles = Arrays(Tiles(tiled(x)), Tiles(tiled(np.zeros((1, WALLS)))))
    for g in range(WALLS):
        alone = Arrays(LaneArray(np.array(x[..., g : g + 1], order="C")), room(1))
        gone_through(alone)
        wall_gone_through(tiles, g)
        after, end = by_hand(x[..., g])
        assert alone.end.array[0, 0] == pytest.approx(end, rel=1e-14)
        assert alone.x.array[..., 0] == pytest.approx(after, rel=1e-14)
        assert by_wall(tiles.end.array, WALLS)[g] == pytest.approx(end, rel=1e-14)
        assert by_wall(tiles.x.array, WALLS)[g] == pytest.approx(after, rel=1e-14)


def test_lanes_write_where_the_mask_holds() -> None:
    x = np.random.default_rng(5).normal(size=(5, 2, 8))
    lanes = Arrays(LaneArray(x.copy()), room(8))
    gone_through(lanes)
    for g in range(8):
        assert lanes.x.array[..., g] == pytest.approx(by_hand(x[..., g])[0], rel=1e-14)


def room(width: int) -> LaneArray:
    return LaneArray(np.zeros((1, width)))


@compiled
def first_of_wall(arrays, of, g):
    """The first value that a thread finds for wall g, to the place of the wall in `end`."""
    of_thread(arrays, g).end[0] = wall_of(arrays, of, g).x[0, 0]


def test_a_thread_reads_what_is_laid_out_for_its_wall() -> None:
    """Walls 0 to 3 have lanes 1, 0, 33, 1 of those laid out, in another tile too."""
    x = np.arange(34.0).reshape(1, 1, 34).repeat(2, axis=1)
    arrays = Arrays(Tiles(tiled(x)), Tiles(tiled(np.zeros((1, 4)))))
    of = np.full((9, 4), -1)
    of[8] = [1, 0, 33, 1]
    for g in range(4):
        first_of_wall(arrays, of, g)
    assert by_wall(arrays.end.array, 4)[:, 0].tolist() == [1.0, 0.0, 33.0, 1.0]


def test_rows_are_read_ahead_in_tiles_alone() -> None:
    assert at_once(LaneArray(np.zeros((2, TILE)))) == 1
    assert at_once(Tiles(np.zeros((1, 2, TILE)))) == 4
