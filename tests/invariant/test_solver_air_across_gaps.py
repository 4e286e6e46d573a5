"""Straight-through air across a gap: nothing is lost, uniform air leaves a wall alone."""

from __future__ import annotations

import numpy as np
import pytest

from hygro.material.library import get
from hygro.solve.march import run
from hygro.wall.elements import Gap, Initial, Layer
from hygro.wall.loads import constant_loads
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure

START = Initial(rh=0.5, temperature=293.15)
WALL = Wall(
    "gap",
    (
        Layer(get("fibreboard-sheathing"), 0.012, name="board", initial=START),
        Gap("gap", 0.02),
        Layer(get("glass-wool-batt"), 0.1, name="wool", initial=START),
    ),
    outside=Outside(emissivity=0.0),
)


@pytest.mark.parametrize("flow", [2e-4, -2e-4])
def test_uniform_air_flows_through_without_a_trace(flow: float) -> None:
    p = 0.5 * float(saturation_pressure(293.15))
    loads = constant_loads(240, (293.15, p), (293.15, p), gaps=1)
    loads.air[:] = flow
    result = run(WALL, loads)
    # tables interpolate saturation pressure to about 1e-7
    np.testing.assert_allclose(result.rh, 0.5, atol=1e-5)
    np.testing.assert_allclose(result.T, 293.15, atol=1e-5)


@pytest.mark.parametrize("flow", [2e-4, -2e-4])
def test_air_across_a_gap_keeps_the_balances(flow: float) -> None:
    loads = constant_loads(480, (268.15, 300.0), (294.15, 1200.0), gaps=1)
    loads.air[:] = flow
    loads.gap_rate[:] = 1e-4
    result = run(WALL, loads)
    assert max(result.closure.values()) <= 1e-8  # round-off of the converged march
    # outward flow of room air warms and wets the outer board, inward flow cools and dries it
    still = run(WALL, constant_loads(480, (268.15, 300.0), (294.15, 1200.0), gaps=1))
    assert np.sign(result.T[-1, 0] - still.T[-1, 0]) == -np.sign(flow)
