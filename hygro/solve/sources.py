"""Sources of walls side by side: rows that hold those of every wall, each in its own order.

A wall without a source that one beside it has gets the row with a rate of 0, which adds nothing to
any bit. So one wall tight and with its leaks shares lanes.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Rows = NDArray[np.int64]
"""Kind, first cell, end of the cells of each source. (sources, 3)"""


def shared_rows(walls: Sequence[Rows]) -> Rows:
    """Rows in which those of every wall stand in their order."""
    shared: list[tuple[int, ...]] = []
    for rows in walls:
        at = 0
        for row in map(tuple, rows.tolist()):
            if row in shared[at:]:
                at = shared.index(row, at) + 1
            else:
                shared.insert(at, row)
                at += 1
    return np.array(shared, dtype=np.int64).reshape(len(shared), 3)


def places_in(shared: Rows, rows: Rows) -> list[int]:
    """Where the rows of one wall stand among `shared_rows`."""
    known, places, at = shared.tolist(), list[int](), 0
    for row in rows.tolist():
        at = known.index(row, at) + 1
        places.append(at - 1)
    return places


def spread(columns: NDArray[np.float64], places: Sequence[int], count: int) -> NDArray[np.float64]:
    """Columns of one wall at their places among `count`, 0 in the others. (N, count)"""
    wide = np.zeros((len(columns), count))
    wide[:, list(places)] = columns
    return wide
