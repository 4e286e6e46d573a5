"""Indoor climate rules against the corner values of the standards (from memory)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from hygro.room.balance import (
    Ashrae160Intermediate,
    bedroom_moisture,
    daily_buffer,
)
from hygro.room.climate import indoor_climate
from hygro.room.models import Constant, MoistureExcess, OutdoorRule, Seasonal, ashrae160_temperature
from hygro.room.presets import preset_names, room_preset
from hygro.room.time import Outdoor, averaged
from weather.moistair import saturation_pressure


def _steady_outdoor(celsius: float, *, rh: float = 0.8, hours: int = 72) -> Outdoor:
    time = np.datetime64("2023-01-02T00", "h") + np.arange(hours)
    T = np.full(hours, celsius + 273.15)
    return Outdoor(time, T, rh * saturation_pressure(T))


def _state(room, outdoor):
    climate = indoor_climate(room, outdoor)
    rh = climate.vapour_pressure / saturation_pressure(climate.temperature)
    return climate.temperature[-1] - 273.15, rh[-1]


# EN 15026 annex C (from memory): corner values, and the mid-point of the broken line.
@pytest.mark.parametrize(
    ("outside", "inside", "normal", "high"),
    [
        (-15, 20, 0.30, 0.40),
        (-10, 20, 0.30, 0.40),
        (5, 20, 0.45, 0.55),
        (15, 22.5, 0.55, 0.65),
        (20, 25, 0.60, 0.70),
        (28, 25, 0.60, 0.70),
    ],
)
def test_en15026_gives_its_corner_values(outside, inside, normal, high):
    outdoor = _steady_outdoor(outside)
    for name, rh in (("en15026_normal", normal), ("en15026_high", high)):
        # 1e-9: only round-off of an interpolation lies between.
        assert _state(OutdoorRule(name), outdoor) == pytest.approx((inside, rh), abs=1e-9)


# ASHRAE 160 (from memory): 40 % to −10 °C, (50 + T) % between, 70 % from 20 °C.
@pytest.mark.parametrize(
    ("outside", "rh"), [(-20, 0.40), (-10, 0.40), (0, 0.5), (12, 0.62), (25, 0.70)]
)
def test_ashrae_160_simplified_is_fifty_plus_outdoor_celsius(outside, rh):
    assert _state(OutdoorRule("ashrae160_simplified"), _steady_outdoor(outside))[
        1
    ] == pytest.approx(rh, abs=1e-9)


def test_ashrae_160_temperature_floats_between_heating_and_cooling():
    T = np.array([-10.0, 18.3, 19.7, 21.1, 30.0]) + 273.15
    # From memory: 21.1 °C heating, +2.8 K above 18.3 °C, at most 23.9 °C with cooling.
    np.testing.assert_allclose(
        ashrae160_temperature(T, cooling=True) - 273.15, [21.1, 21.1, 22.5, 23.9, 23.9], atol=1e-9
    )
    assert ashrae160_temperature(T, cooling=False)[-1] - 273.15 == pytest.approx(32.8)


# ISO 13788:2012 annex A (from memory): Δp at or below 0 °C, falling linearly to 0 at 20 °C.
@pytest.mark.parametrize(
    ("number", "cold"), [(1, 270.0), (2, 540.0), (3, 810.0), (4, 1080.0), (5, 1360.0)]
)
def test_iso13788_classes_add_their_excess(number, cold):
    room = MoistureExcess(f"iso13788_class{number}", temperature=296.15)
    for celsius, share in ((-5, 1.0), (0, 1.0), (10, 0.5), (20, 0.0)):
        outdoor = _steady_outdoor(celsius, rh=0.5)
        more = indoor_climate(room, outdoor).vapour_pressure[-1] - outdoor.vapour_pressure[-1]
        assert more == pytest.approx(cold * share, abs=1e-6)  # round-off of a sum of kPa


def test_a_margin_raises_the_excess_by_its_factor():
    outdoor = _steady_outdoor(0, rh=0.5)
    room = MoistureExcess("iso13788_class2", temperature=296.15, margin=1.25)
    more = indoor_climate(room, outdoor).vapour_pressure[-1] - outdoor.vapour_pressure[-1]
    # 540 Pa of class 2 at 0 °C (from memory), a quarter more
    assert more == pytest.approx(675.0, abs=1e-6)


def test_density_and_pressure_limits_of_iso13788_agree():
    # 4 g/m³ and 540 Pa are both printed for class 2 (from memory).
    rule = MoistureExcess("iso13788_class2")
    density = replace(rule, quantity="density", excess=(4e-3, 0.0))
    time = np.datetime64("2023-01-02T00", "h") + np.arange(24)
    outdoor = Outdoor(time, np.full(24, 273.15), np.zeros(24))
    p = [indoor_climate(room, outdoor).vapour_pressure[0] for room in (rule, density)]
    assert p[1] == pytest.approx(p[0], abs=5.0)  # the standard rounds to 10 Pa


def test_measured_moisture_supply_is_a_density_excess():
    # Kalamees et al.: 4 g/m³ up to 5 °C outdoors. At 0 °C and 300 Pa: v_e = 300/(461.5·273.15).
    time = np.datetime64("2023-01-02T00", "h") + np.arange(24)
    outdoor = Outdoor(time, np.full(24, 273.15), np.full(24, 300.0))
    room = MoistureExcess("measured_houses_fi", temperature=294.15)
    expected = (300.0 / (461.5 * 273.15) + 4e-3) * 461.5 * 294.15
    assert indoor_climate(room, outdoor).vapour_pressure[0] == pytest.approx(expected, rel=1e-12)


def test_ashrae_160_intermediate_follows_its_printed_equation():
    # From memory: c = 1.36e5, 2 bedrooms 1.4e-4 kg/s (12 kg/d), 0.2 ACH in 300 m³ is 1/60 m³/s.
    outdoor = _steady_outdoor(0)
    room = Ashrae160Intermediate(300.0, 2)
    more = indoor_climate(room, outdoor).vapour_pressure[-1] - outdoor.vapour_pressure[-1]
    # 1.4e-4 is printed with two digits: 12/86400 = 1.389e-4.
    assert more == pytest.approx(1.36e5 * 1.4e-4 * 60.0, rel=0.01)


@pytest.mark.parametrize(("bedrooms", "rate"), [(1, 0.9e-4), (2, 1.4e-4), (3, 1.6e-4), (4, 1.7e-4)])
def test_bedroom_generation_matches_the_second_unit_of_the_table(bedrooms, rate):
    # Both units from memory; the kg/s column has two digits, so half of its last digit.
    assert bedroom_moisture(bedrooms) == pytest.approx(rate, abs=0.05e-4)


def test_fifth_bedroom_adds_a_kilogram_a_day():
    assert bedroom_moisture(5) - bedroom_moisture(4) == pytest.approx(1.0 / 86400.0)


def test_window_advice_gives_thirty_per_cent_at_minus_twelve():
    # Advice in two trade sources: 4 °C 45 %; −12 °C 30 %; −23 °C 20 %.
    for celsius, rh in ((10, 0.45), (-12, 0.30), (-23, 0.20), (-35, 0.15)):
        found = _state(OutdoorRule("window_advice"), _steady_outdoor(celsius))[1]
        assert found == pytest.approx(rh, abs=1e-9)


def test_effective_depth_of_the_buffer_is_the_printed_one():
    # δ 1e-12, ξ = 450·0.18 at 23 °C: depth 0.977 mm, computed from d = √(δ p_sat τ/(π ξ)).
    buffer = daily_buffer(area=1.0, permeability=1e-12, slope=81.0, T=296.15)
    # 1e-3: the printed depth has three digits.
    assert buffer.capacity / 81.0 == pytest.approx(0.977e-3, rel=1e-3)


def test_seasonal_room_reaches_its_extremes_on_the_named_day():
    time = np.datetime64("2023-01-01T00", "h") + np.arange(8760)
    outdoor = Outdoor(time, np.full(8760, 283.15), np.full(8760, 900.0))
    climate = indoor_climate(Seasonal(293.15, 298.15, 0.35, 0.60, summer_day=196.0), outdoor)
    top = (196 - 1) * 24
    assert int(np.argmax(climate.temperature)) == top
    assert climate.temperature[top] == pytest.approx(298.15)
    # 1e-4: the winter extreme falls half an hour beside a sample.
    assert climate.temperature.min() == pytest.approx(293.15, abs=1e-4)
    rh = climate.vapour_pressure[top] / saturation_pressure(298.15)
    assert rh == pytest.approx(0.60)


def test_running_mean_looks_back_and_calendar_mean_does_not():
    time = np.datetime64("2023-01-01T00", "h") + np.arange(48)
    x = np.repeat([0.0, 24.0], 24)
    assert averaged(x, time, "running_24h")[24] == pytest.approx(1.0)
    assert averaged(x, time, "calendar_day")[[0, 23, 24, 47]].tolist() == [0.0, 0.0, 24.0, 24.0]
    assert averaged(x, time, "month")[0] == pytest.approx(12.0)


def test_every_preset_stays_possible_through_a_temperate_year():
    hours = np.arange(8760)
    T = 283.15 - 12.0 * np.cos(2 * np.pi * hours / 8760) - 5.0 * np.cos(2 * np.pi * hours / 24)
    p = 0.8 * saturation_pressure(278.15 - 12.0 * np.cos(2 * np.pi * hours / 8760))
    outdoor = Outdoor(np.datetime64("2023-01-01T00", "h") + hours, T, p)
    means = {}
    for name in preset_names():
        climate = indoor_climate(room_preset(name), outdoor)
        rh = climate.vapour_pressure / saturation_pressure(climate.temperature)
        means[name] = rh[:1416].mean()
        assert climate.assumptions
    # January and February: the three dwellings must come in the order of their names.
    assert means["dwelling_low"] < means["dwelling_normal"] < means["dwelling_high"]
    assert means["pool_hall"] == pytest.approx(0.60)


def test_constant_room_is_constant():
    climate = indoor_climate(Constant(294.25, 0.4), _steady_outdoor(-5))
    assert np.ptp(climate.vapour_pressure) == 0.0
    assert climate.vapour_pressure[0] == pytest.approx(0.4 * saturation_pressure(294.25))
