"""Readers against the text of six real files, parsed here on its own, and against pvlib."""

from __future__ import annotations

import csv
import importlib.util
from functools import cache
from pathlib import Path

import numpy as np
import pvlib
import pytest

import weather
from weather.longwave import STEFAN_BOLTZMANN, emissivity_berdahl_martin

EPW = (
    "USA_AK_Northway.AP.702910_TMY3.epw",
    "USA_CA_Mount.Shasta.725957_TMYx.epw",
    "USA_IL_Chicago.OHare.Intl.AP.725300_TMY3.epw",
)
TMY3 = ("703165TY.csv", "723170TYA.CSV")
TMY2 = "12839.tm2"


def file_of(name: str) -> Path:
    """Find a real weather file in the packages that ship it; a missing package is a failure."""
    package, folder = (
        ("diyepw", "data/tmy_epw_files") if name.endswith(".epw") else ("pvlib", "data")
    )
    spec = importlib.util.find_spec(package)
    if spec is None or spec.origin is None:
        pytest.fail(f"{package} ships {name}: install it (pip install --no-deps {package})")
    path = Path(spec.origin).parent / folder / name
    if not path.is_file():
        pytest.fail(f"{package} no longer ships {name}")
    return path


@cache
def epw_rows(name: str) -> list[list[str]]:
    with file_of(name).open(encoding="utf-8") as file:
        return list(csv.reader(file))[8:]


@cache
def tmy3_rows(name: str) -> tuple[list[str], list[list[str]]]:
    with file_of(name).open(encoding="utf-8") as file:
        rows = list(csv.reader(file))
    return rows[1], rows[2:]


@cache
def weather_of(name: str):
    return weather.read(file_of(name))


# canonical name: (EPW column counted from 0, factor to SI, shift to SI)
EPW_FIELDS = {
    "temperature": (6, 1.0, 273.15),
    "dew_point": (7, 1.0, 273.15),
    "relative_humidity": (8, 0.01, 0.0),
    "pressure": (9, 1.0, 0.0),
    "longwave_down": (12, 1.0, 0.0),
    "global_horizontal": (13, 1.0, 0.0),
    "direct_normal": (14, 1.0, 0.0),
    "diffuse_horizontal": (15, 1.0, 0.0),
    "wind_direction": (20, 1.0, 0.0),
    "wind_speed": (21, 1.0, 0.0),
    "cloud_cover": (23, 0.1, 0.0),
    "precipitation": (33, 1.0, 0.0),
}
TMY3_FIELDS = {
    "temperature": ("Dry-bulb (C)", 1.0, 273.15),
    "dew_point": ("Dew-point (C)", 1.0, 273.15),
    "relative_humidity": ("RHum (%)", 0.01, 0.0),
    "pressure": ("Pressure (mbar)", 100.0, 0.0),
    "global_horizontal": ("GHI (W/m^2)", 1.0, 0.0),
    "direct_normal": ("DNI (W/m^2)", 1.0, 0.0),
    "diffuse_horizontal": ("DHI (W/m^2)", 1.0, 0.0),
    "wind_direction": ("Wdir (degrees)", 1.0, 0.0),
    "wind_speed": ("Wspd (m/s)", 1.0, 0.0),
    "cloud_cover": ("OpqCld (tenths)", 0.1, 0.0),
}


@pytest.mark.parametrize("name", EPW)
def test_epw_values_are_those_of_the_text(name: str) -> None:
    dataset, rows = weather_of(name), epw_rows(name)
    for variable, (column, factor, shift) in EPW_FIELDS.items():
        expected = np.array([float(row[column]) for row in rows]) * factor + shift
        # Decimal text to float and one multiplication: round-off.
        np.testing.assert_allclose(dataset[variable].values, expected, rtol=1e-14, err_msg=variable)


@pytest.mark.parametrize("name", EPW)
def test_epw_hours_are_hour_ending_stamps_of_the_text(name: str) -> None:
    time = weather_of(name)["time"].values
    rows = epw_rows(name)
    for row in (0, 22, 23, 24, 1415, 1416, 5000, 8759):
        month, day, hour = (int(text) for text in rows[row][1:4])
        begin = np.datetime64(f"2001-{month:02d}-{day:02d}") + np.timedelta64(hour - 1, "h")
        assert time[row] == begin + np.timedelta64(1, "h")
    assert str(time[0])[:16] == "2001-01-01T01:00"
    assert str(time[-1])[:16] == "2002-01-01T00:00"


