"""Gaps, standstill and fills: found, refused, or filled on request and recorded."""

from __future__ import annotations

import numpy as np
import pytest

import weather
from weather import Place, WeatherError
from weather.canonical import Origin, build

PLACE = Place(50.0, 10.0, 100.0, 1.0, "invented")


def of(hours: int = 72, **changes):
    phase = 2.0 * np.pi * np.arange(hours) / 24.0
    columns = {
        "temperature": 283.0 - 5.0 * np.cos(phase),
        "relative_humidity": 0.7 + 0.1 * np.cos(phase),
        "wind_speed": 3.0 + np.sin(phase),
        "wind_direction": np.full(hours, 180.0),
        **changes,
    }
    time = np.datetime64("2003-05-01T01", "h") + np.arange(hours)
    return build(columns, time, PLACE, Origin("by hand", "", "measured"))


def gap(values: np.ndarray, start: int, length: int) -> np.ndarray:
    result = values.astype(float)
    result[start : start + length] = np.nan
    return result


def test_gap_is_found_with_begin_and_length() -> None:
    dataset = of(temperature=gap(of()["temperature"].values, 10, 3))
    found = weather.inspect(dataset)
    (item,) = [f for f in found.about("gap") if f.variable == "temperature"]
    assert (item.first, item.amount) == ("2003-05-01T11:00", 3.0)
    assert found.missing_share["temperature"] == pytest.approx(3.0 / 72.0)


def test_linear_fill_lies_on_the_line_and_updates_what_follows() -> None:
    dataset = of(temperature=gap(np.linspace(280.0, 287.1, 72), 10, 3))
    filled = weather.fill(dataset, "temperature")
    # The gap lies in a straight line: round-off.
    np.testing.assert_allclose(filled["temperature"], np.linspace(280.0, 287.1, 72), rtol=1e-14)
    assert not np.isnan(filled["vapour_pressure"].values).any()
    assert not np.isnan(filled["dew_point"].values).any()
    assert filled["temperature"].attrs == dataset["temperature"].attrs
    assert np.isnan(dataset["temperature"].values).sum() == 3, "the input is not changed"


def test_same_hour_fill_takes_the_days_beside() -> None:
    whole = of()["temperature"].values
    filled = weather.fill(
        of(temperature=gap(whole, 30, 12)), "temperature", how="same hour", max_gap_hours=12
    )
    # The invented course repeats every day: round-off.
    np.testing.assert_allclose(filled["temperature"], whole, rtol=1e-14)


def test_long_gap_is_refused_with_both_lengths() -> None:
    dataset = of(temperature=gap(of()["temperature"].values, 10, 9))
    with pytest.raises(WeatherError, match="2003-05-01T11:00: gap of 9 h, may be 6 h"):
        weather.fill(dataset, "temperature")


def test_gap_at_the_end_cannot_be_filled_linearly() -> None:
    dataset = of(temperature=gap(of()["temperature"].values, 70, 2))
    with pytest.raises(WeatherError, match="'linear' finds no value beside the gap"):
        weather.fill(dataset, "temperature")
    assert not np.isnan(weather.fill(dataset, "temperature", how="previous")["temperature"]).any()


@pytest.mark.parametrize(
    ("variable", "how", "text"),
    [
        ("wind_direction", "linear", "angles have no mean"),
        ("wind_direction", "same hour", "angles have no mean"),
        ("temperature", "zero", "is not filled with zero"),
        ("temperature", "magic", "'magic' is not known"),
        ("cloud_cover", "linear", "nothing to fill"),
    ],
)
def test_unsuitable_fills_are_refused(variable: str, how, text: str) -> None:
    dataset = of(wind_direction=gap(np.full(72, 180.0), 5, 1))
    with pytest.raises(WeatherError, match=text):
        weather.fill(dataset, variable, how=how)


def test_rain_gap_filled_with_zero_reaches_the_rain_without_snow() -> None:
    dataset = of(precipitation=gap(np.full(72, 0.3), 5, 2))
    assert np.isnan(dataset["rain"].values).sum() == 2
    filled = weather.fill(dataset, "precipitation", how="zero")
    assert float(filled["rain"].sum()) == pytest.approx(70 * 0.3)


def test_stuck_thermometer_is_reported_but_calm_and_fog_are_not() -> None:
    stuck = np.concatenate([of()["temperature"].values[:20], np.full(60, 281.0)])
    dataset = of(
        hours=80,
        temperature=stuck,
        relative_humidity=np.ones(80),
        wind_speed=np.zeros(80),
        wind_direction=np.append(np.full(79, np.nan), 90.0),
    )
    found = weather.inspect(dataset).about("constant")
    assert [item.variable for item in found] == ["temperature"]
    assert found[0].amount == 60.0
    # A calm hour without direction is no gap.
    assert not np.isnan(dataset["wind_direction"].values).any()
    assert any("79 calm hours" in line for line in weather.history(dataset))


def test_wrong_zone_shows_in_the_sun() -> None:
    hours = np.arange(1, 73) % 24
    sun = np.where((hours > 12) & (hours < 24), 200.0, 0.0)
    (item,) = weather.inspect(of(global_horizontal=sun)).about("implausible sun")
    assert item.amount > 14.5


