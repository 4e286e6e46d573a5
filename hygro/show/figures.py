"""Figures of a comparison and of a wall section, written to a file. Owns their layout.

Draws what it is given; runs and rates nothing.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence

import matplotlib.dates as dates
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from hygro.show import service, style, words
from hygro.show.panels import DECIDES, MOULD, PANELS, Panel, short_face
from hygro.study.compare import Compared
from hygro.study.runs import Outcome
from hygro.study.trace import Array
from hygro.units import System, show
from hygro.wall.elements import Gap, Layer, Membrane
from hygro.wall.wall import Wall

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
    tall = [max(PANEL, LINE * sum(map(_lines, labels.values()))) for labels in named]
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


def _lines(label: str) -> int:
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
    lines = [_lines(name) for name, *_ in ends]
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


def section(wall: Wall, *, system: System = "si") -> Figure:
    """Draw a wall to scale, outside on the left, with the name and size of every element."""
    width = max(6.5, 0.95 * len(wall.layers))
    labels = [_label_lines(element, len(wall.layers), system) for element in wall.layers]
    floor = 0.26 - 0.042 * max(map(len, labels))
    height = 3.7 * (1.0 - floor) + 0.65
    figure = style.Sheet(width, height)
    axes = figure.add_axes((0.03, 0.05 / height, 0.94, 1.0 - 0.65 / height))
    axes.set_axis_off()
    axes.set_xlim(0, 1)
    axes.set_ylim(floor, 1)
    scale = 0.62 / wall.thickness
    at, spots = 0.19, []
    for element in wall.layers:
        size = 0.0 if isinstance(element, Membrane) else _size(element)
        _draw_element(axes, element, at, size * scale)
        spots.append(at + 0.5 * size * scale)
        at += size * scale
    _section_labels(axes, labels, spots)
    axes.text(0.165, 0.72, "outside", rotation=90, va="center", ha="right", fontsize=9,
              color=style.LIMIT)  # fmt: skip
    axes.text(at + 0.025, 0.72, "inside", rotation=90, va="center", fontsize=9, color=style.LIMIT)
    total = show(wall.thickness, "length", system=system)
    figure.text(
        0.03, 1.0 - 0.3 / height, f"{wall.name}", fontsize=12, weight="bold", color=style.INK
    )
    told = f"{total} in all, to scale across the wall"
    figure.text(0.03, 1.0 - 0.53 / height, told, fontsize=8.5, color=style.LIMIT)
    return figure


def _size(element: Layer | Gap) -> float:
    return element.depth if isinstance(element, Gap) else element.thickness


def _draw_element(axes: Axes, element: Layer | Membrane | Gap, at: float, size: float) -> None:
    if isinstance(element, Membrane):
        axes.plot([at, at], [0.44, 1.0], color=style.INK, linewidth=2.0, linestyle=(0, (4, 1.5)))
        return
    group = "gap" if isinstance(element, Gap) else element.material.group
    face, hatch = style.HATCHES.get(group, style.OTHER_HATCH)
    axes.add_patch(
        Rectangle(
            (at, 0.46),
            size,
            0.52,
            facecolor=face,
            hatch=hatch,
            edgecolor=style.FAINT,
            linewidth=0.0,
        )
    )
    axes.add_patch(
        Rectangle((at, 0.46), size, 0.52, fill=False, edgecolor=style.INK, linewidth=0.9)
    )


def _label_lines(element: Layer | Membrane | Gap, count: int, system: System) -> list[str]:
    """Name of an element in a few lines, and its size."""
    words = textwrap.wrap(element.name, max(int(100 / count), 8), break_long_words=True)[:4]
    if isinstance(element, Membrane):
        return words
    return [*words, show(_size(element), "length", system=system)]


def _section_labels(axes: Axes, labels: Sequence[Sequence[str]], spots: Sequence[float]) -> None:
    """Put the names in one row in the order of the elements, so that no leader crosses another."""
    count = len(spots)
    slots = [(i + 0.5) / count for i in range(count)]
    for lines, spot, slot in zip(labels, spots, slots, strict=True):
        axes.plot([spot, spot, slot, slot], [0.455, 0.42, 0.33, 0.3], color=style.FAINT,
                  linewidth=0.8)  # fmt: skip
        axes.text(slot, 0.285, "\n".join(lines), ha="center", va="top",
                  fontsize=8, color=style.INK, linespacing=1.25)  # fmt: skip
