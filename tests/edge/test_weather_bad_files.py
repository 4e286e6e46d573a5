"""Bad weather files get one clear message each: place, value, bound, likely cause."""

from __future__ import annotations

import importlib.util
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import weather
from weather import WeatherError

HEADER = [
    "LOCATION,Nowhere,XX,YYY,invented,000000,50.0,10.0,1.0,100.0",
    "DESIGN CONDITIONS,0",
    "TYPICAL/EXTREME PERIODS,0",
    "GROUND TEMPERATURES,0",
    "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
    "COMMENTS 1,invented",
    "COMMENTS 2,invented",
    "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
]
DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def epw_lines(*, year: int = 2003, leap: bool = False, rain: str = "0.2", mixed: bool = False):
    """A whole invented EPW file, line by line; a new list each time."""
    return list(_epw_lines(year, leap, rain, mixed))


@cache
def _epw_lines(year: int, leap: bool, rain: str, mixed: bool) -> tuple[str, ...]:
    lines = list(HEADER)
    for month, count in enumerate(DAYS, start=1):
        days = count + (1 if leap and month == 2 else 0)
        for day in range(1, days + 1):
            for hour in range(1, 25):
                dated = year + month % 2 if mixed else year
                sun = "300" if 9 <= hour <= 16 else "0"
                lines.append(
                    f"{dated},{month},{day},{hour},0,?9?9,8.0,4.0,76,100100,0,0,310,{sun},{sun},"
                    f"60,0,0,0,0,200,3.1,5,5,9999,99999,9,999999999,12,0.1,1,88,0.2,{rain},1.0"
                )
    return tuple(lines)


def write(folder: Path, lines: list[str], name: str = "bad.epw") -> Path:
    path = folder / name
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def test_sound_invented_file_is_read(tmp_path: Path) -> None:
    dataset = weather.read(write(tmp_path, epw_lines()))
    assert dataset.attrs["kind"] == "measured"
    assert str(dataset["time"].values[0])[:13] == "2003-01-01T01"
    assert float(dataset["precipitation"].sum()) == pytest.approx(8760 * 0.2)


def test_missing_file() -> None:
    with pytest.raises(WeatherError, match=r"nowhere\.epw: no such file"):
        weather.read("nowhere.epw")


def test_unknown_format(tmp_path: Path) -> None:
    with pytest.raises(WeatherError, match=r"x\.csv: format not recognised"):
        weather.read(write(tmp_path, ["a,b", "1,2"], "x.csv"))
    with pytest.raises(WeatherError, match="'xyz' is not known"):
        weather.read(write(tmp_path, ["a,b"], "y.csv"), format="xyz")


def test_truncated_in_the_middle_of_a_line(tmp_path: Path) -> None:
    lines = epw_lines()[:5000]
    lines[-1] = lines[-1][:40]
    with pytest.raises(WeatherError, match=r"line 5000: \d+ fields, must be 35 .*truncated"):
        weather.read(write(tmp_path, lines))


def test_truncated_typical_year(tmp_path: Path) -> None:
    lines = epw_lines(mixed=True)[: 8 + 24 * 100]
    with pytest.raises(WeatherError, match=r"2400 hours, a typical year has 8760 .*truncated"):
        weather.read(write(tmp_path, lines))


def test_header_only_and_empty(tmp_path: Path) -> None:
    with pytest.raises(WeatherError, match="8 lines, no data"):
        weather.read(write(tmp_path, HEADER))
    with pytest.raises(WeatherError, match="not an EPW file"):
        weather.read(write(tmp_path, [], "empty.epw"))


def test_text_in_a_number_column(tmp_path: Path) -> None:
    lines = epw_lines()
    lines[1234] = lines[1234].replace(",8.0,4.0,", ",warm,4.0,")
    with pytest.raises(WeatherError, match="line 1235: temperature = 'warm': must be a number"):
        weather.read(write(tmp_path, lines))


def test_text_in_the_location(tmp_path: Path) -> None:
    lines = epw_lines()
    lines[0] = lines[0].replace("50.0", "fifty")
    with pytest.raises(WeatherError, match="line 1: latitude = 'fifty'"):
        weather.read(write(tmp_path, lines))


def test_leap_day_in_a_year_put_together_from_several(tmp_path: Path) -> None:
    path = write(tmp_path, epw_lines(leap=True, mixed=True, year=2004))
    with pytest.raises(WeatherError, match=r"8784 rows with 29 February.*leap_day='drop'"):
        weather.read(path)
    dataset = weather.read(path, leap_day="drop")
    assert dataset.sizes["time"] == 8760
    assert "29 February left out (24 hours)" in weather.history(dataset)


def test_leap_day_in_a_year_without_one(tmp_path: Path) -> None:
    with pytest.raises(WeatherError, match="there is no day 2003-02-29"):
        weather.read(write(tmp_path, epw_lines(leap=True, year=2003)))


