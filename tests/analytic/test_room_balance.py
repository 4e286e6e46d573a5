"""The room balance against closed forms and an independent integration."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from hygro.constants import GAS_CONSTANT_VAPOUR
from hygro.room.balance import Balance, Buffer, moisture_balance
from hygro.room.time import Outdoor, always, weekly
from weather.moistair import saturation_pressure

T_ROOM = 294.25


def _outdoor(hours=200, p=400.0, T=268.15):
    time = np.datetime64("2023-01-02T00", "h") + np.arange(hours)
    return Outdoor(time, np.full(hours, T), np.full(hours, p))


def _room(**changes):
    room = Balance(
        volume=250.0,
        air_change=0.03 * 3600.0 / 250.0,
        production=always(1e-4),
        temperature=T_ROOM,
        initial_rh=0.5,
    )
    return replace(room, **changes)


def test_constant_inputs_give_the_exponential():
    result = moisture_balance(_room(), _outdoor())
    t = np.arange(200) * 3600.0
    end = 400.0 + 1e-4 * GAS_CONSTANT_VAPOUR * T_ROOM / 0.03
    start = 0.5 * saturation_pressure(T_ROOM)
    exact = end + (start - end) * np.exp(-0.03 / 250.0 * t)
    # Exact integration: only round-off of 200 products.
    np.testing.assert_allclose(result.vapour_pressure, exact, rtol=1e-10)


def test_a_room_of_which_no_start_is_said_begins_in_its_steady_state():
    p = moisture_balance(_room(initial_rh=None), _outdoor()).vapour_pressure
    # outdoor 400 Pa and what 0.1 g/s add in 0.03 m³/s; from then on nothing changes
    steady = 400.0 + 1e-4 * GAS_CONSTANT_VAPOUR * T_ROOM / 0.03
    np.testing.assert_allclose(p, steady, rtol=1e-12)


def test_people_count_like_production():
    people = _room(production=always(0.0), occupants=always(2.0), person_moisture=5e-5)
    a, b = (moisture_balance(room, _outdoor()).vapour_pressure for room in (people, _room()))
    np.testing.assert_allclose(a, b, rtol=1e-13)


def test_unventilated_room_gains_all_that_is_produced():
    room = _room(air_change=0.0, production=always(1e-6))
    p = moisture_balance(room, _outdoor(50)).vapour_pressure
    gained = (p[-1] - p[0]) * 250.0 / (GAS_CONSTANT_VAPOUR * T_ROOM)
    assert gained == pytest.approx(49 * 3600.0 * 1e-6, rel=1e-9)


def test_buffered_room_agrees_with_an_independent_integrator():
    day = tuple(4e-4 if 7 <= h < 10 else 2e-5 for h in range(24))
    buffer = Buffer(200.0, 0.06, 8e-9)
    room = _room(production=weekly(day), buffer=buffer)
    outdoor = _outdoor(72)
    p_sat = float(saturation_pressure(T_ROOM))
    air, g = 250.0 / (GAS_CONSTANT_VAPOUR * T_ROOM), 0.03 / (GAS_CONSTANT_VAPOUR * T_ROOM)

    def rate(t, y, source):
        exchange = 200.0 * 8e-9 * (y[1] * p_sat - y[0])
        return [(g * (400.0 - y[0]) + source + exchange) / air, -exchange / (200.0 * 0.06)]

    y = [0.5 * p_sat, 0.5]
    reference = [y]
    for hour in range(71):
        end = solve_ivp(rate, (0, 3600), y, args=(day[hour % 24],), rtol=1e-10, atol=1e-10)
        y = end.y[:, -1].tolist()
        reference.append(y)
    result = moisture_balance(room, outdoor)
    # 1e-7: the integrator's tolerance over 71 hours.
    np.testing.assert_allclose(result.vapour_pressure, np.array(reference)[:, 0], rtol=1e-7)
    np.testing.assert_allclose(result.buffer_rh, np.array(reference)[:, 1], rtol=1e-7)


def test_humidifier_holds_the_set_point_with_what_ventilation_takes_away():
    room = _room(production=always(0.0), humidify_to=0.4, initial_rh=0.4)
    result = moisture_balance(room, _outdoor())
    p_set = 0.4 * saturation_pressure(T_ROOM)
    np.testing.assert_allclose(result.vapour_pressure, p_set, rtol=1e-10)
    needed = 0.03 / (GAS_CONSTANT_VAPOUR * T_ROOM) * (p_set - 400.0)
    np.testing.assert_allclose(result.humidifier[:-1], needed, rtol=1e-8)


def test_small_dehumidifier_runs_at_capacity_and_misses_the_set_point():
    room = _room(dehumidify_to=0.2, dehumidifier=2e-5)
    result = moisture_balance(room, _outdoor(400))
    end = 400.0 + 8e-5 * GAS_CONSTANT_VAPOUR * T_ROOM / 0.03
    assert end > 0.2 * saturation_pressure(T_ROOM)
    assert result.vapour_pressure[-1] == pytest.approx(end, rel=1e-9)
    assert result.dehumidifier[-2] == 2e-5


def test_windows_open_only_on_warm_days():
    cold = moisture_balance(_room(open_window_air_change=14.4), _outdoor()).vapour_pressure
    np.testing.assert_array_equal(cold, moisture_balance(_room(), _outdoor()).vapour_pressure)
    warm = moisture_balance(_room(open_window_air_change=14.4), _outdoor(T=296.15)).vapour_pressure
    assert warm[-1] < cold[-1]


@settings(max_examples=30, deadline=None)
@given(
    flow=st.floats(1e-3, 0.5),
    source=st.floats(0.0, 1e-4),
    area=st.floats(1.0, 500.0),
    start=st.floats(0.0, 1.0),
)
def test_air_stays_between_its_start_and_its_steady_state(flow, source, area, start):
    room = _room(
        air_change=flow * 3600.0 / 250.0,
        production=always(source),
        initial_rh=start,
        buffer=Buffer(area, 0.06, 8e-9),
    )
    p = moisture_balance(room, _outdoor(48)).vapour_pressure
    steady = 400.0 + source * GAS_CONSTANT_VAPOUR * T_ROOM / flow
    low, high = sorted((steady, p[0]))
    # 1e-6 Pa: round-off of kilopascals.
    assert np.all((p >= low - 1e-6) & (p <= high + 1e-6))
    assert np.all(np.diff(p) * (steady - p[0]) >= -1e-6)


def test_schedule_knows_the_weekday():
    # 2023-01-02 was a Monday, 2023-01-07 a Saturday.
    schedule = weekly((1.0,) * 24, (0.0,) * 24)
    time = np.datetime64("2023-01-02T00", "h") + np.arange(168)
    assert schedule.values(time).tolist() == [1.0] * 120 + [0.0] * 48
