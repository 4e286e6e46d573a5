"""Rows of one wall laid into lanes, some instants side by side, and taken back in turn.

Lane k of W holds the rows from k m on, where m rows stand in each.
"""

from __future__ import annotations

from hygro.solve.kernels.compiler import entry


@entry
def lay(rows, m, lanes):
    """Lay rows (any, columns) into lanes (some, columns, W); beyond the last row it holds on."""
    last = len(rows) - 1
    for r in range(lanes.shape[0]):
        for c in range(lanes.shape[1]):
            for k in range(lanes.shape[2]):
                lanes[r, c, k] = rows[min(k * m + r, last), c]


@entry
def take(lanes, m, rows):
    """Take rows (any, columns) back from lanes (m or more, columns, W)."""
    for i in range(rows.shape[0]):
        k, r = i // m, i % m
        for c in range(rows.shape[1]):
            rows[i, c] = lanes[r, c, k]
