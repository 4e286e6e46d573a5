"""The monotone cubic against scipy's, which has the same rule of slopes."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from hygro.material.cubic import monotone_cubic

RISES = st.integers(-5000, 5000).map(lambda k: k / 1000)
"""No denormal numbers: scipy divides by them."""
STEPS = st.lists(st.tuples(st.floats(1e-3, 10.0), RISES), min_size=1, max_size=12)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(steps=STEPS)
def test_values_and_slopes_are_those_of_scipy(steps: list[tuple[float, float]]) -> None:
    h, rise = (np.array(column) for column in zip(*steps, strict=True))
    x, y = np.concatenate([[0.0], np.cumsum(h)]), np.concatenate([[0.0], np.cumsum(rise)])
    ours, theirs = monotone_cubic(x, y), PchipInterpolator(x, y)
    at = np.concatenate([x, np.linspace(x[0], x[-1], 57)])
    scale = np.abs(rise / h).max()
    assert np.allclose(ours.value(at), theirs(at), rtol=1e-9, atol=1e-9 * (1 + scale))
    assert np.allclose(ours.slope(at), theirs(at, 1), rtol=1e-7, atol=1e-7 * (1 + scale))


@settings(max_examples=100, deadline=None, derandomize=True)
@given(steps=st.lists(st.tuples(st.floats(1e-3, 10.0), st.floats(0.0, 5.0)), min_size=1))
def test_rises_where_the_points_rise(steps: list[tuple[float, float]]) -> None:
    h, rise = (np.array(column) for column in zip(*steps, strict=True))
    x, y = np.concatenate([[0.0], np.cumsum(h)]), np.concatenate([[0.0], np.cumsum(rise)])
    found = monotone_cubic(x, y).value(np.linspace(x[0], x[-1], 500))
    assert np.diff(found).min() >= -1e-9 * (1 + y[-1])


def test_points_that_hardly_rise_do_not_overflow() -> None:
    curve = monotone_cubic([0.0, 1.0, 2.0], [0.0, -1e-308, -1.0])
    assert np.all(np.isfinite(curve.value(np.linspace(0.0, 2.0, 9))))
    assert abs(curve.slope(1.0)) < 1e-300


def test_keeps_the_shape_of_its_argument() -> None:
    curve = monotone_cubic([0.0, 1.0, 3.0], [0.0, 1.0, 1.5])
    assert curve.value(2.0).shape == ()
    assert curve.value(np.zeros((2, 3))).shape == (2, 3)
    assert curve.slope(np.zeros((2, 3))).shape == (2, 3)
