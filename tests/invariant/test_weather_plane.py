"""What must hold for any plane and any sky."""

from __future__ import annotations

import numpy as np
import pytest

import weather
from weather.plane import shortwave_on_plane, sun_position

NORMALS = weather.MonthlyNormals(
    place=weather.Place(52.0, 12.0, 50.0, 1.0, "invented"),
    temperature=[273, 274, 277, 282, 287, 290, 292, 291, 287, 283, 278, 274],
    daily_range=[5, 6, 8, 9, 10, 10, 10, 10, 9, 7, 5, 4],
    temperature_spread=[4, 4, 4, 3, 3, 3, 3, 3, 3, 3, 3, 4],
    relative_humidity=[0.86, 0.83, 0.78, 0.71, 0.7, 0.71, 0.72, 0.74, 0.79, 0.83, 0.87, 0.88],
    wind_speed=[4.2, 4.0, 4.0, 3.6, 3.3, 3.2, 3.2, 3.0, 3.2, 3.6, 3.8, 4.0],
    wind_rose=[[0.08, 0.09, 0.12, 0.09, 0.10, 0.20, 0.20, 0.12]],
    global_horizontal=[25, 48, 92, 155, 205, 225, 215, 185, 125, 70, 32, 19],
    rain_days=[10, 8, 9, 8, 9, 9, 9, 9, 8, 8, 9, 10],
    precipitation=[45, 35, 42, 38, 52, 60, 65, 60, 46, 42, 45, 50],
)
"""Invented normals of an invented place."""


@pytest.fixture(scope="module")
def year():
    return weather.generate(NORMALS, years=1, seed=11)


def test_plane_facing_up_gets_the_horizontal_radiation(year) -> None:
    up = shortwave_on_plane(year, azimuth=123.0, tilt=0.0, sky="isotropic")
    # The split closes on the global by construction: round-off.
    np.testing.assert_allclose(up.total, year["global_horizontal"].values, atol=1e-9)


@pytest.mark.parametrize("sky", ["perez", "haydavies"])
def test_plane_facing_up_gets_the_horizontal_radiation_from_anisotropic_skies(year, sky) -> None:
    up = shortwave_on_plane(year, azimuth=0.0, tilt=0.0, sky=sky)
    # Perez' circumsolar term has cos 85° as its floor: low sun differs a little, 0.2 % of the year.
    assert up.total.sum() == pytest.approx(float(year["global_horizontal"].sum()), rel=2e-3)


def test_plane_facing_down_gets_the_ground_only(year) -> None:
    down = shortwave_on_plane(year, azimuth=0.0, tilt=180.0, albedo=0.3, sky="isotropic")
    assert np.all(down.beam == 0.0)
    np.testing.assert_allclose(down.sky, 0.0, atol=1e-12)
    np.testing.assert_allclose(down.total, 0.3 * year["global_horizontal"].values, rtol=1e-12)


def test_opposite_walls_share_the_beam(year) -> None:
    for azimuth in (0.0, 45.0, 90.0, 135.0):
        one = shortwave_on_plane(year, azimuth=azimuth, tilt=90.0).beam
        other = shortwave_on_plane(year, azimuth=azimuth + 180.0, tilt=90.0).beam
        # The sun is never on both sides of a wall; the plane itself gets 0.
        assert np.all(np.minimum(one, other) <= 1e-9)
        assert one.sum() + other.sum() > 0.0


def test_azimuth_is_clockwise_from_north(year) -> None:
    sums = {
        name: shortwave_on_plane(year, azimuth=a, tilt=90.0).total.sum()
        for name, a in {"N": 0.0, "E": 90.0, "S": 180.0, "W": 270.0}.items()
    }
    assert sums["S"] > max(sums["E"], sums["W"]) > min(sums["E"], sums["W"]) > sums["N"]
    morning = year["time"].dt.hour.values < 11
    east = shortwave_on_plane(year, azimuth=90.0, tilt=90.0).beam
    assert east[morning].sum() > 0.8 * east.sum()


@pytest.mark.parametrize("sky", ["perez", "haydavies", "isotropic"])
@pytest.mark.parametrize("tilt", [0.0, 37.0, 90.0, 140.0])
def test_irradiance_is_finite_and_not_negative(year, tilt, sky) -> None:
    loads = weather.plane_loads(year, azimuth=200.0, tilt=tilt, sky=sky, rain_method=None)
    for name, values in loads.items():
        assert np.isfinite(values).all(), name
        assert float(values.min()) >= 0.0, name
    parts = loads["solar_beam"] + loads["solar_sky"] + loads["solar_ground"]
    np.testing.assert_allclose(loads["solar"], parts, rtol=1e-12)


def test_no_beam_while_the_sun_is_down(year) -> None:
    night = sun_position(year).zenith >= 90.0
    assert night.sum() > 3000
    assert np.all(shortwave_on_plane(year, azimuth=180.0, tilt=90.0).beam[night] == 0.0)


def test_loads_share_the_hours_and_carry_units(year) -> None:
    loads = weather.plane_loads(year, azimuth=270.0)
    assert np.array_equal(loads["time"].values, year["time"].values)
    assert loads["solar"].attrs["units"] == "W/m2"
    assert loads["driving_rain"].attrs["units"] == "kg/(m2 s)"
    assert "ending at time" in loads["driving_rain"].attrs["cell_methods"]


def test_driving_rain_of_all_directions_closes_on_the_wind(year) -> None:
    ones = weather.IsoFactors(1.0, 1.0, 1.0, 1.0)
    walls = [
        weather.plane_loads(year, azimuth=a, rain_factors=ones)["driving_rain"].sum()
        for a in (0.0, 90.0, 180.0, 270.0)
    ]
    wind, rain = year["wind_speed"].values, year["rain"].values
    free = float(np.sum(2.0 / 9.0 * wind * rain ** (8.0 / 9.0))) / 3600.0
    # Four walls at right angles: |sin| + |cos| lies in 1..√2 for every hour.
    assert free <= float(sum(walls)) <= 2**0.5 * free
