"""Air pressures, leaks and gap flow against hand values and inverses."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hygro.errors import InputError
from hygro.wall.flow import (
    Exposure,
    Leakage,
    air_density,
    leak_flow,
    leak_pressure,
    leakage_from_test,
    pressure_coefficient,
    stack_pressure,
    wall_pressures,
    wind_speed_at,
)
from hygro.wall.gap_flow import (
    VISCOSITY,
    GapGeometry,
    GapWeather,
    channel_velocity,
    cladding_air_change,
    friction_factor,
    gap_ventilation,
    pressure_loss,
)

GAP = GapGeometry(depth=0.019, height=2.5, bottom=0.012, top=0.012)


def test_air_density_is_the_textbook_value():
    # Dry air at 20 °C and 101 325 Pa: 1.204 kg/m³ (textbook, from memory; four digits).
    assert air_density(293.15) == pytest.approx(1.204, abs=5e-4)
    assert air_density(293.15, 2000.0) < air_density(293.15)


def test_stack_pressure_of_a_hand_worked_case():
    # −20 °C against 20 °C, 3 m: (1.3943 − 1.2041)·9.81·3 = 5.60 Pa.
    assert stack_pressure(253.15, 293.15, 3.0) == pytest.approx(5.60, abs=0.005)
    assert stack_pressure(253.15, 293.15, -3.0) == -stack_pressure(253.15, 293.15, 3.0)


def test_wind_in_open_country_at_station_height_is_the_station_wind():
    assert wind_speed_at(5.0, 10.0, terrain="open") == pytest.approx(5.0)
    # Handbook relation by hand: (270/10)^0.14·(10/370)^0.22 = 1.5863·0.4518 = 0.7167.
    assert wind_speed_at(1.0, 10.0, terrain="suburban") == pytest.approx(0.7167, abs=5e-4)


def test_wind_pushes_the_windward_wall_and_sucks_the_rest():
    angles = np.array([0.0, 90.0, 180.0, 270.0, 360.0, -90.0])
    Cp = pressure_coefficient(angles)
    assert Cp[0] == pytest.approx(0.6)
    assert Cp[4] == pytest.approx(0.6)
    assert np.all(Cp[[1, 2, 3, 5]] < 0.0)
    np.testing.assert_allclose(Cp[[3, 5]], Cp[1])


@given(
    flow=st.floats(0.01, 10.0),
    pressure=st.floats(1.0, 100.0),
    exponent=st.floats(0.5, 1.0),
    other=st.floats(-50.0, 50.0).filter(lambda x: abs(x) > 1e-3),
)
def test_power_law_passes_its_test_point_and_inverts(flow, pressure, exponent, other):
    leak = leakage_from_test(flow, unit="L/(s·m2)", pressure=pressure, exponent=exponent)
    # 1e-9: round-off of two powers.
    assert leak_flow(leak, pressure) == pytest.approx(flow * 1e-3, rel=1e-9)
    assert leak_pressure(leak, leak_flow(leak, other)) == pytest.approx(other, rel=1e-9)
    assert leak_flow(leak, -other) == -leak_flow(leak, other)


def test_test_units_agree():
    a = leakage_from_test(2.0, unit="L/(s·m2)", pressure=75.0)
    b = leakage_from_test(7.2, unit="m3/(h·m2)", pressure=75.0)
    assert a.coefficient == pytest.approx(b.coefficient)
    # At 4 Pa: 2·(4/75)^0.65 = 0.2978 L/(s·m²).
    assert leak_flow(a, 4.0) == pytest.approx(0.2978e-3, rel=1e-3)


def test_pressures_of_stack_wind_and_fan_have_the_promised_signs():
    south = Exposure(180.0, 2.0, 6.0, fan_pressure=3.0)
    T_o, T_i = np.full(3, 263.15), np.full(3, 294.15)
    found = wall_pressures(
        south,
        T_o=T_o,
        T_i=T_i,
        wind_speed=np.array([0.0, 5.0, 5.0]),
        wind_direction=np.array([np.nan, 180.0, 0.0]),
    )
    assert np.all(found.stack > 0.0)
    assert found.wind[0] == 0.0
    assert found.wind[1] < 0.0 < found.wind[2]
    np.testing.assert_allclose(found.total, found.stack + found.wind + 3.0)


def test_missing_direction_in_wind_is_refused():
    with pytest.raises(InputError, match=r"wind_direction\[0\] is missing"):
        wall_pressures(
            Exposure(180.0, 2.0, 6.0),
            T_o=np.array([263.0]),
            T_i=np.array([294.0]),
            wind_speed=np.array([3.0]),
            wind_direction=np.array([np.nan]),
        )


def test_impossible_flow_input_is_refused():
    with pytest.raises(InputError, match="azimuth = 540"):
        Exposure(540.0, 2.0, 6.0)
    with pytest.raises(InputError, match=r"exponent = 0\.3"):
        leakage_from_test(1.0, unit="L/(s·m2)", pressure=75.0, exponent=0.3)
    with pytest.raises(InputError, match="unit = 'cfm'"):
        leakage_from_test(1.0, unit="cfm", pressure=75.0)
    with pytest.raises(InputError, match="airtight"):
        leak_pressure(Leakage(0.0, 0.65), 1.0)
    with pytest.raises(InputError, match="in mm"):
        GapGeometry(depth=19.0, height=2.5, bottom=0.01, top=0.01)
    with pytest.raises(InputError, match="did you mean 'suburban'"):
        wind_speed_at(1.0, 10.0, terrain="suburbn")


def test_laminar_channel_follows_the_parallel_plate_law():
    # Openings 100 times the channel: Δp = 12·μ·H·u/d² alone.
    wide = GapGeometry(depth=0.004, height=2.5, bottom=0.4, top=0.4, discharge=1.0)
    expected = 0.01 * 0.004**2 / (12.0 * VISCOSITY * 2.5)
    # 1e-3: what the openings still take.
    assert channel_velocity(wide, 0.01, 1.2) == pytest.approx(expected, rel=1e-3)


def test_friction_is_continuous_where_flow_turns_turbulent():
    edge = (96.0 / 0.3164) ** (1.0 / 0.75)
    below, above = friction_factor(np.array([edge * (1 - 1e-9), edge * (1 + 1e-9)]))
    assert below == pytest.approx(above, rel=1e-8)


@given(pressure=st.floats(1e-4, 200.0), depth=st.floats(0.003, 0.1), opening=st.floats(0.001, 0.1))
def test_velocity_inverts_the_pressure_loss(pressure, depth, opening):
    gap = GapGeometry(depth=depth, height=3.0, bottom=opening, top=opening)
    u = channel_velocity(gap, pressure, 1.2)
    # 1e-9: the iteration stops at 1e-12 and the loss is at most quadratic.
    assert pressure_loss(gap, u, 1.2) == pytest.approx(pressure, rel=1e-9)
    assert channel_velocity(gap, -pressure, 1.2) == -u


def _weather(T_o, cladding, wind):
    one = np.array([1.0])
    return GapWeather(T_o * one, 800.0 * one, cladding * one, 294.15 * one, wind * one)


def test_sun_and_wind_ventilate_as_measured_behind_sidings():
    low, high, _ = cladding_air_change("siding_ventilated")
    # Full-scale walls: 100–1000 air changes per hour behind sidings.
    for case in (_weather(283.15, 313.15, 0.0), _weather(273.15, 273.15, 3.0)):
        air_change = gap_ventilation(GAP, case, R_cladding=0.1, R_wall=3.0).air_change[0]
        assert low <= air_change <= high


def test_gap_temperature_closes_its_balance():
    case = _weather(283.15, 313.15, 1.0)
    state = gap_ventilation(GAP, case, R_cladding=0.1, R_wall=3.0)
    T = state.temperature[0]
    rho = air_density(283.15, 800.0)
    carried = rho * 1006.0 * abs(state.velocity[0]) * 0.019 / 2.5 * (T - 283.15)
    gained = (313.15 - T) / 0.1 + (294.15 - T) / 3.0
    # 1e-6 W/m² of some 200: bisection leaves 1e-10 K.
    assert carried == pytest.approx(gained, abs=1e-6)
    assert 283.15 < T < 313.15


def test_cold_sky_lets_the_gap_air_sink():
    case = _weather(283.15, 275.15, 0.0)
    assert gap_ventilation(GAP, case, R_cladding=0.1, R_wall=3.0).velocity[0] < 0.0


def test_moist_gap_air_rises():
    case = _weather(294.15, 294.15, 0.0)
    still = gap_ventilation(GAP, case, R_cladding=0.1, R_wall=3.0)
    moist = gap_ventilation(GAP, case, R_cladding=0.1, R_wall=3.0, p_gap=np.array([2400.0]))
    # Equal temperatures everywhere: only moisture is left to drive (1e-6 m/s: bisection).
    assert abs(still.velocity[0]) < 1e-6
    assert moist.velocity[0] > 0.01


def test_unknown_cladding_gets_near_matches():
    with pytest.raises(InputError, match="did you mean 'brick_vented'"):
        cladding_air_change("brick_vnted")
