"""The visual language of the figures: ink, line styles and marks that survive grey print.

Owns colours, lines, hatches and label placing; draws no data.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

INK = "#1c2833"
FAINT = "#8a949c"
GRID = "#d9dde0"
LIMIT = "#5b4636"
PAPER = "#ffffff"
SHADE = "#c6d6d6"


class Sheet(Figure):
    """A figure on paper that shows itself in a notebook, whatever its backend.

    Parameters
    ----------
    width, height : float
        [in]
    """

    def __init__(self, width: float, height: float) -> None:
        super().__init__(figsize=(width, height), facecolor=PAPER, dpi=120)
        FigureCanvasAgg(self)

    def _repr_png_(self) -> bytes:
        """The figure as PNG."""
        with io.BytesIO() as file:
            self.savefig(file, format="png")
            return file.getvalue()


class Pen(NamedTuple):
    """How the line of one wall is drawn; dash and mark tell it apart without colour."""

    color: str
    dash: tuple[float, ...] | None
    mark: str
    width: float


PENS = (
    Pen(INK, None, "o", 1.6),
    Pen("#1f6f78", (6, 2), "s", 1.6),
    Pen("#b7791f", None, "^", 1.6),
    Pen("#5f7d8c", (3, 1.5), "D", 1.6),
    Pen("#7a4a2b", (8, 2, 2, 2), "v", 1.6),
    Pen("#3f8f8a", (1.2, 1.6), "P", 1.9),
    Pen("#9a8f4a", (5, 1.5, 1.2, 1.5, 1.2, 1.5), "X", 1.6),
    Pen("#4b5a68", (10, 3), "<", 1.6),
    Pen("#c08552", (2.5, 2.5), ">", 1.6),
    Pen("#2d4a53", (7, 1.5, 1.2, 1.5), "h", 1.6),
)
"""Pens in the order of the walls; from the eleventh wall on they come round again."""

HATCHES = {
    "insulation": ("#efe6d2", "xxx"),
    "sheathing": ("#c9b48f", "///"),
    "framing": ("#c9b48f", "///"),
    "cladding": ("#7f8c93", ""),
    "masonry": ("#b9a79a", "\\\\\\"),
    "finish": ("#e3e6e8", "||"),
    "gap": ("#ffffff", ""),
}
"""Face colour and hatch of an element of a section, by group of its material."""
OTHER_HATCH = ("#d5d9dc", "--")


def pen(number: int) -> Pen:
    """Return the pen of a wall by its place in the case."""
    return PENS[number % len(PENS)]


def quiet(axes: Axes) -> None:
    """Take frame and ticks back so that the lines stand out."""
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(FAINT)
    axes.tick_params(colors=INK, labelsize=8, length=3, color=FAINT)
    axes.grid(axis="y", color=GRID, linewidth=0.6)
    axes.set_axisbelow(True)


def apart(
    wanted: Sequence[float], gap: float, low: float, high: float, lines: Sequence[int] = ()
) -> list[float]:
    """Move label heights apart until neighbours clear each other, as near as can be.

    The order of the labels is kept. They fill the span evenly where it is too short for all.

    Parameters
    ----------
    wanted : sequence of float
        Heights of the middles.
    gap : float
        Height of a line.
    low, high : float
        Ends of the span.
    lines : sequence of int, optional
        Of each label, one where left out.
    """
    count = len(wanted)
    if count == 0:
        return []
    order = np.argsort(np.asarray(wanted), kind="stable")
    tall = np.asarray(lines or [1] * count, dtype=float)[order]
    gaps = gap * 0.5 * (tall[1:] + tall[:-1])
    gaps *= min(1.0, (high - low) / gaps.sum()) if count > 1 else 1.0
    heights = np.clip(np.asarray(wanted, dtype=float)[order], low, high)
    for i in range(1, count):
        heights[i] = max(heights[i], heights[i - 1] + gaps[i - 1])
    heights[-1] = min(heights[-1], high)
    for i in range(count - 2, -1, -1):
        heights[i] = min(heights[i], heights[i + 1] - gaps[i])
    placed = np.empty(count)
    placed[order] = heights
    return [float(value) for value in placed]
