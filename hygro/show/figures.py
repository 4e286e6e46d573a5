"""The figure of a comparison. Owns its layout.

Draws what it is given; runs and rates nothing.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from hygro.show import service, style, words
from hygro.show.axes import end_labels, line, lines_of, months_axis
from hygro.show.panels import DECIDES, MOULD, PANELS, Panel, short_face
from hygro.study.compare import Compared
from hygro.study.runs import Outcome

LABEL = 38
"""Letters of a line of a label beside the panels; a longer name goes on in the next."""
LABEL_WIDTH = 2.9
"""Room for the labels beside the panels. [in]"""
LINE = 0.15
"""Height of a line of a label. [in]"""
HEAD, BETWEEN, FOOT = 1.25, 0.65, 0.55
"""Above the panels, between two of them and below them. [in]"""
PANEL = 2.05
"""Least height of a panel. [in]"""


INNER, NO_BREAK = "inner face", "\N{NO-BREAK SPACE}"


UNNAMED = "the inner one of the sheathing where none is named"
"""Which face that is, by the labels of a comparison."""


def comparison(compared: Sequence[Compared], *, title: str, order: Sequence[str]) -> Figure:
    """Draw all walls over time: one column without leaks and one with, three rows.

    Parameters
    ----------
    compared : sequence of Compared
        What to draw.
    title : str
        Stands above.
    order : sequence of str
        Names of the walls in the order of the case, which gives each its pen.
    """
    tight = [item.tight for item in compared]
    has_leaks = any(item.leaky is not None for item in compared)
    last = [item.leaky or item.tight for item in compared]
    columns = [("without leaks", tight)] + (
        [("with the leaks of the case", last)] if has_leaks else []
    )
    borne = {item.name: item.reserve.words for item in compared if item.reserve is not None}
    named = [
        {
            item.name: _label(
                item.name,
                _face(item) if panel is not PANELS[0] else "",
                "no leaks" if has_leaks and item.leaky is None else "",
                below=borne.get(item.name, "") if panel is PANELS[0] else "",
            )
            for item in compared
        }
        for panel in PANELS
    ]
    tall = [max(PANEL, LINE * sum(map(lines_of, labels.values()))) for labels in named]
    width, height = 5.6 * len(columns) + LABEL_WIDTH, HEAD + sum(tall) + 2 * BETWEEN + FOOT
    figure = style.Sheet(width, height)
    grid = figure.add_gridspec(
        len(PANELS),
        len(columns),
        left=0.07 if len(columns) > 1 else 0.1,
        right=1.0 - LABEL_WIDTH / width,
        top=1.0 - HEAD / height,
        bottom=FOOT / height,
        hspace=BETWEEN * len(PANELS) / sum(tall),
        height_ratios=tall,
        wspace=0.1,
    )
    for row, panel in enumerate(PANELS):
        top = _top(panel, [*tight, *last])
        for column, (heading, outcomes) in enumerate(columns):
            axes = figure.add_subplot(grid[row, column])
            _panel(axes, panel, outcomes, order, top)
            if outcomes is columns[-1][1]:
                _names(axes, panel, outcomes, order, named[row], LINE / tall[row])
            if column == 0:
                at = f"{DECIDES}, {UNNAMED}" if panel is MOULD else "that face"
                axes.set_title(
                    f"{panel.title(at)}  (dotted: {panel.limit_words})",
                    loc="left",
                    fontsize=9.5,
                    color=style.INK,
                    pad=6,
                )
            else:
                axes.tick_params(labelleft=False)
            if row == 0:
                axes.annotate(
                    heading,
                    (0, 1),
                    xycoords="axes fraction",
                    xytext=(0, 24),
                    textcoords="offset points",
                    fontsize=10,
                    style="italic",
                    color=style.INK,
                )
    figure.text(0.07, 1.0 - 0.32 / height, title, fontsize=13, color=style.INK, weight="bold")
    said = words.circumstances([*tight, *last])
    figure.text(0.07, 1.0 - 0.53 / height, _shortened(said, 150), fontsize=8.5, color=style.LIMIT)
    figure.text(0.07, 1.0 - 0.72 / height, _subtitle(has_leaks), fontsize=8.5, color=style.LIMIT)
    return figure


def _shortened(text: str, width: int) -> str:
    return textwrap.shorten(text, width, placeholder=" …")


def _subtitle(has_leaks: bool) -> str:
    if has_leaks:
        return "Clear wall in one dimension; a comparative aid, no proof of compliance."
    return (
        "No leaks defined: what happens when rain or indoor air gets in is not shown. "
        "A comparative aid."
    )


def _top(panel: Panel, outcomes: Sequence[Outcome]) -> float:
    """Upper end of the axis, the same with and without leaks."""
    series = [panel.values(outcome.trace) for outcome in outcomes]
    return max([panel.least_top, *(1.05 * float(np.nanmax(x)) for x in series if x is not None)])


def _panel(
    axes: Axes, panel: Panel, outcomes: Sequence[Outcome], order: Sequence[str], top: float
) -> None:
    style.quiet(axes)
    drawn = False
    for outcome in outcomes:
        values = panel.values(outcome.trace)
        if values is not None:
            line(axes, outcome.trace.day, values, order.index(outcome.run.name))
            drawn = True
    axes.set_ylim(panel.floor, top)
    if panel is MOULD and drawn:
        service.mark(axes, outcomes[0].trace)
    axes.axhline(panel.limit, color=style.LIMIT, linewidth=1.1, linestyle=(0, (1, 2)))
    months_axis(axes)
    if not drawn:
        axes.text(0.5, 0.5, "not rated for this sheathing", ha="center", color=style.FAINT,
                  transform=axes.transAxes, fontsize=9)  # fmt: skip


def _names(
    axes: Axes,
    panel: Panel,
    outcomes: Sequence[Outcome],
    order: Sequence[str],
    named: Mapping[str, str],
    gap: float,
) -> None:
    """Write the labels of the lines that are drawn."""
    found = [(o.run.name, panel.values(o.trace)) for o in outcomes]
    end_labels(
        axes,
        [(named[name], float(x[-1]), order.index(name)) for name, x in found if x is not None],
        gap=gap,
    )


def _face(item: Compared) -> str:
    """The face that decides for a wall; empty where it is the one that `UNNAMED` tells.

    Where it is another without the leaks, both.
    """
    last, tight = (short_face(x.trace) for x in (item.leaky or item.tight, item.tight))
    if last == tight:
        return "" if last == INNER else last
    return f"{last}; without leaks {tight}"


def _label(name: str, *more: str, below: str) -> str:
    """Whole name of a wall, what is told of it in brackets, and a line below."""
    told = "; ".join(filter(None, more)).replace(" ", NO_BREAK).replace(f";{NO_BREAK}", "; ")
    whole = f"{name} ({told})" if told else name
    return "\n".join([*textwrap.wrap(whole, LABEL, break_long_words=False), *filter(None, [below])])
