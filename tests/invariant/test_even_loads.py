"""Hours whose loads go on evenly are crossed by single steps, and nothing else changes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from feature_walls import brick, frame
from random_walls import random_loads

from hygro.solve.ensemble import run_many
from hygro.solve.hours import hourly_loads
from hygro.solve.march import run
from hygro.solve.settings import Settings
from hygro.solve.setup import Run
from hygro.wall.elements import Gap, Openings
from hygro.wall.loads import Loads, constant_loads
from hygro.wall.wall import Wall

HOURS = 500
FEW = 0.6 * HOURS
"""Steps of a hundredth of the error; with one an hour at least they would be twice the hours."""
STEADY = Settings(max_step=3599.0)
"""No step crosses an hour; the accuracy is that of the default."""


def even(wall: Wall) -> Loads:
    return constant_loads(HOURS, (268.15, 350.0), (294.15, 1000.0), gaps=len(wall.gaps))


@pytest.mark.parametrize(
    "wall", [frame(), frame(Gap("gap", 0.02, 5.0)), brick()], ids=lambda w: w.name
)
def test_constant_loads_take_few_steps_and_lose_nothing(wall: Wall) -> None:
    """Within 2 mK and 5e-4 of steps of an hour with a hundredth of the error.

    A tenth of the 0.02 K that time may leave on random walls, and all of its 5e-4 in rh.
    """
    loads = even(wall)
    fast, fine = run(wall, loads), run(wall, loads, replace(STEADY, tolerance=0.01))
    assert fast.counters["steps"] < FEW
    assert np.sqrt(np.mean((fast.T - fine.T) ** 2)) < 2e-3
    assert np.sqrt(np.mean((fast.rh - fine.rh) ** 2)) < 5e-4
    assert max(fast.closure.values()) < 1e-12


def test_every_hour_of_a_long_step_has_its_share() -> None:
    """What crosses in each hour of a ramp that has settled is its energy, hour by hour."""
    wall = frame()
    loads = even(wall)
    warm = np.linspace(278.15, 288.15, HOURS + 1)
    loads = replace(loads, outside=replace(loads.outside, temperature=warm))
    fast, fine = run(wall, loads), run(wall, loads, replace(STEADY, tolerance=0.01))
    assert fast.counters["steps"] < FEW
    a, b = fast.ledger.energy_inside[48:], fine.ledger.energy_inside[48:]
    assert np.abs(a - b).max() < 2e-3 * np.abs(b).max()


def test_a_change_of_any_load_ends_the_even_hours() -> None:
    """Rain, sun, air, a leak or a temperature that changes at hour 100 is met by a step there."""
    loads = constant_loads(HOURS, (268.15, 350.0), (294.15, 1000.0), gaps=1, sources=1)
    later = np.arange(HOURS) >= 100

    def outside(**change: np.ndarray) -> Loads:
        return replace(loads, outside=replace(loads.outside, **change))

    inside = replace(loads.inside, vapour_pressure=1000.0 + 50.0 * (np.arange(HOURS + 1) > 100))
    changed = {
        "rain": outside(rain=1e-4 * later),
        "sun": outside(radiation=100.0 * later),
        "coefficient": outside(heat_coefficient=25.0 + 5.0 * (np.arange(HOURS + 1) > 100)),
        "gap": replace(loads, gap_rate=1e-3 * later[:, None]),
        "leak": replace(loads, source=1e-6 * later[:, None]),
        "air": replace(loads, air=1e-4 * later),
        "room": replace(loads, inside=inside),
    }
    assert hourly_loads(loads).even[0, 0] == HOURS
    for name, one in changed.items():
        # an instant that changes is reached by a slope over the hour before it
        then = 1 if name in ("coefficient", "room") else HOURS - 100
        assert hourly_loads(one).even[0, :101].tolist() == [*range(100, 0, -1), then], name


def test_air_change_from_the_state_of_the_gap_is_asked_every_hour() -> None:
    wall = frame(Gap("gap", 0.02, Openings(0.005, height=2.5)))
    loads = even(wall)
    got = run(wall, loads)
    assert got.counters["steps"] >= HOURS
    assert len(np.unique(got.gap_rate)) > HOURS / 2


def test_even_hours_in_company() -> None:
    """Lanes with even hours beside those in weather, over two chunks."""
    wall = frame()
    cases = [(wall, even(wall)), *((wall, random_loads(wall, k, HOURS)) for k in range(3))]
    cases.append((brick(), even(brick())))
    got = dict(run_many(cases, threads=1))
    for k, (one, loads) in enumerate(cases):
        alone, beside = run(one, loads), got[k]
        assert isinstance(beside, Run)
        assert np.array_equal(alone.T, beside.T)
        assert np.array_equal(alone.ledger.energy_inside, beside.ledger.energy_inside)
        assert alone.counters == beside.counters
