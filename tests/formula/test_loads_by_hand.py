"""Every series of the loads of three invented hours, against numbers worked out by hand.

Sun: with no beam and no sky light a vertical plane sees half of what the ground throws back.
Longwave: half sky, half ground. Rain: ASHRAE 160, F_E·F_D·0.2·v·r (from memory).
"""

from __future__ import annotations

import numpy as np
import xarray as xr
from feature_walls import frame

from hygro.room.models import Constant
from hygro.wall.elements import Gap
from hygro.wall.leaks import AirLeak, RainLeak, Wetting
from hygro.wall.loads import (
    Loads,
    build_loads,
    closed_loads,
    constant_loads,
    loads_between,
    repeat_loads,
)
from hygro.wall.surfaces import Inside, Outside
from weather import Place as Site
from weather.canonical import Origin, build

ROOM = Constant(294.15, 0.5)
P_ROOM = 0.5 * 610.5 * np.exp(17.269 * 21.0 / (237.3 + 21.0))
"""Half of saturation at 21 °C by the formula of ISO 13788. [Pa]"""
THIN = (1.0 - 2.25577e-5 * 100.0) ** -5.2559
"""p0/p at 100 m, standard atmosphere (ASHRAE Fundamentals ch. 1, from memory): vapour transfer by
the Lewis relation rises by it."""
ROUND = 1e-12
"""Relative; a few roundings of each number."""


def climate() -> xr.Dataset:
    """Three hours that end at 23 h of 31 January, midnight and 1 h; wind from the north."""
    time = np.datetime64("2001-01-31T23", "ns") + np.arange(3) * np.timedelta64(1, "h")
    columns = {
        "temperature": np.array([278.15, 281.15, 283.15]),
        "dew_point": np.array([268.15, 270.15, 272.15]),
        "wind_speed": np.array([5.0, 1.0, 0.0]),
        "wind_direction": np.zeros(3),
        "global_horizontal": np.array([500.0, 200.0, 0.0]),
        "diffuse_horizontal": np.zeros(3),
        "direct_normal": np.zeros(3),
        "ground_temperature": np.full(3, 280.0),
        "longwave_down": np.array([300.0, 250.0, 200.0]),
        "precipitation": np.array([2.0, 1.0, 3.0]),
    }
    return build(columns, time, Site(52.0, 10.0, 100.0, 1.0), Origin("by hand", "", "invented"))


def loads(**more: object) -> Loads:
    return build_loads(frame(**more), climate(), ROOM)


def test_absorbed_sun_is_absorptance_times_sun_on_the_plane() -> None:
    found = loads(outside=Outside(absorptance=0.6, emissivity=0.0)).outside.radiation
    # albedo 0.2, half of the ground in view: 0.6·0.5·0.2·500 = 30 W/m²
    np.testing.assert_allclose(found, [30.0, 12.0, 0.0], rtol=ROUND)


def test_incoming_longwave_is_taken_by_emissivity() -> None:
    found = loads(outside=Outside(absorptance=0.0, emissivity=0.9)).outside.radiation
    ground = 5.670374419e-8 * 280.0**4
    expected = 0.9 * 0.5 * (np.array([300.0, 250.0, 200.0]) + ground)
    # the engine writes σ with seven digits
    np.testing.assert_allclose(found, expected, rtol=1e-7)


def test_outdoor_coefficients_follow_the_wind() -> None:
    found = loads().outside
    # 4 + 4·v with 5, 1, 0 m/s; the first instant is that of the first hour
    np.testing.assert_allclose(found.heat_coefficient, [24.0, 24.0, 8.0, 4.0], rtol=ROUND)
    lewis = THIN * np.array([1.68e-7, 1.68e-7, 5.6e-8, 2.8e-8])  # 7e-9 times that
    np.testing.assert_allclose(found.vapour_coefficient, lewis, rtol=ROUND)


def test_indoor_coefficients_are_those_of_iso_6946() -> None:
    found = loads().inside
    np.testing.assert_allclose(found.heat_coefficient, np.full(4, 1 / 0.13), rtol=ROUND)
    # 7e-9 · 2.5
    np.testing.assert_allclose(found.vapour_coefficient, np.full(4, 1.75e-8 * THIN), rtol=ROUND)


