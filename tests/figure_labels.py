"""Words of a figure, and which of them lie on each other. Owns no expected value."""

from __future__ import annotations

from itertools import combinations

from matplotlib.figure import Figure
from matplotlib.text import Text


def labels(figure: Figure) -> list[Text]:
    """Words that are drawn; ticks beyond the ends of an axis are not."""
    beyond = [
        label
        for axes in figure.axes
        for axis in (axes.xaxis, axes.yaxis)
        for tick in (*axis.get_major_ticks(), *axis.get_minor_ticks())
        if not min(axis.get_view_interval()) <= tick.get_loc() <= max(axis.get_view_interval())
        for label in (tick.label1, tick.label2)
    ]
    found = [t for t in figure.findobj(Text) if t.get_visible() and t.get_text().strip()]
    return [t for t in found if isinstance(t, Text) and t not in beyond]


def overlaps(figure: Figure) -> list[tuple[str, str]]:
    """Pairs of words whose boxes overlap."""
    renderer = figure.canvas.get_renderer()  # type: ignore[attr-defined]
    figure.draw(renderer)
    boxes = [(t.get_text(), t.get_window_extent(renderer)) for t in labels(figure)]
    return [
        (a, b)
        for (a, box_a), (b, box_b) in combinations(boxes, 2)
        # one pixel: boxes have a margin around the ink
        if box_a.padded(-1).overlaps(box_b.padded(-1))
    ]


def off_the_page(figure: Figure) -> list[str]:
    """Words that reach beyond the figure."""
    renderer = figure.canvas.get_renderer()  # type: ignore[attr-defined]
    figure.draw(renderer)
    wide, high = figure.bbox.x1, figure.bbox.y1
    boxes = [(t.get_text(), t.get_window_extent(renderer)) for t in labels(figure)]
    return [text for text, b in boxes if b.x0 < 0 or b.y0 < 0 or b.x1 > wide + 1 or b.y1 > high + 1]
