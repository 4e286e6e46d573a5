"""Figures of studies: what they draw, by hand-made findings; labels apart and on the page."""

from __future__ import annotations

import math

import numpy as np
import pytest
from figure_labels import labels, off_the_page, overlaps
from matplotlib.colors import to_rgb

from hygro.decide.axis import Axis
from hygro.decide.limit import Limited
from hygro.decide.limit_figure import figure
from hygro.decide.point import PointResult
from hygro.study.limit import Limit
from hygro.study.trials import Trial


def limited(values: list[float], margins: list[float], *, own: float | None = None) -> Limited:
    along = Axis("a", "layers.membrane.permeance", "perm", "", values[0], values[-1])
    trials = tuple(Trial(x, m > 0) for x, m in zip(values, margins, strict=True))
    results = [
        PointResult(k, {"a": x}, m > 0, m, "both", "sheathing inner: mould", "mould_index",
                    "", {}, "")
        for k, (x, m) in enumerate(zip(values, margins, strict=True))
    ]  # fmt: skip
    return Limited(along, own, Limit(trials), results)


STEEP = [0.1, 0.2, 0.4, 0.41, 1.0, 3.0, 10.0, 50.0]


@pytest.mark.parametrize(
    "found",
    [
        limited(STEEP, [-0.9, -0.1, -0.01, 0.01, 0.4, 0.2, -0.2, -3.0], own=8.0),
        limited([1.0, 1.1, 1.2, 1.3, 2.0], [-1, 1, -1, 1, -1], own=1.0),
        limited([1.0, 2.0], [-1, -1]),
        limited([1.0, 2.0, 3.0], [0.2, math.nan, 0.3], own=3.0),
    ],
)
def test_a_limit_keeps_its_labels_apart(found: Limited) -> None:
    drawn = figure(found, title="A project with a name: a wall with a rather long name")
    assert overlaps(drawn) == []
    assert off_the_page(drawn) == []


def test_a_limit_shades_its_windows_and_marks_what_is_beyond() -> None:
    """Two values within, from 2 to 3; reserves of −120, 10, 30 and −50 % by hand."""
    drawn = figure(limited([1, 2, 3, 4], [-1.2, 0.1, 0.3, -0.5], own=2.5), title="x")
    (axes,) = drawn.axes
    (shade,) = axes.patches
    assert (shade.get_x(), shade.get_x() + shade.get_width()) == (2.0, 3.0)  # type: ignore[attr-defined]
    marks = {line.get_marker(): line for line in axes.lines if line.get_marker() in ("o", "X")}
    assert marks["o"].get_xydata() == pytest.approx(np.array([[2, 10], [3, 30]]))
    assert marks["X"].get_xydata() == pytest.approx(np.array([[1, -100], [4, -50]]))
    greys = [np.dot((0.2126, 0.7152, 0.0722), to_rgb(marks[m].get_color())) for m in "oX"]  # type: ignore[arg-type]
    assert max(greys) < 0.45  # dark on paper; the marks differ, not the colours alone
    words = [text.get_text() for text in labels(drawn)]
    assert {"2", "3"} <= set(words)
    assert any("within limits at 2 to 3 perm" in text for text in words)
    assert any("as written: 2.5" in text for text in words)