def test_given_coefficients_are_taken_as_they_are() -> None:
    found = loads(
        outside=Outside(convection=17, vapour_coefficient=2e-7),
        inside=Inside(coefficient=8, vapour_coefficient=3e-8),
    )
    for side, heat, vapour in ((found.outside, 17.0, 2e-7), (found.inside, 8.0, 3e-8)):
        assert side.heat_coefficient.tolist() == [heat] * 4
        assert side.vapour_coefficient.tolist() == [vapour] * 4


def test_states_of_the_air_stand_at_the_ends_of_the_hours() -> None:
    found = loads()
    assert found.outside.temperature.tolist() == [278.15, 278.15, 281.15, 283.15]
    # saturation over water at the dew points -5, -3, -1 °C
    theta = np.array([-5.0, -5.0, -3.0, -1.0])
    p = 610.5 * np.exp(17.269 * theta / (237.3 + theta))
    # canonical weather keeps relative humidity and vapour pressure: two exponentials apart
    np.testing.assert_allclose(found.outside.vapour_pressure, p, rtol=1e-9)
    np.testing.assert_allclose(found.inside.temperature, np.full(4, 294.15), rtol=ROUND)
    np.testing.assert_allclose(found.inside.vapour_pressure, np.full(4, P_ROOM), rtol=1e-9)
    assert found.time.astype("datetime64[h]").astype(str).tolist() == [
        "2001-01-31T22", "2001-01-31T23", "2001-02-01T00", "2001-02-01T01"
    ]  # fmt: skip
    assert found.wind.tolist() == [5.0, 1.0, 0.0]
    assert not found.inside.radiation.any()
    assert not found.inside.rain.any()


def test_rain_on_the_wall_has_half_of_the_free_rain_by_default() -> None:
    # F_E 1, F_D 0.5: 0.5·0.2·5·2 = 1 kg/(m²·h), 0.5·0.2·1·1 = 0.1, calm: none
    np.testing.assert_allclose(3600.0 * loads().outside.rain, [1.0, 0.1, 0.0], rtol=ROUND)


def test_sources_stand_in_their_columns() -> None:
    at = "sheathing"
    found = loads(
        leaks=[RainLeak(at, 0.02), Wetting(at, 0.36, 1), AirLeak(at, rate=2e-4)],
    )
    # 2 % of the rain; 0.36 kg in the second hour: 1e-4 kg/s
    np.testing.assert_allclose(3600.0 * found.source[:, 0], [0.02, 0.002, 0.0], rtol=ROUND)
    np.testing.assert_allclose(found.source[:, 1], [0.0, 1e-4, 0.0], rtol=ROUND)
    assert found.source[:, 2].tolist() == [2e-4] * 3


def test_air_change_of_a_gap_becomes_its_flow() -> None:
    found = loads(gap=Gap("gap", 0.036, 100.0), air_flow=-1e-4)
    # 100 1/h · 36 mm / 3600 s
    np.testing.assert_allclose(found.gap_rate, np.full((3, 1), 1e-3), rtol=ROUND)
    assert found.air.tolist() == [-1e-4] * 3


def test_monthly_air_change_turns_with_the_hour_that_begins_the_month() -> None:
    found = loads(gap=Gap("gap", 0.036, (100.0, 200.0, *[0.0] * 10)))
    # the hour that ends at midnight belongs to January, the next one to February
    np.testing.assert_allclose(found.gap_rate[:, 0], [1e-3, 1e-3, 2e-3], rtol=ROUND)


def test_periodic_years_start_from_their_last_instant() -> None:
    years = constant_loads(8760, (270.0, 300.0), (290.0, 900.0), gaps=1)
    names = ("temperature", "vapour_pressure", "heat_coefficient", "vapour_coefficient")
    for side in (years.outside, years.inside):
        for name in names:
            values = getattr(side, name)
            values[[0, 1, -2, -1]] = values[0] + np.array([1.0, 2.0, 3.0, 4.0])
    years.outside.rain[[0, -1]] = 1e-4, 2e-4
    closed = closed_loads(years)
    for side, old in ((closed.outside, years.outside), (closed.inside, years.inside)):
        for name in names:
            values = getattr(side, name)
            assert values[0] == getattr(old, name)[-1]
            assert values[1:].tolist() == getattr(old, name)[1:].tolist()
    assert closed.outside.rain[[0, -1]].tolist() == [1e-4, 2e-4]


def test_a_wall_without_sky_and_rain_has_neither() -> None:
    found = loads(outside=Outside(rain="none", absorptance=0.0, emissivity=0.0)).outside
    assert not found.radiation.any()
    assert not found.rain.any()


