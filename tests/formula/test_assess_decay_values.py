"""Decay models against values computed from the equations (all from memory; arithmetic only).

Viitanen et al. 2010, Eur. J. Wood Prod. 68, 303-313; Brischke & Rapp 2010; Brischke &
Meyer-Veltrup 2016; Isaksson, Brischke & Thelandersson 2013. Tolerances: half the last digit.
"""

from __future__ import annotations

import numpy as np
import pytest

from hygro.assess.decay import (
    brown_rot,
    critical_hours,
    daily_dose,
    daily_means,
    decay_rating,
    dose_of_moisture,
    dose_of_temperature,
    loss_rate,
)

WARM = 293.15


@pytest.mark.parametrize(
    ("rh", "days", "loss"), [(0.97, 24.0, 3.56), (0.98, 17.9, 4.01), (1.00, 9.2, 4.91)]
)
def test_brown_rot_at_20_degrees_starts_and_loses_as_the_equations_say(rh, days, loss):
    assert critical_hours(WARM, rh) / 24 == pytest.approx(days, abs=0.05)
    assert 100 * 720 * loss_rate(WARM, rh) == pytest.approx(loss, abs=0.005)
    hours = 24 * 60
    state = brown_rot(np.full(hours + 1, WARM), np.full(hours + 1, rh))
    first = np.flatnonzero(state.activation >= 1.0)[0]
    assert first / 24 == pytest.approx(days, abs=0.05 + 1 / 24)  # found to the hour
    lasting = (hours - first) / 720
    assert 100 * state.mass_loss[-1] == pytest.approx(loss * lasting, rel=0.005 / loss)
    assert state.mass_loss[first] == 0.0


def test_a_full_activation_is_undone_in_two_dry_years():
    wet, dry = 24 * 12, 17520
    rh = np.concatenate((np.ones(wet + 1), np.full(dry, 0.5)))
    activation = brown_rot(np.full(rh.size, WARM), rh).activation
    assert activation[wet] == 1.0
    # a sum of 17520 equal steps
    assert activation[wet + dry // 2] == pytest.approx(0.5, abs=1e-9)
    assert activation[-1] == pytest.approx(0.0, abs=1e-9)


def test_a_fungus_that_fell_back_loses_no_wood_until_it_is_fully_active_again():
    # full activation, half a year below 95 %, then as wet and warm as before
    wet, dry = 24 * 12, 4380
    rh = np.concatenate((np.ones(wet + 1), np.full(dry, 0.5), np.ones(24 * 6)))
    state = brown_rot(np.full(rh.size, WARM), rh)
    back = wet + dry + 4380 / 17520 * critical_hours(WARM, 1.0)
    first = np.flatnonzero(state.mass_loss > state.mass_loss[wet])[0]
    assert first == pytest.approx(back, abs=2.0)  # found to the hour, loss begins the hour after
    assert state.mass_loss[wet + dry] == state.mass_loss[wet]


def test_rot_stands_still_below_95_percent_and_in_frost():
    for kelvin, rh in ((WARM, 0.95), (273.15, 1.0), (260.0, 1.0)):
        state = brown_rot(np.full(2000, kelvin), np.full(2000, rh))
        assert state.activation.max() == 0.0
        assert state.mass_loss.max() == 0.0


def test_cold_just_above_the_limit_gives_no_growth_instead_of_a_negative_time():
    # 0.5 °C, 95.1 %: -42.9 + 0.07 + 42.795 < 0
    assert critical_hours(273.65, 0.951) == float("inf")
    assert loss_rate(273.65, 0.951) == pytest.approx(0.0, abs=1e-6)


def test_heat_beyond_the_fit_is_rated_as_its_upper_end():
    assert critical_hours(318.15, 1.0) == critical_hours(303.15, 1.0) > 0.0


def test_daily_doses_have_their_values():
    assert dose_of_temperature(WARM) == pytest.approx(0.692, abs=0.0005)
    assert dose_of_moisture(0.25) == pytest.approx(0.0, abs=0.005)
    assert dose_of_moisture(0.30) == pytest.approx(0.394, abs=0.0005)
    assert dose_of_moisture(0.2499) == 0.0
    # (3.2 * 0.692 + 0.394) / 4.2
    both = daily_dose(np.array([WARM]), np.array([0.30]))[0]
    assert both == pytest.approx((3.2 * 0.692 + 0.394) / 4.2, abs=0.0005)
    assert daily_dose(np.array([270.0]), np.array([0.30]))[0] == 0.0
    assert daily_dose(np.array([WARM]), np.array([0.20]))[0] == 0.0


def test_both_dose_curves_peak_just_below_1():
    warm = dose_of_temperature(np.linspace(273.15, 313.1, 400)).max()
    wet = dose_of_moisture(np.linspace(0.25, 1.4, 400)).max()
    assert 0.9 < warm < 1.0
    assert 0.9 < wet < 1.0


def test_decay_begins_near_a_dose_of_325_days():
    assert decay_rating(325.0) == pytest.approx(0.501, abs=0.0005)
    assert decay_rating(325.0, fit="brischke2016") == pytest.approx(0.473, abs=0.0005)


def test_simplified_dose_is_square_of_moisture_times_temperature():
    dose = daily_dose(
        np.array([288.15, 263.15, 313.15]), np.array([0.15, 0.30, 0.60]), model="simplified"
    )
    # (15/30)² * 15/30; frost; both above their ends
    assert dose == pytest.approx([0.125, 0.0, 1.0], abs=1e-12)


def test_daily_means_leave_out_the_initial_state_and_the_broken_day():
    hourly = np.concatenate(([99.0], np.repeat([1.0, 2.0], 24), [7.0] * 5))
    assert daily_means(hourly).tolist() == [1.0, 2.0]