def test_leap_year_with_its_leap_day_is_sound(tmp_path: Path) -> None:
    path = write(tmp_path, epw_lines(leap=True, year=2004))
    assert weather.read(path).sizes["time"] == 8784
    dropped = weather.read(path, leap_day="drop")
    assert dropped.sizes["time"] == 8760
    assert np.all(np.diff(dropped["time"].values) == np.timedelta64(1, "h"))


def test_leap_year_of_8760_rows_is_restamped_and_noted(tmp_path: Path) -> None:
    dataset = weather.read(write(tmp_path, epw_lines(year=2004)))
    assert str(dataset["time"].values[0])[:4] == "2001"
    assert any("2004 restamped" in line for line in weather.history(dataset))


def test_duplicate_hour(tmp_path: Path) -> None:
    lines = epw_lines()
    lines.insert(100, lines[100])
    with pytest.raises(WeatherError, match=r"2003-01-04T21:00 appears twice .*duplicate row"):
        weather.read(write(tmp_path, lines))


def test_missing_hour(tmp_path: Path) -> None:
    lines = epw_lines()
    del lines[100]
    with pytest.raises(WeatherError, match="step of 2 h before 2003-01-04T22:00"):
        weather.read(write(tmp_path, lines))


def test_hour_zero(tmp_path: Path) -> None:
    lines = epw_lines()
    lines[8] = lines[8].replace("2003,1,1,1,", "2003,1,1,0,")
    with pytest.raises(WeatherError, match=r"row 1: hour = 0: must be 1\.\.24"):
        weather.read(write(tmp_path, lines))


def test_humidity_above_one_hundred_percent(tmp_path: Path) -> None:
    lines = epw_lines()
    lines[20] = lines[20].replace(",76,", ",104,")
    with pytest.raises(WeatherError, match=r"relative_humidity = 1\.04: must be 0–1"):
        weather.read(write(tmp_path, lines))


def test_longitude_of_the_wrong_sign(tmp_path: Path) -> None:
    lines = epw_lines()
    lines[0] = lines[0].replace(",10.0,1.0,", ",-110.0,7.0,")
    with pytest.raises(WeatherError, match="east is positive for both"):
        weather.read(write(tmp_path, lines))


@pytest.mark.parametrize(
    ("rain", "text"),
    [("0.0", "zero throughout"), ("999", "no precipitation"), ("0.001", "9 mm a year")],
)
def test_missing_rain_is_refused_where_rain_is_asked(tmp_path: Path, rain: str, text: str) -> None:
    dataset = weather.read(write(tmp_path, epw_lines(rain=rain)))
    assert not weather.has_rain(dataset)
    with pytest.raises(WeatherError, match=text):
        weather.plane_loads(dataset, azimuth=0.0)
    dry = weather.plane_loads(dataset, azimuth=0.0, rain_method=None)
    assert "driving_rain" not in dry
    assert "no driving rain, on purpose" in weather.history(dry)


def test_rain_of_a_desert_is_taken_on_purpose_only(tmp_path: Path) -> None:
    dataset = weather.read(write(tmp_path, epw_lines(rain="0.001")))
    with pytest.raises(WeatherError, match="9 mm a year is implausible"):
        weather.require_rain(dataset)
    with pytest.raises(WeatherError, match="no reason given"):
        weather.accept_rain(dataset, reason=" ")
    accepted = weather.accept_rain(dataset, reason="the normal is 9 mm")
    assert weather.has_rain(accepted)
    assert "the normal is 9 mm" in weather.history(accepted)[-1]
    # Zero throughout stays no rain.
    dry = weather.read(write(tmp_path, epw_lines(rain="0.0")))
    assert not weather.has_rain(weather.accept_rain(dry, reason="dry"))


@pytest.mark.parametrize("hours", ["2", "3.0", "6.0", "24"])
def test_rain_summed_over_several_hours_is_not_taken(tmp_path: Path, hours: str) -> None:
    lines = epw_lines()
    lines[50] = lines[50].replace(",0.2,1.0", f",6.0,{hours}")
    dataset = weather.read(write(tmp_path, lines))
    assert np.flatnonzero(np.isnan(dataset["precipitation"].values)).tolist() == [42]
    assert "precipitation: 1 sums over several hours treated as missing" in weather.history(dataset)
    with pytest.raises(WeatherError, match="missing in 1 of 8760 hours"):
        weather.require_rain(dataset)


@pytest.mark.parametrize("hours", ["1.0", "0.0", "99", ""])
def test_rain_of_one_hour_or_without_a_number_of_hours_is_taken(tmp_path: Path, hours: str) -> None:
    lines = epw_lines()
    lines[50] = lines[50].replace(",0.2,1.0", f",6.0,{hours}")
    assert float(weather.read(write(tmp_path, lines))["precipitation"][42]) == 6.0


