"""One reader of CSV columns for tables of weather and for rooms: units, stamps, faults by line."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from hygro.errors import InputError
from hygro.room.hourly import HourlyRoom
from hygro.room.time import Outdoor
from weather import Place, Quantity, WeatherError, read_columns, read_table

AIR = {
    "temperature": Quantity("K", 223.15, 343.15, "is the unit right?"),
    "relative_humidity": Quantity("1", 0.0, 1.0, "is it in percent?"),
}


def table(folder: Path, text: str, *, encoding: str = "utf-8") -> Path:
    path = folder / "air.csv"
    path.write_text(text, encoding=encoding)
    return path


def test_units_stand_in_the_head_in_any_spelling(tmp_path: Path) -> None:
    text = "# measured\nTemperature [°C], Relative Humidity [%],note\n\n20, 50,x\n-5,8.5e1,y\n"
    read = read_columns(table(tmp_path, text, encoding="utf-8-sig"), AIR)
    # 0 °C is 273.15 K; the sum is rounded to the last place of a double.
    assert read.values["temperature"] == pytest.approx([293.15, 268.15], rel=1e-15)
    assert read.values["relative_humidity"] == pytest.approx([0.5, 0.85], rel=1e-15)
    assert read.lines == [4, 5]
    assert read.time is None


def test_a_column_with_another_head_is_named_with_its_unit(tmp_path: Path) -> None:
    read = read_columns(table(tmp_path, "T\n68\n"), AIR, columns={"temperature": ("T", "degF")})
    # 68 °F is 20 °C.
    assert read.values["temperature"] == pytest.approx([293.15], abs=1e-12)
    assert "relative_humidity" not in read.values


def test_stamps_are_read_and_must_be_hourly(tmp_path: Path) -> None:
    text = "time,temperature [K]\n2001-01-01 01:00,280\n2001-01-01T02:00:00,281\n"
    read = read_columns(table(tmp_path, text), AIR)
    assert read.time is not None
    assert read.time.astype(str).tolist()[1].startswith("2001-01-01T02:00:00")
    with pytest.raises(WeatherError, match=r"air\.csv, line 3: step of 3 h before 2001-01-01T04"):
        read_columns(table(tmp_path, text.replace("T02:00:00", "T04:00")), AIR)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("temperature [degC]\n20\nwarm\n", r"line 3, temperature: 'warm': must be"),
        ("temperature [degC]\n20\n\n1_0\n", r"line 4, temperature: '1_0'"),
        ("temperature [degC],x\n20,1\n", None),
        ("temperature [degC]\n20\n,\n", "2 cells under 1 heads"),
        ("temperature [degC],x\n20,5,1\n", "line 2: 3 cells under 2 heads .*decimal comma"),
        ('temperature [degC],x\n"20,5",1\n', "line 2, temperature: '20,5': .*decimal comma"),
        ("temperature [degC],x\n20,1\n,1\n", "line 3, temperature: is empty .*truncated"),
        ("temperature [degC],x\nnan,1\n", "line 2, temperature: 'nan': .*fill the gap"),
        ("temperature [degC]\n1e999\n", "line 2, temperature: '1e999'"),
        ("temperature [degC]\n200\n", "line 2, temperature: 200 degC: must be 223.15 to 343.15 K"),
        ("temperature [degX]\n20\n", "unit 'degX' of temperature .*K, degC, degF"),
        ("temperature\n20\n", r"column 'temperature' has no unit .*\[\.\.\.\]"),
        ("temperature [K],temperature [K]\n1,1\n", "stands there twice"),
        ("temperature [K]\n", "has no rows"),
        ("", "has no rows"),
        ("time,temperature [K]\n2001-02-30T01:00,280\n", "air.csv, time: no date"),
        ("time,temperature [K]\n9999-01-01T01:00,280\n", "year must be 1678 to 2261"),
        (
            "time,temperature [K]\n1/2/2001 01:00,280\n",
            "line 2, time: .*is no stamp",
        ),
    ],
)
def test_faults_are_told_with_their_line(tmp_path: Path, text: str, words: str | None) -> None:
    path = table(tmp_path, text)
    if words is None:
        read_columns(path, AIR)
        return
    with pytest.raises(WeatherError, match=words):
        read_columns(path, AIR)


def test_every_faulty_column_is_told(tmp_path: Path) -> None:
    text = "time,temperature [K],relative_humidity [%]\nnoon,2,140\n"
    with pytest.raises(WeatherError) as caught:
        read_columns(table(tmp_path, text), AIR)
    assert [line.split(":")[0] for line in str(caught.value).splitlines()] == [
        "air.csv, line 2, temperature",
        "air.csv, line 2, relative_humidity",
        "air.csv, line 2, time",
    ]


def test_weather_tables_may_say_all_in_their_heads(tmp_path: Path) -> None:
    text = (
        "time,temperature [degC],relative_humidity [%],wind_speed [km/h]\n"
        "2001-01-01T01:00,10,50,36\n2001-01-01T02:00,11,60,\n"
    )
    found = read_table(table(tmp_path, text), None, Place(50.0, 10.0, 100.0, 1.0))
    # 36 km/h is 10 m/s.
    assert found["wind_speed"].values[0] == pytest.approx(10.0)
    assert np.isnan(found["wind_speed"].values[1])


def test_a_room_is_read_from_python(tmp_path: Path) -> None:
    path = table(tmp_path, "T,e\n" + "20,11\n" * 8760)
    hours = np.datetime64("2001-01-01T00", "ns") + np.arange(25) * np.timedelta64(1, "h")
    outdoor = Outdoor(hours, np.full(25, 280.0), np.full(25, 700.0))
    columns = {"temperature": ("T", "degC"), "vapour_pressure": ("e", "hPa")}
    indoor = HourlyRoom(str(path), **columns).climate(outdoor)
    assert indoor.temperature == pytest.approx(293.15, rel=1e-15)
    assert indoor.vapour_pressure == pytest.approx(1100.0, rel=1e-15)
    with pytest.raises(InputError, match=r"air\.csv, line 2, vapour_pressure: 11000 Pa: .*2337"):
        HourlyRoom(str(path), **{**columns, "vapour_pressure": ("e", "kPa")})
