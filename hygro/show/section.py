"""The section of a wall, drawn to scale."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from hygro.show import style
from hygro.units import System, show
from hygro.wall.elements import Gap, Layer, Membrane
from hygro.wall.wall import Wall


def wall_section(wall: Wall, *, system: System = "si") -> Figure:
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
