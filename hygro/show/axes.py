"""What figures over time share: lines, months, and names at the ends of lines."""

from __future__ import annotations

from collections.abc import Sequence

import matplotlib.dates as dates
import numpy as np
from matplotlib.axes import Axes

from hygro.show import style
from hygro.study.trace import Array


def lines_of(label: str) -> int:
    """How many lines a label has."""
    return label.count("\n") + 1


def line(axes: Axes, day: np.ndarray, values: Array, number: int) -> None:
    """Draw a series by the pen of its number, its marks apart from those of the others."""
    pen = style.pen(number)
    every = max(len(day) // 9, 1)
    axes.plot(
        day, values, color=pen.color, linewidth=pen.width, marker=pen.mark, markersize=4.5,
        markevery=(min(number * every // 8, len(day) - 1), every), markerfacecolor=style.PAPER,
        markeredgewidth=1.1, linestyle="-" if pen.dash is None else (0, pen.dash),
        solid_capstyle="round",
    )  # fmt: skip


def months_axis(axes: Axes) -> None:
    """Set ticks of time that do not overlap."""
    locator = dates.AutoDateLocator(minticks=4, maxticks=9)
    axes.xaxis.set_major_locator(locator)
    axes.xaxis.set_major_formatter(dates.ConciseDateFormatter(locator, show_offset=False))
    axes.margins(x=0.01)


def end_labels(axes: Axes, ends: Sequence[tuple[str, float, int]], *, gap: float = 0.085) -> None:
    """Write each wall's name at the right end of its line, moved apart where they would overlap.

    `gap` is the height of a line of a name, as a share of the axes.
    """
    to_axes = axes.transData + axes.transAxes.inverted()
    edge = axes.get_xlim()[1]
    heights = [float(to_axes.transform((edge, value))[1]) for _, value, _ in ends]
    lines = [lines_of(name) for name, *_ in ends]
    beyond = 0.5 * gap * (max(lines, default=1) - 1)  # of a label, above the line in its middle
    placed = style.apart(heights, gap, beyond, 1.0 - beyond, lines)
    for (name, _, number), start, height in zip(ends, heights, placed, strict=True):
        pen = style.pen(number)
        axes.plot(
            [1.0, 1.03],
            [start, height],
            color=pen.color,
            linewidth=0.6,
            transform=axes.transAxes,
            clip_on=False,
        )
        axes.plot(
            [1.03],
            [height],
            marker=pen.mark,
            markersize=4.5,
            color=pen.color,
            markerfacecolor=style.PAPER,
            transform=axes.transAxes,
            clip_on=False,
        )
        axes.text(
            1.045,
            height,
            name,
            transform=axes.transAxes,
            fontsize=8,
            va="center",
            color=style.INK,
        )
