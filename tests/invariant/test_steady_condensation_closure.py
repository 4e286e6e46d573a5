"""What steady walls must keep whatever their numbers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hygro.wall.framing import framed_paths, resistance_bounds
from hygro.wall.monthly import net_condensation


@settings(max_examples=40, deadline=None)
@given(wet=st.sets(st.integers(0, 4)), seed=st.integers(0, 1000))
def test_condensate_is_what_enters_less_what_leaves(wet, seed):
    rng = np.random.default_rng(seed)
    Z = np.cumsum(rng.uniform(0.1, 3.0, 6))
    p_sat, p_o, p_i = rng.uniform(250.0, 2400.0, 5), 300.0, 1200.0
    net = net_condensation(Z, p_sat, p_o, p_i, sorted(wet))
    assert all(net[k] >= 0.0 for k in set(range(5)) - wet)
    x = np.concatenate(([0.0], Z))
    held = {int(k) for k in np.flatnonzero(net)} | wet
    pins = [0, *(k + 1 for k in sorted(held)), 6]
    p = np.interp(x, x[pins], np.concatenate(([p_o], p_sat[sorted(held)], [p_i])))
    flux_in = (p[6] - p[5]) / (x[6] - x[5])
    flux_out = (p[1] - p[0]) / (x[1] - x[0])
    # 1e-9 relative to fluxes of up to 1e4: round-off of differences.
    assert net.sum() == pytest.approx(flux_in - flux_out, abs=1e-6)


def test_isothermal_planes_never_exceed_parallel_paths():
    rng = np.random.default_rng(5)
    for _ in range(50):
        share = rng.uniform(0.05, 0.95)
        outer, inner = rng.uniform(0.01, 3.0, 2), rng.uniform(0.01, 1.0, 1)
        paths = framed_paths(outer, rng.uniform(0.1, 5), rng.uniform(0.1, 5), inner, fraction=share)
        bounds = resistance_bounds(paths)
        # 1e-12: where both paths are alike the two bounds are the same number.
        assert bounds.lower <= bounds.upper * (1.0 + 1e-12)
