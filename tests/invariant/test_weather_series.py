"""Repeating and joining years: hours continuous, sums kept, sun of the right day."""

from __future__ import annotations

import numpy as np
import pytest

import weather
from weather.canonical import Origin, build
from weather.plane import sun_position
from weather.series import calendar_time

PLACE = weather.Place(50.0, 10.0, 100.0, 1.0, "invented")


def series(start: str, hours: int, *, place=PLACE, extra: bool = False):
    time = np.datetime64(start, "h") + np.arange(hours)
    phase = 2.0 * np.pi * np.arange(hours) / 8760.0
    columns = {
        "temperature": 283.15 - 10.0 * np.cos(phase),
        "relative_humidity": np.full(hours, 0.7),
        "precipitation": np.tile([0.0, 0.5], hours // 2),
    }
    if extra:
        columns["cloud_cover"] = np.full(hours, 0.5)
    return build(columns, time, place, Origin(f"{start}.csv", "abc", "measured"))


def test_repeated_year_runs_on_hourly_through_leap_years() -> None:
    year = series("2001-01-01T01", 8760)
    long = weather.repeat_years(year, 6)
    assert long.sizes["time"] == 6 * 8760
    assert np.all(np.diff(long["time"].values) == np.timedelta64(1, "h"))
    assert np.array_equal(long["temperature"].values, np.tile(year["temperature"].values, 6))
    assert float(long["rain"].sum()) == pytest.approx(6 * float(year["rain"].sum()))
    assert long["rain"].attrs == year["rain"].attrs
    assert "repeated 6 times" in weather.history(long)[-1]


def test_repeated_year_keeps_the_sun_of_its_day() -> None:
    year = series("2001-01-01T01", 8760)
    long = weather.repeat_years(year, 5)
    once, often = sun_position(year), sun_position(long)
    assert np.array_equal(often.zenith, np.tile(once.zenith, 5))
    # The running stamps drift by the leap day of 2004, the calendar of season does not.
    assert str(long["time"].values[-1])[:10] == "2005-12-31"
    assert str(calendar_time(long)[-1])[:10] == "2002-01-01"


def test_calendar_join_of_a_repeated_year_keeps_its_seasons() -> None:
    long = weather.repeat_years(series("2001-01-01T01", 8760), 2)
    more = weather.join([long, series("2003-01-01T01", 48)])
    assert str(calendar_time(more)[8760])[:13] == "2001-01-01T01"
    assert str(calendar_time(more)[2 * 8760])[:13] == "2003-01-01T01"


def test_repeating_anything_but_a_year_is_refused() -> None:
    with pytest.raises(weather.WeatherError, match="8784 hours, must be 8760"):
        weather.repeat_years(series("2004-01-01T01", 8784), 2)
    with pytest.raises(weather.WeatherError, match="must be 1 or more"):
        weather.repeat_years(series("2001-01-01T01", 8760), 0)


def test_calendar_join_sorts_files_and_keeps_the_leap_day() -> None:
    parts = [series("2004-01-01T01", 8784), series("2003-01-01T01", 8760)]
    long = weather.join(parts)
    assert long.sizes["time"] == 8784 + 8760
    assert str(long["time"].values[0])[:13] == "2003-01-01T01"
    assert np.datetime64("2004-02-29T12") in long["time"].values
    assert long.attrs["source"] == "2004-01-01T01.csv, 2003-01-01T01.csv"


def test_join_refuses_duplicates_and_gaps() -> None:
    first = series("2003-01-01T01", 48)
    with pytest.raises(
        weather.WeatherError, match="2003-01-02T13:00 to 2003-01-03T00:00 are in both"
    ):
        weather.join([first, series("2003-01-02T13", 48)])
    with pytest.raises(
        weather.WeatherError, match="2003-01-01T01:00 to 2003-01-03T00:00 are in both"
    ):
        weather.join([first, first])
    with pytest.raises(weather.WeatherError, match="step of 25 h before 2003-01-04"):
        weather.join([first, series("2003-01-04T01", 48)])


def test_join_refuses_other_places() -> None:
    far = series("2003-01-03T01", 48, place=PLACE._replace(latitude=51.0))
    with pytest.raises(weather.WeatherError, match=r"lies 1\.00° from"):
        weather.join([series("2003-01-01T01", 48), far])


def test_join_notes_variables_that_not_all_files_have() -> None:
    long = weather.join([series("2003-01-01T01", 48), series("2003-01-03T01", 48, extra=True)])
    assert "cloud_cover" not in long
    assert any("left out, not in every file: cloud_cover" in line for line in weather.history(long))


def test_consecutive_join_puts_years_one_after_another() -> None:
    long = weather.join(
        [series("1987-01-01T01", 8760), series("1979-01-01T01", 8760)], how="consecutive"
    )
    assert np.all(np.diff(long["time"].values) == np.timedelta64(1, "h"))
    assert str(calendar_time(long)[8760])[:13] == "1979-01-01T01"
