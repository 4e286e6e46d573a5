"""Numbers on the isolines of a small panel, apart from each other."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.contour import QuadContourSet

from hygro.decide.boundary import Array

LETTERS = 6.5
"""Height of a number. [pt]"""
APART = 3.2 * LETTERS
"""Least distance of the middles of two numbers; four digits are 2.5 times as wide as high. [pt]"""
EDGE = 1.6 * LETTERS
"""Least distance of the middle of a number from the edge of the panel. [pt]"""
POINTS = 72.0
"""Points of an inch."""


def number_isolines(axes: Axes, lines: QuadContourSet, *, first: float) -> None:
    """Write its level on each line, that of `first` before others; none where there is no room."""
    pixels = axes.figure.dpi / POINTS
    inside = axes.bbox.padded(-EDGE * pixels)
    taken: list[Array] = []
    spots: list[Array] = []
    levels = zip(np.asarray(lines.levels), lines.allsegs, strict=True)
    for _, parts in sorted(levels, key=lambda row: bool(row[0] != first)):
        for part in sorted(parts, key=len, reverse=True):
            at = np.asarray(axes.transData.transform(part))
            free = [k for k in range(len(at)) if inside.contains(*at[k])]
            free = [k for k in free if _distance(at[k], taken) >= APART * pixels]
            if free:
                best = min(free, key=lambda k: abs(k - len(at) // 2))
                taken.append(at[best])
                spots.append(part[best])
    if spots:
        axes.clabel(lines, fmt=lambda v: f"{v:.2g}", fontsize=LETTERS, manual=spots)


def _distance(at: Array, taken: list[Array]) -> float:
    return min((float(np.hypot(*(at - other))) for other in taken), default=np.inf)
