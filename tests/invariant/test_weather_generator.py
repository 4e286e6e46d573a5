"""Generated years: normals met, ties and persistence there, seeds honoured, marked as generated."""

from __future__ import annotations

import json

import numpy as np
import pytest

import weather
from weather.constants import MONTH_DAYS
from weather.course import calendar, monthly_mean, smooth
from weather.normals import CALM
from weather.summary import monthly_means, months_of

NORMALS = weather.MonthlyNormals(
    place=weather.Place(48.0, -100.0, 300.0, -6.0, "invented"),
    temperature=[262, 264, 270, 278, 285, 291, 294, 293, 287, 280, 271, 264],
    daily_range=[8, 9, 10, 12, 13, 13, 13, 13, 12, 10, 8, 7],
    temperature_spread=[6, 6, 5, 5, 4, 4, 3, 3, 4, 4, 5, 6],
    relative_humidity=[0.78, 0.76, 0.72, 0.65, 0.62, 0.66, 0.68, 0.68, 0.7, 0.72, 0.76, 0.8],
    wind_speed=[5.0, 4.9, 5.0, 5.1, 4.8, 4.3, 4.0, 4.0, 4.3, 4.6, 4.7, 4.8],
    wind_rose=[[0.2, 0.1, 0.05, 0.1, 0.15, 0.1, 0.1, 0.2]],
    global_horizontal=[60, 100, 150, 195, 235, 260, 265, 225, 165, 105, 65, 48],
    rain_days=[4, 4, 5, 6, 8, 9, 8, 7, 6, 5, 4, 4],
    precipitation=[12, 12, 20, 35, 60, 85, 75, 60, 45, 30, 18, 13],
)
"""Invented normals of an invented place."""
YEARS = 10


@pytest.fixture(scope="module")
def decade():
    return weather.generate(NORMALS, years=YEARS, seed=3)


@pytest.mark.parametrize(
    ("name", "tolerance"),
    # The tolerances `generate` states for the means over all years.
    [
        ("temperature", 0.01 / 260.0),
        ("relative_humidity", 0.005),
        ("wind_speed", 0.01),
        ("global_horizontal", 0.005),
    ],
)
def test_monthly_means_are_the_normals(decade, name, tolerance) -> None:
    np.testing.assert_allclose(monthly_means(decade, name), getattr(NORMALS, name), rtol=tolerance)


def test_monthly_rain_and_rain_days_are_the_normals(decade) -> None:
    month, amount = months_of(decade), decade["precipitation"].values
    sums = np.array([amount[month == number].sum() for number in range(1, 13)]) / YEARS
    np.testing.assert_allclose(sums, NORMALS.precipitation, rtol=1e-3)
    daily = amount.reshape(-1, 24).sum(axis=1)
    days = np.array([(daily[month[::24] == number] >= 1.0).sum() for number in range(1, 13)])
    # Whole days over all years; a day of exactly 1 mm may fall below by round-off.
    np.testing.assert_allclose(days, np.array(NORMALS.rain_days) * YEARS, atol=1.01)


def test_wind_rose_is_met(decade) -> None:
    sector = np.round(decade["wind_direction"].values / 45.0).astype(int) % 8
    share = np.bincount(sector, minlength=8) / len(sector)
    # Exact by ranks within each month, up to one hour in some 7000 and hours on an edge.
    np.testing.assert_allclose(share, NORMALS.wind_rose[0], atol=2e-3)


def test_day_to_day_spread_and_daily_range_are_the_normals(decade) -> None:
    temperature = decade["temperature"].values.reshape(-1, 24)
    course = smooth(NORMALS.temperature, calendar(YEARS)).reshape(-1, 24)
    month = months_of(decade)[::24]
    for number in range(12):
        rows = month == number + 1
        apart = (temperature[rows] - course[rows]).mean(axis=1)
        swing = (temperature[rows].max(axis=1) - temperature[rows].min(axis=1)).mean()
        # Both are scaled round by round; 2 % is what `generate` states.
        spread = float(np.sqrt(np.mean(apart**2)))
        assert spread == pytest.approx(NORMALS.temperature_spread[number], rel=0.02)
        assert swing == pytest.approx(NORMALS.daily_range[number], rel=0.02)


