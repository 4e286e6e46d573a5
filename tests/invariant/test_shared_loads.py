"""Loads that walls of one climate share are those that each has alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from case_files import write_case
from feature_walls import frame

from hygro.case import climate, load
from hygro.room.models import Constant
from hygro.wall.elements import Gap
from hygro.wall.leaks import RainLeak
from hygro.wall.loads import LoadMaker, build_loads
from hygro.wall.series import series_of

DRY, MOIST = Constant(294.15, 0.35), Constant(294.15, 0.55)


@pytest.fixture(scope="module")
def weather(tmp_path_factory: pytest.TempPathFactory):
    return climate(load(write_case(tmp_path_factory.mktemp("case"))))


def test_walls_and_rooms_in_turn_have_their_own_loads_to_the_bit(weather) -> None:
    north = frame(Gap("gap", 0.02, 50.0), leaks=[RainLeak("sheathing", 0.01)])
    south = replace(north, azimuth=180.0)
    dark = replace(north, outside=replace(north.outside, absorptance=0.9))
    maker = LoadMaker(weather)
    for wall, room in ((north, DRY), (south, DRY), (dark, MOIST), (north, MOIST), (north, DRY)):
        shared, alone = maker.loads(wall, room), build_loads(wall, weather, room)
        assert shared.assumptions == alone.assumptions
        own = series_of(alone)
        assert all(np.array_equal(x, own[name]) for name, x in series_of(shared).items())
    first, last = maker.loads(north, DRY), maker.loads(north, MOIST)
    assert not np.array_equal(first.inside.vapour_pressure, last.inside.vapour_pressure)
    sun = [maker.loads(wall, DRY).outside.radiation.sum() for wall in (north, south, dark)]
    assert len(set(sun)) == 3
