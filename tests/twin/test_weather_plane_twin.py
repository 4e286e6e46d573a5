"""Irradiance on a plane against pvlib called directly, and sun position by hand formulas."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pvlib
import pytest

from weather import Place
from weather.canonical import Origin, build
from weather.plane import shortwave_on_plane, sun_position

PLACE = Place(45.0, -90.0, 250.0, -6.0, "invented")


def clear_year():
    """Clear days on the 15th and 16th of July: 48 h of clear-sky irradiance of pvlib."""
    time = np.datetime64("2001-07-15T01", "h") + np.arange(48)
    middle = pd.DatetimeIndex(time - np.timedelta64(30, "m")).tz_localize(-6 * 3600)
    location = pvlib.location.Location(45.0, -90.0, altitude=250.0)
    sky = location.get_clearsky(middle, model="haurwitz")["ghi"].to_numpy()
    zenith = location.get_solarposition(middle)["zenith"].to_numpy()
    split = pvlib.irradiance.erbs(sky, zenith, middle)
    dataset = build(
        {
            "temperature": np.full(48, 290.0),
            "relative_humidity": np.full(48, 0.5),
            "global_horizontal": sky,
            "direct_normal": np.asarray(split["dni"]),
            "diffuse_horizontal": np.asarray(split["dhi"]),
        },
        time,
        PLACE,
        Origin("by hand", "", "measured"),
    )
    return dataset, middle


@pytest.mark.parametrize("sky", ["perez", "haydavies", "isotropic"])
@pytest.mark.parametrize(("azimuth", "tilt"), [(0, 90), (90, 90), (180, 90), (250, 60), (180, 30)])
def test_plane_agrees_with_pvlib_called_directly(azimuth: int, tilt: int, sky: str) -> None:
    dataset, middle = clear_year()
    sun = pvlib.solarposition.get_solarposition(middle, 45.0, -90.0, altitude=250.0)
    direct = pvlib.irradiance.get_total_irradiance(
        tilt,
        azimuth,
        sun["zenith"],
        sun["azimuth"],
        dataset["direct_normal"].values,
        dataset["global_horizontal"].values,
        dataset["diffuse_horizontal"].values,
        dni_extra=pvlib.irradiance.get_extra_radiation(middle),
        airmass=pvlib.atmosphere.get_relative_airmass(sun["zenith"]),
        albedo=0.2,
        model=sky,
    )
    got = shortwave_on_plane(dataset, azimuth=azimuth, tilt=tilt, sky=sky)
    # Hours in which the sun rises or sets take another moment on purpose; the rest is the same.
    high = (sun["zenith"] < 82.0).to_numpy()
    assert high.sum() > 20
    for part, name in ((got.beam, "direct"), (got.sky, "sky_diffuse"), (got.ground, "ground")):
        column = {"direct": "poa_direct", "sky_diffuse": "poa_sky_diffuse"}.get(
            name, "poa_ground_diffuse"
        )
        # The same functions on the same arguments: round-off only; air mass is pvlib's default.
        np.testing.assert_allclose(
            part[high], direct[column].to_numpy()[high], rtol=1e-9, atol=1e-9
        )


def test_sun_of_an_hour_stands_at_its_middle() -> None:
    dataset, middle = clear_year()
    sun = sun_position(dataset)
    noonish = [11, 35]  # hours that end at 12:00 local standard time
    expected = middle.tz_localize(None).to_numpy()[noonish]
    assert np.array_equal(sun.moment[noonish].astype("datetime64[ns]"), expected)


def test_noon_height_by_spherical_trigonometry() -> None:
    dataset, _ = clear_year()
    sun = sun_position(dataset)
    # 15 July: declination 23.45°·sin(2π(284 + 196)/365) = 21.5° (Cooper 1969). On the zone's
    # meridian the hour ending at 12 lies 30 min before clock noon, hour angle −7.5° − 1.5°
    # (equation of time −6 min).
    declination, angle, latitude = np.radians([21.5, -9.0, 45.0])
    height = np.arcsin(
        np.sin(latitude) * np.sin(declination)
        + np.cos(latitude) * np.cos(declination) * np.cos(angle)
    )
    # Cooper's declination is good to 0.5°, the equation of time is rounded to 1 min (0.25°).
    assert 90.0 - sun.zenith[11] == pytest.approx(np.degrees(height), abs=0.5)
    # Before noon the sun stands east of south.
    assert 150.0 < sun.azimuth[11] < 180.0