def test_days_persist(decade) -> None:
    daily = decade["temperature"].values.reshape(-1, 24).mean(axis=1)
    anomaly = daily - np.tile(daily.reshape(YEARS, 365).mean(axis=0), YEARS)
    lagged = np.corrcoef(anomaly[1:], anomaly[:-1])[0, 1]
    # Made with 0.7 for the own part and 0.45 for the driver; 3650 days scatter by 0.02, and the
    # interpolation between noons raises it.
    assert 0.6 < lagged < 0.9


def test_rain_comes_with_clouds_humid_air_wind_and_small_range(decade) -> None:
    wet = decade["precipitation"].values.reshape(-1, 24).sum(axis=1) >= 1.0
    summer = np.isin(months_of(decade)[::24], (6, 7, 8))

    def contrast(values: np.ndarray) -> float:
        return float(values[wet & summer].mean() / values[~wet & summer].mean())

    daily = {
        name: decade[name].values.reshape(-1, 24)
        for name in ("cloud_cover", "relative_humidity", "wind_speed", "global_horizontal")
    }
    assert contrast(daily["cloud_cover"].mean(axis=1)) > 1.2
    assert contrast(daily["relative_humidity"].mean(axis=1)) > 1.05
    assert contrast(daily["wind_speed"].mean(axis=1)) > 1.05
    assert contrast(daily["global_horizontal"].mean(axis=1)) < 0.85
    temperature = decade["temperature"].values.reshape(-1, 24)
    assert contrast(temperature.max(axis=1) - temperature.min(axis=1)) < 0.95


def test_daily_course_peaks_in_the_afternoon(decade) -> None:
    course = decade["temperature"].values.reshape(-1, 24).mean(axis=0)
    assert int(course.argmax()) + 1 in (14, 15, 16)
    # The wave is made with its lowest point at 5 h.
    assert int(course.argmin()) + 1 in (4, 5, 6)


def test_global_is_beam_plus_diffuse_and_within_the_sky(decade) -> None:
    up = weather.plane_loads(decade, azimuth=0.0, tilt=0.0, sky="isotropic", rain_method=None)
    # Closed by construction.
    np.testing.assert_allclose(up["solar"], decade["global_horizontal"], atol=1e-8)


def test_calm_hours_are_the_normals_or_follow_from_the_mean_speed() -> None:
    from dataclasses import replace

    still = replace(NORMALS, calm_share=[0.05, 0.25] * 6)
    made = weather.generate(still, years=2, seed=1)
    month, calm = months_of(made), made["wind_speed"].values < CALM
    share = [float(calm[month == number].mean()) for number in range(1, 13)]
    # By ranks, one hour in 1344 of the shortest month.
    assert share == pytest.approx([0.05, 0.25] * 6, abs=1e-3)
    # exp(−(1.7/1.7)^1.3) = 1/e and exp(−2^1.3) = exp(−2.4623) = 0.0852.
    slow = replace(NORMALS, wind_speed=[1.7, 3.4] * 6)
    assert slow.calms() == pytest.approx([0.3679, 0.0852] * 6, abs=5e-5)


def test_skies_are_clear_or_overcast_more_often_than_in_between(decade) -> None:
    cover = decade["cloud_cover"].values
    shares = [float(np.mean((cover >= low) & (cover < low + 0.2))) for low in (0.0, 0.4, 0.8)]
    # A flat distribution has 0.2 in each fifth.
    assert min(shares[0], shares[2]) > 0.25 > 0.2 > shares[1]
    # Hours of sunrise and sunset count as wholly sunlit: K is 2 to 3 % low, cover 0.02 high.
    assert float(np.mean(cover)) == pytest.approx(_cover_by_hand(), abs=0.025)