def test_rescaling_out_of_bounds_is_refused() -> None:
    with pytest.raises(WeatherError, match="factor 1000 leads out of 0–600"):
        weather.rescale(of(precipitation=np.full(72, 1.0)), "precipitation", 1000.0, reason="test")


def wet_year(rate: float = 0.1, **changes):
    return of(8760, temperature=np.full(8760, 283.0), precipitation=np.full(8760, rate), **changes)


def test_rain_is_scaled_to_an_annual_sum_and_that_is_recorded() -> None:
    # 0.1 mm in each of 8760 hours are 876 mm; 0.1·937/876 = 0.10696.
    scaled = weather.scale_rain(wet_year(), to_mm=937.0)
    assert scaled["precipitation"].values == pytest.approx(0.1069635, abs=1e-7)
    assert scaled["rain"].values == pytest.approx(0.1069635, abs=1e-7)
    assert weather.history(scaled)[-1] == (
        "precipitation: multiplied by 1.06963, annual sum scaled from 876 to 937 mm"
    )


@pytest.mark.parametrize(
    ("dataset", "to_mm", "text"),
    [
        (lambda: of(precipitation=np.full(72, 0.1)), 900.0, "72 hours: must be 8760 or more"),
        (lambda: wet_year(0.0), 900.0, "zero throughout"),
        (lambda: of(8760), 900.0, "not in the weather"),
        (lambda: wet_year(), 0.9, "to_mm = 0.9: must be 1 to 20000 mm .*metres"),
        (lambda: wet_year(), 20001.0, "must be 1 to 20000"),
        (
            lambda: of(8760, precipitation=gap(np.full(8760, 0.1), 9, 1)),
            900.0,
            "1 of 8760 hours missing",
        ),
    ],
)
def test_rain_that_cannot_be_scaled_is_told(dataset, to_mm: float, text: str) -> None:
    with pytest.raises(WeatherError, match=text):
        weather.scale_rain(dataset(), to_mm=to_mm)


def snowy_day(**changes):
    columns = {name: np.full(4, 100.0) for name in ("global_horizontal", "diffuse_horizontal")}
    return of(
        4,
        **columns,
        direct_normal=np.zeros(4),
        cloud_cover=np.ones(4),
        snow_depth=np.array([0.0, 0.029, 0.03, np.nan]),
        **changes,
    )


def test_snow_brightens_the_ground_from_three_centimetres_on() -> None:
    wall = weather.plane_loads(snowy_day(), azimuth=0.0, rain_method=None)
    # Half of the ground is seen: 100·0.2/2 = 10 and 100·0.6/2 = 30 W/m².
    assert wall["solar_ground"].values == pytest.approx([10.0, 10.0, 30.0, 10.0])
    assert "snow on the ground in 1 hours: albedo 0.6" in weather.history(wall)
    bare = weather.plane_loads(snowy_day(), azimuth=0.0, snow_albedo=None, rain_method=None)
    assert bare["solar_ground"].values == pytest.approx(10.0)
    assert not any("snow" in line for line in weather.history(bare))


@pytest.mark.parametrize(
    ("kind", "words"),
    [("typical year", "average year"), ("generated", "never measured"), ("measured", "")],
)
def test_every_kind_of_year_carries_its_caution(kind, words: str) -> None:
    time = np.datetime64("2001-01-01T01", "h") + np.arange(2)
    columns = {"temperature": np.full(2, 283.0), "relative_humidity": np.full(2, 0.5)}
    dataset = build(columns, time, PLACE, Origin("by hand", "", kind))
    caution = dataset.attrs["caution"]
    assert words in caution if words else caution == ""


@pytest.mark.parametrize(
    ("options", "text"),
    [
        ({"azimuth": 0.0, "snow_albedo": 60.0}, "snow_albedo: 60: must be 0–1 .*percent"),
        ({"azimuth": 400.0}, "azimuth: 400: must be 0–360"),
        ({"azimuth": 0.0, "tilt": 200.0}, "tilt: 200: must be 0–180"),
        ({"azimuth": 0.0, "albedo": 20.0}, "is it in percent"),
        ({"azimuth": 0.0, "sky": "blue"}, "'blue' is not known"),
        ({"azimuth": 0.0}, "global_horizontal: not in the weather"),
    ],
)
def test_bad_planes_and_missing_sun_are_refused(options, text: str) -> None:
    with pytest.raises(WeatherError, match=text):
        weather.plane_loads(of(), rain_method=None, **options)


def test_driving_rain_on_a_roof_is_refused() -> None:
    zero = np.zeros(72)
    dataset = of(
        global_horizontal=zero,
        direct_normal=zero,
        diffuse_horizontal=zero,
        cloud_cover=zero,
        precipitation=np.full(72, 0.2),
    )
    with pytest.raises(WeatherError, match="hold for vertical walls only"):
        weather.plane_loads(dataset, azimuth=0.0, tilt=30.0)


def test_summary_needs_a_whole_year() -> None:
    with pytest.raises(WeatherError, match="72 hours, a whole year has 8760"):
        weather.summarise(of())
