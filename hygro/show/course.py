"""The face that decides over time: moisture content, mould index, humidity; a line for each run."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence

import numpy as np
from matplotlib.figure import Figure

from hygro.show import service, style
from hygro.show.axes import end_labels, line, months_axis
from hygro.show.panels import MOULD, PANELS, face_words
from hygro.show.title_block import TitleBlock, put_title
from hygro.study.trace import Array, Trace

PANEL_HEIGHT = 1.9
"""Least height of a panel with its title. [in]"""
LINE = 0.2
"""Height of a panel for each line of its labels. [in]"""
WIDTH = 7.5
"""Width of a figure on a page. [in]"""
EDGE = 0.5
"""Room left of the panels. [in]"""
LEAST_ROOM = 1.25
"""Least room for labels beside the panels. [in]"""
LABEL = 26
"""Letters of a line of a label."""
LETTER = 0.07
"""Width of a letter of a label. [in]"""
TITLE_LETTERS = 15.0
"""Letters of a title to an inch."""
GAP = 0.13
"""Height of a line of a label, as a share of a panel; less where there are many."""


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
    labels = [[_folded(label) for label in panel.labels(runs)] for panel in panels]
    tall = max(PANEL_HEIGHT, LINE * max(map(_lines, labels)))
    height = tall * len(panels) + (0.9 if block else 0.2)
    figure = style.Sheet(width, height)
    top = put_title(figure, block, face_words(runs)) - 0.3 / height
    room = _room(labels) if len(runs) > 1 else 0.15
    grid = figure.add_gridspec(
        len(panels),
        1,
        left=EDGE / width,
        right=1.0 - room / width,
        top=top,
        bottom=0.35 / height,
        hspace=0.42,
    )
    for row, panel in enumerate(panels):
        axes = figure.add_subplot(grid[row, 0])
        style.quiet(axes)
        ends, top_value = [], panel.least_top
        for number, (_, found) in enumerate(runs):
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
            ends.append((labels[row][number], float(values[-1]), number))
        axes.set_ylim(panel.floor, top_value)
        if panel is MOULD:
            service.mark(axes, runs[0][1])
        axes.axhline(panel.limit, color=style.LIMIT, linewidth=1.1, linestyle=(0, (1, 2)))
        axes.set_title(
            _title(panel.title_of(runs), panel.limit_words, width - EDGE - room), loc="left",
            fontsize=9.5, color=style.INK,
        )  # fmt: skip
        months_axis(axes)
        if row < len(panels) - 1:
            axes.tick_params(labelbottom=False)
        if len(runs) > 1:
            end_labels(axes, ends, gap=min(GAP, 1.0 / _lines([label for label, *_ in ends])))
    return figure


def days_of_a_point(found: Trace, points: int) -> int:
    """Days that a point of a thinned series stands for."""
    return max(1, math.ceil(len(found.day) / points))


def stepwise_days(values: Array, every: int) -> Array:
    """Means of so many days each; what is left at the end is dropped."""
    whole = len(values) // every
    return np.asarray(values[: whole * every].reshape(whole, every).mean(axis=1))


def _folded(label: str) -> str:
    """A label with its face in a line of its own."""
    name, found, face = label.partition(" (")
    return "\n".join([name, *textwrap.wrap(found.strip() + face, LABEL)])


def _lines(labels: Sequence[str]) -> int:
    return sum(label.count("\n") + 1 for label in labels)


def _room(labels: Sequence[Sequence[str]]) -> float:
    """Room for the longest line of some labels beside the panels. [in]"""
    longest = max(len(line) for each in labels for label in each for line in label.split("\n"))
    return max(LEAST_ROOM, 0.35 + LETTER * longest)


def _title(title: str, limit: str, width: float) -> str:
    """The title of a panel; what is dotted goes on in the next line where one is too short."""
    letters = int(width * TITLE_LETTERS)
    dotted = f"(dotted: {limit})"
    whole = f"{title}  {dotted}"
    return whole if len(whole) <= letters else f"{textwrap.fill(title, letters)}\n{dotted}"
