"""CSV and netCDF tables: units, stamps, bad input."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import weather
from weather import Column, Place, WeatherError, read_table

PLACE = Place(50.0, 10.0, 100.0, 1.0, "invented")
COLUMNS = {
    "temperature": Column("t", "degC"),
    "relative_humidity": Column("rh", "%"),
}


def write(folder: Path, rows: list[str], header: str = "time,t,rh") -> Path:
    path = folder / "w.csv"
    path.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    return path


def rows(values: list[tuple[float, float]], start: str = "2003-05-01T01:00") -> list[str]:
    stamps = np.datetime64(start, "m") + np.arange(len(values)) * np.timedelta64(60, "m")
    return [f"{stamp},{t},{rh}" for stamp, (t, rh) in zip(stamps, values, strict=True)]


def test_units_are_turned_into_si(tmp_path: Path) -> None:
    path = write(
        tmp_path,
        ["2003-05-01T01:00,50,60,1013,36,1.5708,1,0.1", "2003-05-01T02:00,50,60,1013,36,0,1,0.1"],
        "time,t,rh,p,v,d,n,r",
    )
    dataset = read_table(
        path,
        {
            "temperature": ("t", "degF"),
            "relative_humidity": ("rh", "%"),
            "pressure": ("p", "hPa"),
            "wind_speed": ("v", "km/h"),
            "wind_direction": ("d", "rad"),
            "cloud_cover": ("n", "octas"),
            "precipitation": ("r", "in"),
        },
        PLACE,
    )
    got = {name: float(dataset[name][0]) for name in dataset}
    assert got["temperature"] == pytest.approx(283.15)  # 50 °F is 10 °C
    assert got["relative_humidity"] == pytest.approx(0.6)
    assert got["pressure"] == pytest.approx(101300.0)
    assert got["wind_speed"] == pytest.approx(10.0)
    assert got["wind_direction"] == pytest.approx(90.0, abs=1e-3)  # 1.5708 is rounded
    assert got["cloud_cover"] == pytest.approx(0.125)
    assert got["precipitation"] == pytest.approx(2.54)


def test_humidity_in_percent_is_told(tmp_path: Path) -> None:
    path = write(tmp_path, rows([(10.0, 54.2)] * 3))
    with pytest.raises(
        WeatherError, match=r"line 2, rh .*: 54\.2 1: must be 0 to 1 .*is it in percent\?"
    ):
        read_table(path, {**COLUMNS, "relative_humidity": ("rh", "1")}, PLACE)


def test_celsius_taken_as_kelvin_is_told(tmp_path: Path) -> None:
    path = write(tmp_path, rows([(10.0, 54.2)] * 3))
    with pytest.raises(WeatherError, match=r"line 2, t .*: 10 K: must be 180 to 335 K .*°C"):
        read_table(path, {**COLUMNS, "temperature": ("t", "K")}, PLACE)


def test_text_in_a_number_column(tmp_path: Path) -> None:
    lines = rows([(10.0, 50.0)] * 3)
    lines[1] = lines[1].replace("10.0", "n/v")
    with pytest.raises(
        WeatherError, match=r"w\.csv, line 3, t \(temperature\): 'n/v': must be a finite number"
    ):
        read_table(write(tmp_path, lines), COLUMNS, PLACE)


def test_gap_in_the_middle_is_kept_and_refused(tmp_path: Path) -> None:
    lines = rows([(10.0, 50.0)] * 5)
    lines[2] = lines[2].replace("10.0", "")
    dataset = read_table(write(tmp_path, lines), COLUMNS, PLACE)
    with pytest.raises(WeatherError, match="1 of 5 hours missing, first at 2003-05-01T03:00"):
        weather.require_complete(dataset, ["temperature"])


def test_code_for_missing_becomes_a_gap(tmp_path: Path) -> None:
    path = write(tmp_path, rows([(10.0, 50.0), (-999.0, 50.0), (10.0, 50.0)]))
    dataset = read_table(path, COLUMNS, PLACE, missing=-999.0)
    assert np.isnan(dataset["temperature"].values).tolist() == [False, True, False]


@pytest.mark.parametrize(
    ("stamps", "text"),
    [
        (["2003-05-01T01:00", "2003-05-01T01:00"], "appears twice"),
        (["2003-05-01T02:00", "2003-05-01T01:00"], "out of order"),
        (["2003-05-01T01:00", "2003-05-01T01:30"], r"step of 0\.5 h"),
        (["2003-05-01T01:00", "2003-05-01T04:00"], "step of 3 h before 2003-05-01T04:00"),
        (["2003-05-01T01:00", "noon"], "write ISO 8601"),
        (["2003-05-01T01:00", ""], "no stamp"),
        (
            ["2003-05-01T01:00+01:00", "2003-05-01T02:00+01:00"],
            "carries a zone .*local standard time",
        ),
    ],
)
def test_bad_stamps(tmp_path: Path, stamps: list[str], text: str) -> None:
    path = write(tmp_path, [f"{stamp},10,50" for stamp in stamps])
    with pytest.raises(WeatherError, match=text):
        read_table(path, COLUMNS, PLACE)


@pytest.mark.parametrize(
    ("columns", "text"),
    [
        ({"temperature": ("x", "degC")}, "no such column .*time, t, rh"),
        ({"temperature": ("t", "celsius")}, "unit 'celsius' of temperature .*K, degC, degF"),
        ({"temprature": ("t", "degC")}, "'temprature' is not read"),
        ({"relative_humidity": ("rh", "%")}, "no temperature"),
        ({"temperature": ("t", "degC")}, "no relative_humidity and no dew_point"),
    ],
)
def test_bad_column_maps(tmp_path: Path, columns, text: str) -> None:
    with pytest.raises(WeatherError, match=text):
        read_table(write(tmp_path, rows([(10.0, 50.0)] * 3)), columns, PLACE)


def test_dew_point_gives_humidity(tmp_path: Path) -> None:
    path = write(tmp_path, rows([(20.0, 10.0)] * 3))
    dataset = read_table(path, {"temperature": ("t", "degC"), "dew_point": ("rh", "degC")}, PLACE)
    # ISO 13788 table: 1227.3 Pa at 10 °C over 2337.0 Pa at 20 °C, five digits.
    assert float(dataset["relative_humidity"][0]) == pytest.approx(1227.3 / 2337.0, rel=1e-4)


def test_dew_point_above_temperature_is_refused(tmp_path: Path) -> None:
    path = write(tmp_path, rows([(10.0, 12.0)] * 3))
    with pytest.raises(WeatherError, match=r"relative_humidity = 1\.1"):
        read_table(path, {"temperature": ("t", "degC"), "dew_point": ("rh", "degC")}, PLACE)


def test_hour_beginning_means_move_to_the_end_of_their_hour(tmp_path: Path) -> None:
    lines = [f"2003-05-01T0{hour}:00,{hour},50,{100 * hour}" for hour in range(4)]
    path = write(tmp_path, lines, "time,t,rh,g")
    columns = {**COLUMNS, "global_horizontal": ("g", "W/m2")}
    dataset = read_table(path, columns, PLACE, stamp="hour-beginning")
    # Stamp 01:00: the temperature at 01:00, the mean of the hour that began at 00:00.
    assert str(dataset["time"].values[0])[:16] == "2003-05-01T01:00"
    np.testing.assert_allclose(dataset["temperature"] - 273.15, [1.0, 2.0, 3.0], atol=1e-10)
    np.testing.assert_allclose(dataset["global_horizontal"], [0.0, 100.0, 200.0])
    wrapped = read_table(path, columns, PLACE, stamp="hour-beginning", kind="typical year")
    np.testing.assert_allclose(wrapped["temperature"] - 273.15, [1.0, 2.0, 3.0, 0.0], atol=1e-10)
    np.testing.assert_allclose(wrapped["global_horizontal"], [0.0, 100.0, 200.0, 300.0])


def test_canonical_dataset_survives_netcdf(tmp_path: Path) -> None:
    dataset = read_table(write(tmp_path, rows([(10.0, 50.0)] * 5)), COLUMNS, PLACE)
    dataset.to_netcdf(tmp_path / "w.nc")
    back = weather.read(tmp_path / "w.nc")
    assert back.equals(dataset)
    assert back.attrs == dataset.attrs
    assert back["temperature"].attrs == dataset["temperature"].attrs
    assert back["time"].dtype == np.dtype("datetime64[ns]")


def test_netcdf_table_with_a_column_map(tmp_path: Path) -> None:
    time = np.datetime64("2003-05-01T01", "ns") + np.arange(3) * np.timedelta64(3600, "s")
    foreign = xr.Dataset(
        {"t2m": ("time", [280.0, 281.0, 282.0]), "rh": ("time", [50.0, 60.0, 70.0])},
        coords={"time": time},
    )
    foreign.to_netcdf(tmp_path / "f.nc")
    dataset = read_table(
        tmp_path / "f.nc",
        {"temperature": ("t2m", "K"), "relative_humidity": ("rh", "%")},
        PLACE,
    )
    np.testing.assert_allclose(dataset["temperature"], [280.0, 281.0, 282.0])
    with pytest.raises(WeatherError, match="attribute 'latitude' is missing"):
        weather.read(tmp_path / "f.nc")


def test_damaged_netcdf(tmp_path: Path) -> None:
    (tmp_path / "d.nc").write_bytes(b"not netcdf")
    with pytest.raises(WeatherError, match="cannot be read as netCDF"):
        weather.read(tmp_path / "d.nc")


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    cells=st.lists(
        st.sampled_from(["10", "-5.5", "", "nan", "inf", "1e999", "x", "10;20", "９", "1_0", '"']),
        min_size=1,
        max_size=6,
    )
)
def test_any_cells_give_a_sound_dataset_or_a_weather_error(tmp_path: Path, cells) -> None:
    start = np.datetime64("2003-05-01T01:00", "m")
    stamps = start + np.arange(len(cells)) * np.timedelta64(60, "m")
    path = write(tmp_path, [f"{s},{cell},50" for s, cell in zip(stamps, cells, strict=True)])
    try:
        dataset = read_table(path, COLUMNS, PLACE)
    except WeatherError:
        # Refused with reason: a cell that is no number, or a column without any.
        numbers = [cell for cell in cells if cell in ("10", "-5.5")]
        readable = all(cell in ("10", "-5.5", "", "nan") for cell in cells)
        assert not numbers or not readable
        return
    values = dataset["temperature"].values
    assert len(values) == len(cells)
    assert np.all(np.isnan(values) | ((values > 180.0) & (values < 335.0)))
    assert np.array_equal(np.isnan(values), [cell in ("", "nan") for cell in cells])