def test_hours_of_rain_are_the_cloudiest_of_their_month(decade) -> None:
    cover, wet = decade["cloud_cover"].values, decade["precipitation"].values > 0.0
    for number in range(1, 13):
        month = months_of(decade) == number
        assert cover[month & wet].min() >= cover[month & ~wet].max()


def _cover_by_hand() -> float:
    """Mean of 1.18 − 1.33 K over the months, K from the radiation outside the atmosphere."""
    latitude, days = np.radians(48.0), np.arange(1, 366)
    # Declination and eccentricity as in Duffie & Beckman 1.6 and 1.4 (from memory).
    declination = np.radians(23.45) * np.sin(2.0 * np.pi * (284 + days) / 365.0)
    sunset = np.arccos(-np.tan(latitude) * np.tan(declination))
    outside = 1367.0 / np.pi * (1.0 + 0.033 * np.cos(2.0 * np.pi * days / 365.0))
    height = np.sin(latitude) * np.sin(declination)
    outside *= np.cos(latitude) * np.cos(declination) * np.sin(sunset) + sunset * height
    month = np.repeat(np.arange(12), MONTH_DAYS)
    clearness = np.array(NORMALS.global_horizontal) / (
        np.bincount(month, outside) / np.array(MONTH_DAYS)
    )
    return float(np.sum((1.18 - 1.33 * clearness) * np.array(MONTH_DAYS)) / 365.0)


def test_years_differ_and_seeds_repeat(decade) -> None:
    years = decade["temperature"].values.reshape(YEARS, 8760)
    assert len({float(row.mean()) for row in years}) == YEARS
    # Between-year spread of the annual mean: some tenths of a kelvin from daily persistence.
    assert 0.1 < years.mean(axis=1).std() < 1.5
    again = weather.generate(NORMALS, years=YEARS, seed=3)
    assert again.equals(decade)
    other = weather.generate(NORMALS, years=YEARS, seed=4)
    assert not np.array_equal(other["temperature"].values, decade["temperature"].values)


def test_output_is_marked_generated_and_complete(decade) -> None:
    assert decade.attrs["kind"] == "generated"
    assert decade.attrs["generated"].startswith("yes: 10 years from monthly normals, seed 3")
    assert json.loads(decade.attrs["history"])[0].startswith("generated")
    assert weather.has_rain(decade)
    assert not weather.inspect(decade).findings
    assert all(not np.isnan(values).any() for values in decade.values())


def test_smooth_course_keeps_monthly_means() -> None:
    axis = calendar(2)
    # Twelve linear equations solved: round-off.
    np.testing.assert_allclose(
        monthly_mean(smooth(NORMALS.temperature, axis), axis), NORMALS.temperature, rtol=1e-12
    )


@pytest.mark.parametrize(
    ("change", "text"),
    [
        ({"temperature": [10.0] * 12}, "temperature, month 1: 10: must be 200–320 .*°C"),
        ({"relative_humidity": [70.0] * 12}, "is it in percent"),
        ({"wind_speed": [4.0] * 11}, "11 values, must be 12"),
        ({"wind_rose": [[20.0, 30.0, 30.0, 20.0]]}, "sum to 1"),
        ({"precipitation": [1.0] * 12}, "too little for days of 1 mm"),
        ({"calm_share": [20.0] * 12}, "calm_share, month 1: 20: must be 0–0.95 .*percent"),
        ({"rain_days": [30.0] * 12}, "month 2.*more than the month has"),
    ],
)
def test_faulty_normals_are_refused(change, text) -> None:
    from dataclasses import replace

    if "rain_days" in change:
        change = {**change, "precipitation": [100.0] * 12}
    with pytest.raises(weather.WeatherError, match=text):
        replace(NORMALS, **change)


def test_more_radiation_than_the_sun_gives_is_refused() -> None:
    from dataclasses import replace

    dark = replace(NORMALS, global_horizontal=[200.0] * 12)
    with pytest.raises(weather.WeatherError, match="global_horizontal, month 1: 200 W/m²: at most"):
        weather.generate(dark, seed=1)
