"""Water and energy are kept whatever a wall does, and every feature is seen to act."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from feature_walls import cold_humid_loads, features, frame
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from random_walls import random_loads, walls

from hygro.solve.march import run
from hygro.solve.settings import Settings
from hygro.solve.setup import Run

CLOSURE = 1e-8
NAMES = tuple(features())


@cache
def result(name: str) -> Run:
    return run(features()[name].wall, features()[name].loads)


def water(ours: Run) -> np.ndarray:
    """Water in the wall at every hour. [kg/m²]"""
    return (ours.w * ours.grid.thickness).sum(axis=1)


@pytest.mark.parametrize("name", NAMES)
def test_closure_of_water_and_energy(name: str) -> None:
    """The promise to users: 1e-8 of the throughput; round-off of the ledger is about 1e-14."""
    assert result(name).closure["moisture"] <= CLOSURE
    assert result(name).closure["energy"] <= CLOSURE


@pytest.mark.parametrize("name", NAMES)
def test_recorded_water_follows_the_ledger_hour_by_hour(name: str) -> None:
    """The states that users read, not the carried totals: they differ by what Newton leaves open.

    That is below NEWTON_CLOSE = 1/2 of a step tolerance (2.8e-3 in u), 1.4e-3 in u,
    of the free saturation of the wall.
    """
    ours = result(name)
    x = ours.ledger
    came = (
        x.vapour_outside + x.rain_absorbed + x.vapour_inside + x.water_inside + x.leak_rain
        + x.leak_vapour - x.drained - x.vapour_gap.sum(axis=1) - x.drip_outside - x.drip_inside
    )  # fmt: skip
    layers = features()[name].wall.solids
    hold = sum(3.5e-4 * 2 * layer.thickness * layer.material.w_free for layer in layers)
    assert np.abs(np.diff(water(ours)) - came).max() <= hold


@pytest.mark.parametrize("name", NAMES)
def test_humidity_stays_between_dry_and_saturated(name: str) -> None:
    assert result(name).rh.min() > 0.0
    assert result(name).rh.max() <= 1.0
    assert result(name).ice.min() >= 0.0


@pytest.mark.parametrize("name", NAMES)
def test_water_stays_within_the_pores(name: str) -> None:
    """Full pores drain within 600 s: the strongest source here, 3e-6 kg/(m²·s) of leaking air into
    1 mm at a face, keeps 2 kg/m³ above them; rain and wetting wait outside. Frost drains when it
    melts: it is per area and counted in the cell at the face, however thin.
    """
    ours, wall = result(name), features()[name].wall
    w_max = np.array([layer.material.w_max for layer in wall.solids])[ours.grid.layer]
    thawed = ours.T > 273.35
    assert np.where(thawed, ours.w - w_max, 0.0).max() <= 4.0


def test_rain_is_absorbed_up_to_what_strikes() -> None:
    ours, loads = result("rain on brick"), features()["rain on brick"].loads
    assert ours.ledger.rain_absorbed.sum() > 0.1
    assert (ours.ledger.rain_absorbed <= 3600 * loads.outside.rain + 1e-12).all()
    assert (ours.ledger.rain_absorbed >= 0.0).all()


def test_leaked_rain_arrives_or_drains() -> None:
    ours, loads = result("rain leak"), features()["rain leak"].loads
    given = 3600 * loads.source[:, 0]
    assert given.sum() > 0.001
    np.testing.assert_allclose(ours.ledger.leak_rain, given, rtol=1e-12, atol=1e-15)


def test_wetting_arrives_in_its_hour() -> None:
    ours = result("wetting")
    assert ours.ledger.leak_rain[30] == pytest.approx(0.3, rel=1e-12)
    assert ours.ledger.leak_rain.sum() == pytest.approx(0.3, rel=1e-12)


def test_more_water_than_a_face_of_a_gap_holds_drains() -> None:
    assert result("drained").ledger.drained.sum() > 0.1


def test_leaking_air_drops_water() -> None:
    assert result("air leak").ledger.leak_vapour.sum() > 0.01


def test_condensate_freezes_beyond_free_saturation() -> None:
    ours, wall = result("ice and condensate"), features()["ice and condensate"].wall
    wool = ours.grid.layer == 1
    assert ours.ice[:, wool].max() > 1.0
    assert ours.w[:, wool].max() > 2 * wall.solids[1].material.w_free


def test_openings_exchange_air() -> None:
    assert result("open gap").gap_rate.min() >= 0.0
    assert np.ptp(result("open gap").gap_rate) > 1e-4


def test_air_flow_carries_heat() -> None:
    """Outdoor air drawn in cools what indoor air pushed out warms."""
    means = []
    for rate in (2e-4, -2e-4):
        loads = replace(cold_humid_loads(48), air=np.full(48, rate))
        ours = run(frame(), loads)
        means.append(ours.T[-1, ours.grid.layer == 2].mean())
    assert means[1] > means[0] + 1.0


@hypothesis_settings(
    max_examples=40,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=list(HealthCheck),
)
@given(walls(bare=True), st.integers(0, 10**6))
def test_anything_legal_runs_closes_and_stays_in_bounds(wall, seed) -> None:
    """Single boards, bare wool, metal sheets, plastics: no promise of accuracy, but of sanity."""
    ours = run(wall, random_loads(wall, seed, 48), Settings(accuracy="draft"))
    assert max(ours.closure.values()) <= CLOSURE
    assert ours.rh.min() >= 0.0
    assert ours.rh.max() <= 1.0
    assert np.isfinite(ours.T).all()