@pytest.mark.parametrize(
    ("old", "code", "variable"),
    [
        (",8.0,4.0,", ",99.9,4.0,", "temperature"),
        (",76,", ",999,", "relative_humidity"),
        (",310,", ",9999,", "longwave_down"),
        (",200,3.1,", ",200,999,", "wind_speed"),
        (",100100,", ",999999,", "pressure"),
        (",0.1,1,88,", ",0.1,999,88,", "snow_depth"),
    ],
)
def test_missing_codes_become_gaps_that_are_refused(
    tmp_path: Path, old: str, code: str, variable: str
) -> None:
    lines = epw_lines()
    lines[500] = lines[500].replace(old, code)
    dataset = weather.read(write(tmp_path, lines))
    assert int(np.isnan(dataset[variable].values).sum()) == 1
    with pytest.raises(WeatherError, match=f"{variable}: 1 of 8760 hours missing, first at 2003"):
        weather.require_complete(dataset, [variable])
    (gap,) = [item for item in weather.inspect(dataset).about("gap") if item.variable == variable]
    assert gap.first == "2003-01-21T13:00"
    filled = weather.fill(dataset, variable, how="linear", max_gap_hours=1)
    weather.require_complete(filled, [variable, "vapour_pressure"])
    assert f"{variable}: 1 hours in 1 gaps filled, linear" in weather.history(filled)


def test_snow_depth_of_epw_is_in_centimetres(tmp_path: Path) -> None:
    depth = weather.read(write(tmp_path, epw_lines()))["snow_depth"]
    assert depth.values == pytest.approx(0.01)
    lines = [line.replace(",0.1,1,88,", ",0.1,0,88,") for line in epw_lines()]
    bare = weather.read(write(tmp_path, lines))
    assert "snow_depth" not in bare
    assert "snow_depth: zero or missing all year" in weather.history(bare)


def test_years_of_one_place_are_read_and_joined(tmp_path: Path) -> None:
    paths = [
        write(tmp_path, epw_lines(year=2004, leap=True), "b.epw"),
        write(tmp_path, epw_lines(year=2003), "a.epw"),
    ]
    measured = weather.read_years(paths)
    assert measured.sizes["time"] == 8760 + 8784
    assert str(measured["time"].values[0])[:13] == "2003-01-01T01"
    assert measured.attrs["source"] == "b.epw, a.epw"
    in_order = weather.read_years(paths, how="consecutive")
    assert in_order.sizes["time"] == 2 * 8760
    assert any("29 February left out" in line for line in weather.history(in_order))
    with pytest.raises(WeatherError, match="join: no datasets given"):
        weather.read_years([])


def test_tmy3_with_a_broken_value(tmp_path: Path) -> None:
    spec = importlib.util.find_spec("pvlib")
    assert spec is not None
    assert spec.origin is not None
    text = (Path(spec.origin).parent / "data/723170TYA.CSV").read_text()
    lines = text.splitlines()
    lines[700] = lines[700].replace(",A,7,", ",A,seven,", 3)
    fields = lines[900].split(",")
    fields[31] = "cold"
    lines[900] = ",".join(fields)
    path = write(tmp_path, lines, "bad.csv")
    with pytest.raises(WeatherError, match=r"bad\.csv, line 901, Dry-bulb \(C\): 'cold': must be"):
        weather.read(path)
    with pytest.raises(WeatherError, match="a typical year has 8760"):
        weather.read(write(tmp_path, text.splitlines()[:5000], "short.csv"))


def test_tmy2_with_a_cut_line(tmp_path: Path) -> None:
    spec = importlib.util.find_spec("pvlib")
    assert spec is not None
    assert spec.origin is not None
    lines = (Path(spec.origin).parent / "data/12839.tm2").read_text().splitlines()
    whole = lines[77]
    lines[77] = whole[:60]
    with pytest.raises(WeatherError, match="line 78: 60 characters, must be 142"):
        weather.read(write(tmp_path, lines, "bad.tm2"))
    lines[77] = whole[:67] + "warm" + whole[71:]
    with pytest.raises(WeatherError, match="line 78: temperature = 'warm'"):
        weather.read(write(tmp_path, lines, "bad.tm2"))


def test_tmy2_station_of_two_words_is_read(tmp_path: Path) -> None:
    spec = importlib.util.find_spec("pvlib")
    assert spec is not None
    assert spec.origin is not None
    lines = (Path(spec.origin).parent / "data/12839.tm2").read_text().splitlines()
    lines[0] = lines[0].replace("MIAMI      ", "EAST NOWHER")
    dataset = weather.read(write(tmp_path, lines, "two.tm2"))
    assert dataset.attrs["place"] == "EAST NOWHER, FL"
    assert dataset.attrs["latitude"] == pytest.approx(25.8)
