"""Sun and sky on planes, and months and degree days, where the geometry can be done by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import xarray as xr

from weather import Place
from weather.canonical import Origin, build
from weather.longwave import sky_longwave
from weather.plane import (
    Shortwave,
    align_sun,
    erbs_split,
    shortwave_on_plane,
    sun_of,
    sun_offset,
)
from weather.rain import IsoFactors, exposure_factor
from weather.summary import degree_days, monthly_means, thermal_zone

EQUATOR = Place(0.0, 0.0, 0.0, 0.0, "on the equator")
EASTWARD = Place(0.0, 15.0, 0.0, 1.0, "on the equator, an hour east, at its zone's meridian")
# The equation of time of 20 March is −7.4 min (almanac, from memory, ±0.2): the sun climbs due
# east at 15° an hour from 6:07.4 on.
HEIGHT = {8: (7.5 - 6.0) * 15.0 - 7.4 / 4.0, 10: (9.5 - 6.0) * 15.0 - 7.4 / 4.0}


def hour(end: int, place: Place = EQUATOR, *, direct: float = 500.0, **more: float) -> xr.Dataset:
    columns = {
        "temperature": 290.0, "relative_humidity": 0.5, "global_horizontal": 300.0,
        "direct_normal": direct, "diffuse_horizontal": 80.0, **more,
    }  # fmt: skip
    time = np.array([f"2001-03-20T{end:02d}"], dtype="datetime64[ns]")
    series = {name: np.array([value]) for name, value in columns.items()}
    return build(series, time, place, Origin("by hand", "", "measured"))


def on(azimuth: float, tilt: float, end: int = 8, **more: float) -> Shortwave:
    return shortwave_on_plane(hour(end, **more), azimuth=azimuth, tilt=tilt, sky="isotropic")


@pytest.mark.parametrize("place", [EQUATOR, EASTWARD])
@pytest.mark.parametrize("end", [8, 10])
def test_beam_on_an_east_wall_is_the_cosine_of_the_height(place: Place, end: int) -> None:
    found = shortwave_on_plane(hour(end, place), azimuth=90.0, tilt=90.0, sky="isotropic")
    expected = 500.0 * math.cos(math.radians(HEIGHT[end]))
    # 0.1° of height
    assert found.beam[0] == pytest.approx(expected, abs=500.0 * math.sin(1.0) * 2e-3)


def test_no_beam_behind_a_wall_nor_below_the_horizon() -> None:
    assert on(270.0, 90.0).beam[0] == 0.0
    assert on(90.0, 90.0, end=6).beam[0] == 0.0


def test_leaning_plane_takes_the_angle_to_its_normal() -> None:
    # tilt 60° faces 30° above the horizon
    expected = 500.0 * math.cos(math.radians(HEIGHT[8] - 30.0))
    assert on(90.0, 60.0).beam[0] == pytest.approx(expected, abs=0.5)


def test_sky_and_ground_are_shared_by_the_tilt() -> None:
    wall, roof = on(90.0, 90.0), on(90.0, 60.0)
    # halves; three quarters of the sky and a quarter of the ground; albedo 0.2 of 300 W/m²
    assert (wall.sky[0], wall.ground[0]) == pytest.approx((40.0, 30.0), rel=1e-9)
    assert (roof.sky[0], roof.ground[0]) == pytest.approx((60.0, 15.0), rel=1e-9)


def test_split_radiation_closes_on_the_global() -> None:
    end = np.array(["2001-03-20T10:00"], dtype="datetime64[s]")
    direct, diffuse = erbs_split(np.array([600.0]), sun_of(end, EQUATOR))
    vertical = direct[0] * math.sin(math.radians(HEIGHT[10]))
    assert direct[0] > 100.0
    # 0.1° of height
    assert vertical + diffuse[0] == pytest.approx(600.0, abs=2.0)


def test_sky_at_altitude_takes_the_standard_pressure_there() -> None:
    high = Place(0.0, 0.0, 1500.0, 0.0)
    found = sky_longwave(hour(12, high, cloud_cover=0.0, dew_point=283.15))[0]
    # standard atmosphere at 1500 m: 845.6 hPa; dew point 10 °C: 0.711 + 0.056 + 0.0073, at noon
    # −0.013, −0.00012·154.4
    emissivity = 0.711 + 0.056 + 0.0073 - 0.013 - 0.00012 * (1000.0 - 845.6)
    assert found == pytest.approx(emissivity * 5.670374e-8 * 290.0**4, rel=1e-5)


def year(temperature: np.ndarray) -> xr.Dataset:
    time = np.datetime64("2001-01-01T01", "ns") + np.arange(8760) * np.timedelta64(1, "h")
    return xr.Dataset({"temperature": ("time", temperature)}, coords={"time": time})


def test_the_hour_that_ends_at_midnight_belongs_to_the_month_before() -> None:
    values = np.zeros(8760)
    values[31 * 24 - 1] = 744.0  # ends on 1 February at 0 h
    found = monthly_means(year(values), "temperature")
    assert found[:2].tolist() == [1.0, 0.0]


def test_degree_days_take_daily_means_and_a_year_of_365_days() -> None:
    day = np.where(np.arange(24) < 12, 268.15, 288.15)  # mean 278.15
    for years in (1, 2):
        found = degree_days(np.tile(day, 365 * years), below=283.15)
        assert found == pytest.approx(5.0 * 365)
    assert degree_days(np.tile(day, 365), above=276.15) == pytest.approx(2.0 * 365)


def lagging_day() -> xr.Dataset:
    """A day of radiation that belongs to the sun an hour before."""
    time = np.datetime64("2001-03-20T01", "ns") + np.arange(24) * np.timedelta64(1, "h")
    sun = sun_of(time - np.timedelta64(1, "h"), EQUATOR)
    up = np.maximum(np.cos(np.radians(sun.zenith)), 0.0)
    direct = np.where(up > 0.0, 600.0, 0.0)
    columns = {
        "temperature": np.full(24, 290.0), "relative_humidity": np.full(24, 0.5),
        "direct_normal": direct, "diffuse_horizontal": 50.0 * up,
        "global_horizontal": direct * up + 50.0 * up,
    }  # fmt: skip
    return build(columns, time, EQUATOR, Origin("by hand", "", "measured"))


def test_the_sun_is_moved_to_where_the_radiation_closes() -> None:
    given = lagging_day()
    assert sun_offset(given) == 1.0
    flat = shortwave_on_plane(align_sun(given), azimuth=0.0, tilt=0.0, sky="isotropic")
    # on a plane that looks up beam and sky are the global radiation
    np.testing.assert_allclose(flat.total, given["global_horizontal"].values, atol=1e-6)


@pytest.mark.parametrize(
    ("heating", "zone"),
    # ASHRAE 169 (from memory): zones 3 to 7 end at 2000, 3000, 4000, 5000, 7000 K·d
    [(2000, 3), (2001, 4), (3000, 4), (3001, 5), (4000, 5), (4001, 6), (5000, 6), (5001, 7),
     (7000, 7), (7001, 8)],
)  # fmt: skip
def test_cold_zones_end_at_their_degree_days(heating: float, zone: int) -> None:
    assert thermal_zone(heating, 1000.0) == zone


@pytest.mark.parametrize(
    ("cooling", "zone"), [(6001, 0), (6000, 1), (5001, 1), (5000, 2), (3501, 2)]
)
def test_hot_zones_begin_above_their_degree_days(cooling: float, zone: int) -> None:
    assert thermal_zone(500.0, cooling) == zone


def test_exposure_and_topography_of_driving_rain() -> None:
    # ASHRAE 160 (from memory): a height belongs to the row that begins there
    assert [exposure_factor("medium", z) for z in (9.9, 10.0, 15.0, 20.0, 50.0)] == [
        1.0, 1.1, 1.2, 1.3, 1.5,
    ]  # fmt: skip
    assert IsoFactors(1.1, 1.2, 0.9, 0.5).product == pytest.approx(1.1 * 1.2 * 0.9 * 0.5)
