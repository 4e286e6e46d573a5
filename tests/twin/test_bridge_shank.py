"""The shank's closed form against a finite-difference solve, and its bounds."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import solve_banded

from hygro.wall.shank import Shank, parallel_path_temperature, shank_temperature


def _finite_volumes(shank: Shank, T_outer: float, T_inner: float, n: int) -> tuple[float, float]:
    kA = shank.conductivity * np.pi / 4 * shank.diameter**2
    g = 2 * np.pi * shank.insulation / np.log(2 * shank.radius / shank.diameter)
    dx = shank.length / n
    x = np.linspace(0.0, shank.length, n + 1)
    field = T_outer + (T_inner - T_outer) * x / shank.length
    side = np.full(n + 1, g * dx)
    side[[0, -1]] /= 2.0
    side[0] += shank.outer
    side[-1] += shank.inner
    band = np.zeros((3, n + 1))
    band[0, 1:] = band[2, :-1] = -kA / dx
    band[1] = side + 2.0 * kA / dx
    band[1, [0, -1]] -= kA / dx
    T = solve_banded((1, 1), band, side * field)
    return T[0], T[-1]


SCREW = Shank(4.5e-3, 50.0, 0.0762, 0.030, 0.0762, outer=0.02, inner=0.008)


def test_closed_form_agrees_with_finite_volumes_at_second_order():
    found = shank_temperature(SCREW, T_outer=253.15, T_inner=283.15)
    errors = []
    for n in (25, 50, 100):
        coarse = _finite_volumes(SCREW, 253.15, 283.15, n)
        errors.append(abs(coarse[1] - found.inner))
        # The scheme's own error: (m·dx)²/12 of a 10 K excess is 0.01 K at n = 25.
        assert coarse == pytest.approx((found.outer, found.inner), abs=0.02)
    # Order 2 within 0.2: the leading term dominates at these steps.
    assert np.log2(errors[0] / errors[1]) == pytest.approx(2.0, abs=0.2)
    assert np.log2(errors[1] / errors[2]) == pytest.approx(2.0, abs=0.2)


@settings(max_examples=60, deadline=None)
@given(
    diameter=st.floats(2e-3, 8e-3),
    k=st.floats(10.0, 200.0),
    length=st.floats(0.025, 0.3),
    outer=st.floats(0.0, 1.0),
    inner=st.floats(0.0, 1.0),
)
def test_shank_lies_between_its_planes_and_below_the_parallel_path(
    diameter, k, length, outer, inner
):
    shank = Shank(diameter, k, length, 0.03, 0.1, outer, inner)
    state = shank_temperature(shank, T_outer=253.15, T_inner=283.15)
    # 1e-9 K: round-off of a 2×2 solve.
    assert 253.15 - 1e-9 <= state.outer <= state.inner + 1e-9 <= 283.15 + 2e-9
    assert 0.0 <= state.chi <= k * np.pi / 4 * diameter**2 / length * (1 + 1e-9)


def test_perfect_contact_is_the_parallel_path():
    shank = Shank(4.5e-3, 50.0, 0.0762, 0.030, 0.0762, outer=1e6, inner=1e6)
    state = shank_temperature(shank, T_outer=253.15, T_inner=283.15)
    # 1e-6: contacts of 10⁶ W/K leave about 10⁻⁸ of the resistance.
    assert state.inner == pytest.approx(283.15, abs=1e-6)
    assert state.chi == pytest.approx(50.0 * np.pi / 4 * 4.5e-3**2 / 0.0762, rel=1e-6)


def test_shank_is_warmer_than_the_parallel_path_through_steel():
    # The path of its own: outdoor film 0.04, 76 mm of steel, then 3 m²·K/W of wall inside.
    bound = parallel_path_temperature(
        R_outer=0.04 + 0.0762 / 50.0, R_inner=3.0, T_o=253.15, T_i=294.15
    )
    state = shank_temperature(SCREW, T_outer=254.0, T_inner=275.0)
    assert bound < state.inner < 275.0
