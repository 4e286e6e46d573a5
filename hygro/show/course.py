"""The face that decides over time: moisture content, mould index, humidity; a line for each run."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from matplotlib.figure import Figure

from hygro.show import service, style
from hygro.show.figures import MOULD, PANELS, end_labels, line, months_axis
from hygro.show.title_block import TitleBlock, put_title
from hygro.study.trace import Array, Trace

PANEL_HEIGHT = 1.9
"""Height of a panel with its title. [in]"""
WIDTH = 7.5
"""Width of a figure on a page. [in]"""


def course(
    runs: Sequence[tuple[str, Trace]],
    *,
    block: TitleBlock | None = None,
    width: float = WIDTH,
    points: int = 1500,
) -> Figure:
    """Draw the daily series of some runs of a wall, one panel below the other.

    Parameters
    ----------
    runs : sequence of (str, Trace)
        Label and series of each; one label alone is not written.
    block : TitleBlock, optional
        Stands above.
    width : float
        Of the figure. [in]
    points : int
        Most points of a line; longer series are means of some days (`days_of_a_point`).
    """
    panels = [p for p in PANELS if any(p.values(found) is not None for _, found in runs)]
    height = PANEL_HEIGHT * len(panels) + (0.9 if block else 0.2)
    figure = style.Sheet(width, height)
    top = put_title(figure, block, _faces(runs)) - 0.3 / height
    right = 1.0 - (1.25 if len(runs) > 1 else 0.15) / width
    grid = figure.add_gridspec(
        len(panels), 1, left=0.5 / width, right=right, top=top, bottom=0.35 / height, hspace=0.42
    )
    for row, panel in enumerate(panels):
        axes = figure.add_subplot(grid[row, 0])
        style.quiet(axes)
        ends, top_value = [], panel.least_top
        for number, (label, found) in enumerate(runs):
            values = panel.values(found)
            if values is None:
                continue
            every = days_of_a_point(found, points)
            line(
                axes,
                found.day[: len(values) // every * every : every],
                stepwise_days(values, every),
                number,
            )
            top_value = max(top_value, 1.05 * float(np.nanmax(values)))
            ends.append((label, float(values[-1]), number))
        axes.set_ylim(panel.floor, top_value)
        if panel is MOULD:
            service.mark(axes, runs[0][1])
        axes.axhline(panel.limit, color=style.LIMIT, linewidth=1.1, linestyle=(0, (1, 2)))
        axes.set_title(
            f"{panel.title}  (dotted: {panel.limit_words})", loc="left", fontsize=9.5,
            color=style.INK,
        )  # fmt: skip
        months_axis(axes)
        if row < len(panels) - 1:
            axes.tick_params(labelbottom=False)
        if len(runs) > 1:
            end_labels(axes, ends, gap=0.13)
    return figure


def days_of_a_point(found: Trace, points: int) -> int:
    """Days that a point of a thinned series stands for."""
    return max(1, math.ceil(len(found.day) / points))


def stepwise_days(values: Array, every: int) -> Array:
    """Means of so many days each; what is left at the end is dropped."""
    whole = len(values) // every
    return np.asarray(values[: whole * every].reshape(whole, every).mean(axis=1))


def _faces(runs: Sequence[tuple[str, Trace]]) -> str:
    """The faces that are drawn."""
    return ", ".join(dict.fromkeys(found.face for _, found in runs if found.face))
