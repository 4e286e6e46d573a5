"""The string under the saturation pressures against a relaxation of the obstacle problem."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from hygro.wall.monthly import net_condensation


def _obstacle(Z, p_sat, p_o, p_i):
    """Projected Gauss–Seidel for p ≤ p_sat: another road to the same profile."""
    x = np.concatenate(([0.0], Z))
    p = np.concatenate(([p_o], np.minimum(p_sat, min(p_o, p_i)), [p_i]))
    for _ in range(20000):
        old = p.copy()
        for k in range(1, len(p) - 1):
            left, right = x[k] - x[k - 1], x[k + 1] - x[k]
            p[k] = min((p[k - 1] * right + p[k + 1] * left) / (left + right), p_sat[k - 1])
        if np.max(np.abs(p - old)) < 1e-9:
            break
    return np.diff(np.diff(p) / np.diff(x))


@settings(max_examples=40, deadline=None)
@given(
    steps=st.lists(st.floats(0.1, 3.0), min_size=4, max_size=7),
    seed=st.integers(0, 1000),
)
def test_condensation_solves_the_obstacle_problem(steps, seed):
    rng = np.random.default_rng(seed)
    Z = np.cumsum(steps)
    p_sat = np.sort(rng.uniform(250.0, 2400.0, len(Z) - 1))
    p_o, p_i = 0.8 * p_sat[0], rng.uniform(400.0, 2400.0)
    net = net_condensation(Z, p_sat, p_o, p_i, ())
    # 1e-3 of slopes of some 100: Gauss–Seidel stops at steps of 1e-9 Pa but creeps.
    np.testing.assert_allclose(net, _obstacle(Z, p_sat, p_o, p_i), atol=1e-3)