@pytest.mark.parametrize("name", TMY3)
def test_tmy3_values_are_those_of_the_text(name: str) -> None:
    dataset, (header, rows) = weather_of(name), tmy3_rows(name)
    for variable, (title, factor, shift) in TMY3_FIELDS.items():
        column = header.index(title)
        expected = np.array([float(row[column]) for row in rows]) * factor + shift
        np.testing.assert_allclose(dataset[variable].values, expected, rtol=1e-14, err_msg=variable)


def test_tmy3_sums_over_several_hours_and_missing_ones_are_not_taken() -> None:
    header, rows = tmy3_rows("703165TY.csv")
    depth, hours = header.index("Lprecip depth (mm)"), header.index("Lprecip quantity (hr)")
    got = weather_of("703165TY.csv")["precipitation"].values
    for row, value in zip(rows, got, strict=True):
        if float(row[hours]) == 1.0 and float(row[depth]) >= 0.0:
            assert value == float(row[depth])
        else:
            assert np.isnan(value)


def test_tmy2_agrees_with_pvlib() -> None:
    dataset = weather_of(TMY2)
    frame, meta = pvlib.iotools.read_tmy2(file_of(TMY2))
    for variable, (column, factor, shift) in {
        "temperature": ("DryBulb", 0.1, 273.15),
        "dew_point": ("DewPoint", 0.1, 273.15),
        "relative_humidity": ("RHum", 0.01, 0.0),
        "pressure": ("Pressure", 100.0, 0.0),
        "global_horizontal": ("GHI", 1.0, 0.0),
        "direct_normal": ("DNI", 1.0, 0.0),
        "diffuse_horizontal": ("DHI", 1.0, 0.0),
        "wind_direction": ("Wdir", 1.0, 0.0),
        "wind_speed": ("Wspd", 0.1, 0.0),
        "cloud_cover": ("OpqCld", 0.1, 0.0),
    }.items():
        expected = frame[column].to_numpy(float) * factor + shift
        np.testing.assert_allclose(dataset[variable].values, expected, rtol=1e-14, err_msg=variable)
    for key in ("latitude", "longitude", "altitude"):
        assert dataset.attrs[key] == pytest.approx(meta[key])
    assert dataset.attrs["utc_offset_hours"] == meta["TZ"]


@pytest.mark.parametrize("name", [*EPW, *TMY3, TMY2])
def test_mixed_years_become_one_typical_hourly_year(name: str) -> None:
    dataset = weather_of(name)
    assert dataset.attrs["kind"] == "typical year"
    assert dataset.attrs["generated"] == "no"
    assert dataset.sizes["time"] == 8760
    assert np.all(np.diff(dataset["time"].values) == np.timedelta64(1, "h"))
    assert any("nominal year" in line for line in weather.history(dataset))


@pytest.mark.parametrize("name", [*EPW, *TMY3, TMY2])
def test_sun_and_stamps_fit_each_other(name: str) -> None:
    # One file needs the sun moved, see the next test.
    dataset = weather.align_sun(weather_of(name))
    # Beam on the horizontal plane by our sun, plus the file's diffuse, is the file's global: over
    # the year within 1.1 %, the closure of the file from reanalysis (the others close to 0.5 %).
    # Half an hour of shift would change each half-day by 2–6 %, hence 1.5 % there.
    up = weather.plane_loads(dataset, azimuth=0.0, tilt=0.0, albedo=0.0, rain_method=None)
    closed = up["solar_beam"].values + dataset["diffuse_horizontal"].values
    given = dataset["global_horizontal"].values
    assert closed.sum() == pytest.approx(given.sum(), rel=1.1e-2)
    hour = dataset["time"].dt.hour.values
    for half in ((hour >= 1) & (hour <= 12), (hour >= 13) | (hour == 0)):
        assert closed[half].sum() == pytest.approx(given[half].sum(), rel=1.5e-2)


