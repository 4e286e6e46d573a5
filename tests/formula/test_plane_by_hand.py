"""Sun and sky on planes, and months and degree days, where the geometry can be done by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import xarray as xr

from weather import Place
from weather.canonical import Origin, build
from weather.longwave import sky_longwave
from weather.plane import Shortwave, erbs_split, shortwave_on_plane, sun_of
from weather.summary import degree_days, monthly_means

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
