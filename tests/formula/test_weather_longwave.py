"""Longwave irradiance against hand values and limits."""

from __future__ import annotations

import numpy as np
import pytest

from weather import Place, WeatherError
from weather.canonical import Origin, build
from weather.longwave import (
    STEFAN_BOLTZMANN,
    emissivity_berdahl_martin,
    emissivity_clark_allen,
    ground_longwave,
    longwave_on_plane,
    sky_longwave,
)
from weather.stamps import hour_of_day


def test_hours_of_a_day_also_before_1970() -> None:
    stamps = ["1969-12-31T23:30", "1970-01-01T00:00", "2001-07-01T13:00"]
    assert hour_of_day(np.array(stamps, dtype="datetime64[ns]")).tolist() == [23, 0, 13]


def steady(**more: float):
    columns = {"temperature": 283.15, "relative_humidity": 0.7, "pressure": 1e5, **more}
    time = np.datetime64("2001-03-01T01", "h") + np.arange(24)
    return build(
        {name: np.full(24, value) for name, value in columns.items()},
        time,
        Place(50.0, 10.0, 100.0, 1.0),
        Origin("by hand", "", "measured"),
    )


def test_clear_sky_emissivity_by_hand() -> None:
    # Dew point 273 K: the logarithm vanishes, ε = 0.787; overcast factor
    # 1 + 0.224 − 0.35 + 0.28 = 1.154 (computed from the printed formula).
    assert emissivity_clark_allen(273.0, 0.0) == pytest.approx(0.787)
    assert emissivity_clark_allen(273.0, 1.0) == pytest.approx(0.787 * 1.154)


def test_berdahl_martin_by_hand() -> None:
    # Dew point 10 °C, noon, 1000 hPa: 0.711 + 0.056 + 0.0073 − 0.013 = 0.7613.
    got = emissivity_berdahl_martin(283.15, 0.0, hour=12.0, pressure=1e5)
    assert got == pytest.approx(0.7613)
    assert emissivity_berdahl_martin(283.15, 1.0, hour=12.0) == pytest.approx(
        0.7613 + 0.2387 * np.exp(-2.0 / 8.2)
    )


@pytest.mark.parametrize("form", [emissivity_clark_allen, emissivity_berdahl_martin])
def test_emissivity_rises_with_dew_point_and_clouds_and_stays_below_one(form) -> None:
    dew = np.linspace(235.0, 300.0, 40)
    for cloud in (0.0, 0.5, 1.0):
        values = form(dew, cloud)
        # Berdahl & Martin's parabola has its lowest point at −38 °C, 235 K.
        assert np.all(np.diff(values) > 0.0)
        # Clark & Allen times clouds reaches 1 at a dew point near 25 °C; that is the formula.
        assert np.all(values < 1.0 + 0.01)
    assert np.all(form(dew, 1.0) > form(dew, 0.0))


def test_given_infrared_goes_before_any_model() -> None:
    dataset = steady(longwave_down=300.0, cloud_cover=0.5)
    assert np.all(sky_longwave(dataset) == 300.0)


def test_wall_sees_half_sky_and_half_ground() -> None:
    dataset = steady(longwave_down=300.0)
    ground = STEFAN_BOLTZMANN * 283.15**4
    # Exact up to round-off of cos 90°.
    np.testing.assert_allclose(longwave_on_plane(dataset, tilt=90.0), 0.5 * (300.0 + ground))
    np.testing.assert_allclose(longwave_on_plane(dataset, tilt=0.0), 300.0)
    np.testing.assert_allclose(longwave_on_plane(dataset, tilt=180.0), ground)


def test_ground_temperature_is_used_where_given() -> None:
    dataset = steady(ground_temperature=303.15)
    np.testing.assert_allclose(ground_longwave(dataset), STEFAN_BOLTZMANN * 303.15**4)


def test_clear_sky_is_colder_than_overcast_sky() -> None:
    for model in ("clark-allen", "berdahl-martin"):
        clear = sky_longwave(steady(cloud_cover=0.0), emissivity=model)
        overcast = sky_longwave(steady(cloud_cover=1.0), emissivity=model)
        black = STEFAN_BOLTZMANN * 283.15**4
        assert np.all(clear < overcast)
        assert np.all(overcast < black * 1.001)


def test_no_longwave_and_no_clouds_is_refused() -> None:
    with pytest.raises(WeatherError, match="cloud_cover: not in the weather"):
        sky_longwave(steady())