def test_file_whose_radiation_lags_the_sun_is_reported_and_settled() -> None:
    dataset = weather_of(EPW[1])
    # Radiation from reanalysis, half an hour behind the stamps: seen by nothing but closure.
    (finding,) = weather.inspect(dataset).about("late sun")
    assert finding.amount == 0.5
    settled = weather.align_sun(dataset)
    assert "sun moved by -0.5 h" in weather.history(settled)[-1]
    assert not weather.inspect(settled).about("late sun")
    for name in (EPW[0], EPW[2], *TMY3, TMY2):
        assert not weather.inspect(weather_of(name)).about("late sun")


@pytest.mark.parametrize("name", [EPW[0], EPW[2]])
def test_infrared_of_epw_files_is_met_by_the_sky_model(name: str) -> None:
    dataset = weather_of(name)
    emissivity = emissivity_berdahl_martin(
        dataset["dew_point"].values,
        dataset["cloud_cover"].values,
        hour=dataset["time"].dt.hour.values,
        pressure=dataset["pressure"].values,
    )
    got = emissivity * STEFAN_BOLTZMANN * dataset["temperature"].values ** 4
    # The field is rounded, partly cut, to whole W/m²; 1 W/m² for 99 % of the hours.
    error = np.abs(got - dataset["longwave_down"].values)
    assert np.quantile(error, 0.99) < 1.0


def test_rain_of_the_six_files_is_judged() -> None:
    assert weather.has_rain(weather_of(EPW[1]))
    assert weather.has_rain(weather_of(EPW[2]))
    # 59 mm a year, mostly unrecorded; gaps; tenths of a millimetre; a format without rain.
    for name, text in {
        EPW[0]: "59 mm a year is implausible",
        TMY3[0]: "missing in 8492 of 8760 hours",
        TMY3[1]: "8345 mm a year is implausible",
        TMY2: "no precipitation",
    }.items():
        assert not weather.has_rain(weather_of(name))
        with pytest.raises(weather.WeatherError, match=text):
            weather.require_rain(weather_of(name))


def test_rescaled_tenths_become_credible_rain_and_are_recorded() -> None:
    dataset = weather.rescale(weather_of(TMY3[1]), "precipitation", 0.1, reason="tenths of mm")
    weather.require_rain(dataset)
    header, rows = tmy3_rows(TMY3[1])
    total = sum(float(row[header.index("Lprecip depth (mm)")]) for row in rows)
    assert weather.summarise(dataset).precipitation == pytest.approx(0.1 * total)
    assert "multiplied by 0.1, tenths of mm" in weather.history(dataset)[-1]
    assert float(dataset["rain"].sum()) < float(dataset["precipitation"].sum())


@pytest.mark.parametrize("name", EPW[1:])
def test_annual_rain_is_the_sum_of_the_text_without_snow(name: str) -> None:
    rows = epw_rows(name)
    everything = sum(float(row[33]) for row in rows)
    liquid = sum(float(row[33]) for row in rows if float(row[6]) >= 1.0)
    summary = weather.summarise(weather_of(name))
    assert summary.precipitation == pytest.approx(everything)
    # 1.0 °C in the file and 273.15 + 1 in float: hours at exactly 1.0 °C may fall either side.
    edge = sum(float(row[33]) for row in rows if float(row[6]) == 1.0)
    assert summary.rain == pytest.approx(liquid, abs=edge + 1e-9)


def test_constant_pressure_of_a_filled_station_is_reported() -> None:
    found = weather.inspect(weather_of(TMY3[0])).about("constant")
    assert [item.variable for item in found] == ["pressure"]
    assert found[0].amount == 8760.0


@pytest.mark.parametrize("name", EPW)
def test_degree_days_from_the_text(name: str) -> None:
    theta = np.array([float(row[6]) for row in epw_rows(name)]).reshape(365, 24).mean(axis=1)
    summary = weather.summarise(weather_of(name))
    # Same arithmetic on kelvins: round-off of 300 K only.
    assert summary.heating_degree_days == pytest.approx(np.maximum(18.0 - theta, 0).sum(), abs=1e-6)
    assert summary.cooling_degree_days == pytest.approx(np.maximum(theta - 10.0, 0).sum(), abs=1e-6)