def test_the_ground_throws_back_by_its_albedo_and_by_what_the_wall_sees_of_it() -> None:
    bright = Outside(absorptance=1.0, emissivity=0.0, albedo=0.4)
    # 0.5·0.4·500 and 0.5·0.4·200 W/m²
    np.testing.assert_allclose(
        loads(outside=bright).outside.radiation, [100.0, 40.0, 0.0], rtol=ROUND
    )
    leaning = Outside(absorptance=1.0, emissivity=0.0, rain="none")
    # tilt 60°: a quarter of the view is ground, 0.25·0.2·500
    found = loads(outside=leaning, tilt=60.0).outside.radiation
    np.testing.assert_allclose(found, [25.0, 10.0, 0.0], rtol=1e-9)


def test_rain_by_the_other_method_is_two_ninths_of_wind_and_rain_to_eight_ninths() -> None:
    found = loads(outside=Outside(rain="iso15927")).outside.rain
    # ISO 15927-3: 2/9·v·r^(8/9); terrain II at 10 m 0.19·ln(10/0.05), gable wall 0.4
    factors = 0.19 * np.log(200.0) * 0.4
    expected = [2 / 9 * 5.0 * 2.0 ** (8 / 9) * factors, 2 / 9 * factors, 0.0]
    # the default roughness has five digits
    np.testing.assert_allclose(3600.0 * found, expected, rtol=1e-4)


def test_a_surface_of_which_nothing_is_said_is_that_of_the_reference() -> None:
    found = loads().outside.radiation[0]
    ground = 5.670374419e-8 * 280.0**4
    # absorptance 0.6 of 50 W/m² from ground of albedo 0.2; emissivity 0.9
    assert abs(found / (0.6 * 50.0 + 0.9 * 0.5 * (300.0 + ground)) - 1.0) < 1e-7


def test_leaks_of_which_little_is_said_have_their_documented_values() -> None:
    found = loads(leaks=[RainLeak("sheathing"), Wetting("sheathing", 0.36, 1.4)])
    # ASHRAE 160: 1 % of the rain of 1 kg/(m²·h), on the outer millimetre; 1.4 h is hour 1
    np.testing.assert_allclose(3600.0 * found.source[:, 0], [0.01, 0.001, 0.0], rtol=ROUND)
    np.testing.assert_allclose(found.source[:, 1], [0.0, 1e-4, 0.0], rtol=ROUND)
    assert RainLeak("sheathing").depth == 0.001
    cracks = AirLeak("sheathing", permeance=1e-5)
    assert (cracks.exponent, cracks.height) == (0.65, 2.5)


def counted(hours: int) -> Loads:
    """Loads whose instants and means count up from 0."""
    found = constant_loads(hours, (270.0, 300.0), (290.0, 900.0), gaps=1)
    found.outside.temperature[:] = 270.0 + np.arange(hours + 1)
    found.outside.rain[:] = 0.125 * np.arange(hours)
    found.gap_rate[:, 0] = np.arange(hours)
    return found


def test_hours_between_keep_their_two_instants_and_their_mean() -> None:
    found = loads_between(counted(6), 2, 4)
    assert found.outside.temperature.tolist() == [272.0, 273.0, 274.0]
    assert found.outside.rain.tolist() == [0.25, 0.375]
    assert found.gap_rate[:, 0].tolist() == [2.0, 3.0]


def test_repeated_hours_go_on_from_the_last_instant() -> None:
    found = repeat_loads(counted(3), 2)
    assert found.outside.temperature.tolist() == [270.0, 271.0, 272.0, 273.0, 271.0, 272.0, 273.0]
    assert found.gap_rate[:, 0].tolist() == [0.0, 1.0, 2.0] * 2
    assert len(found.time) == 7


def test_means_are_written_at_the_end_of_their_hour() -> None:
    stored = counted(3).to_dataset()["gap_exchange"].values[:, 0]
    assert np.isnan(stored[0])
    assert stored[1:].tolist() == [0.0, 1.0, 2.0]


def test_constant_loads_have_the_films_of_a_plain_wall() -> None:
    found = constant_loads(1, (270.0, 300.0), (290.0, 900.0))
    # 25 and 1/0.13 W/(m²·K); vapour 7e-9 times 25 and times the convective 2.5
    assert found.outside.heat_coefficient[0] == 25.0
    assert abs(found.outside.vapour_coefficient[0] - 1.75e-7) < 1e-18
    assert abs(found.inside.vapour_coefficient[0] - 1.75e-8) < 1e-18
