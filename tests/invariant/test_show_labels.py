"""Labels moved apart keep their order, their distance and their span."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from hygro.show.style import apart

heights = st.lists(st.floats(-0.2, 1.2, allow_nan=False), min_size=1, max_size=12)


@given(heights)
def test_labels_never_overlap_and_never_leave_the_panel(wanted: list[float]) -> None:
    placed = np.array(apart(wanted, 0.08, 0.0, 1.0))
    assert placed.min() >= -1e-9  # round-off
    assert placed.max() <= 1.0 + 1e-9
    gaps = np.diff(np.sort(placed))
    assert (gaps >= 0.08 - 1e-9).all()


@given(heights)
def test_labels_keep_the_order_of_their_lines(wanted: list[float]) -> None:
    placed = np.array(apart(wanted, 0.08, 0.0, 1.0))
    order = np.argsort(np.array(wanted), kind="stable")
    assert (np.diff(placed[order]) >= 0).all()


def test_labels_that_are_apart_stay_where_they_are() -> None:
    assert apart([0.1, 0.9, 0.5], 0.1, 0.0, 1.0) == [0.1, 0.9, 0.5]


tall = st.lists(
    st.tuples(st.floats(-0.2, 1.2, allow_nan=False), st.integers(1, 3)), min_size=2, max_size=4
)


@given(tall)
def test_labels_of_several_lines_clear_their_neighbours(wanted: list[tuple[float, int]]) -> None:
    heights, lines = [height for height, _ in wanted], [count for _, count in wanted]
    placed = apart(heights, 0.08, 0.0, 1.0, lines)
    order = np.argsort(placed, kind="stable")
    for below, above in pairwise(order):
        half = 0.08 * (lines[below] + lines[above]) / 2
        assert placed[above] - placed[below] >= half - 1e-9  # round-off
