"""Figures of a case: our curves as lines, the reference as open marks. Owns the drawing only."""

from __future__ import annotations

import textwrap

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import NullLocator

from hygro.proof.check import Line, Picture
from hygro.show import style

LABEL = 18
"""Letters in a line of the legend."""


def draw(picture: Picture) -> Figure:
    """One panel; a label has one pen, ours drawn as a line and the reference as marks."""
    figure = Figure(figsize=(7.2, 4.4), facecolor=style.PAPER, dpi=130)
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0.11, 0.13, 0.64, 0.74))
    style.quiet(axes)
    labels = list(dict.fromkeys(line.label for line in picture.lines))
    for line in picture.lines:
        _line(axes, line, style.pen(labels.index(line.label)))
    if picture.log:
        _logarithmic(axes, picture)
    axes.set_xlabel(picture.x_label, color=style.INK, fontsize=9)
    axes.set_ylabel(picture.y_label, color=style.INK, fontsize=9)
    figure.text(0.02, 0.93, picture.title, color=style.INK, fontsize=11, weight="bold")
    _legend(axes, picture, labels)
    return figure


def _logarithmic(axes: Axes, picture: Picture) -> None:
    """Both scales; ticks below only where there is a point."""
    axes.set_xscale("log")
    axes.set_yscale("log")
    ticks = np.unique(np.concatenate([line.x for line in picture.lines]))
    axes.xaxis.set_minor_locator(NullLocator())
    axes.set_xticks(ticks, [f"{tick:g}" for tick in ticks])


def _line(axes: Axes, line: Line, pen: style.Pen) -> None:
    x, y = np.asarray(line.x, float), np.asarray(line.y, float)
    if line.points:
        axes.plot(x, y, linestyle="none", marker=pen.mark, markersize=5, color=pen.color, zorder=3)
        return
    if line.reference:
        axes.plot(
            x, y, linestyle="none", marker=pen.mark, markersize=4.5, markerfacecolor="none",
            markeredgecolor=pen.color, markeredgewidth=0.9, zorder=3,
        )  # fmt: skip
        return
    (drawn,) = axes.plot(x, y, color=pen.color, linewidth=pen.width)
    if pen.dash is not None:
        drawn.set_dashes(pen.dash)


def _legend(axes: Axes, picture: Picture, labels: list[str]) -> None:
    """Each label with what it has: a line, marks or both; then what lines and marks are."""
    handles = []
    for k, label in enumerate(labels):
        pen = style.pen(k)
        lines = [line for line in picture.lines if line.label == label]
        drawn = any(not (line.reference or line.points) for line in lines)
        filled = any(line.points for line in lines)
        handle = Line2D(
            [], [], color=pen.color, linewidth=pen.width if drawn else 0.0,
            marker=pen.mark if filled or any(line.reference for line in lines) else "",
            markerfacecolor=pen.color if filled else "none", markersize=4.5,
            label=textwrap.fill(label, LABEL),
        )  # fmt: skip
        if pen.dash is not None and drawn:
            handle.set_dashes(pen.dash)
        handles.append(handle)
    legend = axes.legend(
        handles=handles, loc="upper left", bbox_to_anchor=(1.01, 1.0), frameon=False, fontsize=8,
        title="lines, filled marks: ours\nopen marks: reference", title_fontsize=8,
        alignment="left", handlelength=3.2,
    )  # fmt: skip
    legend.get_title().set_color(style.INK)
