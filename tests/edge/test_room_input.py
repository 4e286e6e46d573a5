"""Indoor climate refuses impossible input and says why."""

from __future__ import annotations

import numpy as np
import pytest

from hygro.errors import InputError
from hygro.room.balance import Balance
from hygro.room.climate import indoor_climate
from hygro.room.models import Constant, MoistureExcess, OutdoorRule, Series
from hygro.room.presets import room_preset
from hygro.room.time import Outdoor, Schedule, weekly

TIME = np.datetime64("2023-07-01T00", "h") + np.arange(24)


def _outdoor(T=303.15, p=3400.0):
    return Outdoor(TIME, np.full(24, T), np.full(24, p))


def test_percent_is_named_as_the_likely_cause():
    with pytest.raises(InputError, match=r"54.2: must be 0 to 1; is it in percent"):
        Constant(294.15, 54.2)


def test_celsius_is_named_as_the_likely_cause():
    with pytest.raises(InputError, match=r'21: must be 223\.15 to 343\.15 K; .*"21 degC"'):
        Constant(21.0, 0.5)
    with pytest.raises(InputError, match="in °C"):
        Outdoor(TIME, np.full(24, 20.0), np.full(24, 900.0))


def test_missing_outdoor_hours_are_refused():
    with pytest.raises(InputError, match="does not follow by one hour"):
        Outdoor(np.delete(TIME, 5), np.full(23, 280.0), np.full(23, 900.0))
    with pytest.raises(
        InputError, match=r"vapour_pressure at 2023-07-01T03:00 = nan.*a value is missing"
    ):
        Outdoor(TIME, np.full(24, 280.0), np.where(np.arange(24) == 3, np.nan, 900.0))


def test_air_beyond_saturation_is_refused_not_clipped():
    room = MoistureExcess("iso13788_class2", temperature=293.15)
    with pytest.raises(InputError, match=r"RH = 1\.\d+: must be 0–1 \(24 such hours\)"):
        indoor_climate(room, _outdoor())


def test_rh_limit_that_the_user_asks_for_is_held_and_recorded():
    room = MoistureExcess("iso13788_class2", temperature=293.15, rh_limit=0.7)
    climate = indoor_climate(room, _outdoor())
    assert any("held at or below 0.7 in 24 h" in text for text in climate.assumptions)


def test_unknown_names_get_near_matches():
    with pytest.raises(InputError, match="did you mean 'en15026_normal'"):
        OutdoorRule("en15026_norml")
    with pytest.raises(InputError, match="did you mean 'dwelling_"):
        room_preset("dwelling_hi")


def test_schedules_must_have_whole_days():
    with pytest.raises(InputError, match="168"):
        Schedule((1.0,) * 24)
    with pytest.raises(InputError, match="24 values"):
        weekly((1.0,) * 23)


def test_unventilated_room_needs_a_start():
    room = Balance(volume=100.0, air_change=0.0, temperature=294.15)
    with pytest.raises(InputError, match="initial_rh is needed"):
        indoor_climate(room, _outdoor())


def test_fighting_set_points_are_refused():
    with pytest.raises(InputError, match="would fight"):
        Balance(volume=100.0, air_change=1.0, humidify_to=0.5, dehumidify_to=0.4)


def test_series_of_another_year_is_refused():
    with pytest.raises(InputError, match="leap year"):
        indoor_climate(Series(np.full(25, 294.0), np.full(25, 900.0), "a logger"), _outdoor())
