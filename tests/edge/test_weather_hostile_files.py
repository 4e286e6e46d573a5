"""Files that are damaged, saved by another program, or hostile: read right, or one line each."""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from pathlib import Path

import netCDF4
import numpy as np
import pytest
import xarray as xr
from test_weather_bad_files import epw_lines, write
from typer.testing import CliRunner

import weather
from weather import Place, WeatherError
from weather.files import GREATEST_SIZE

HOURS = 8760


def refused(path: Path | str, text: str) -> None:
    with pytest.raises(WeatherError, match=text) as caught:
        weather.read(path)
    assert len(str(caught.value).splitlines()) == 1


def pvlib_file(name: str) -> list[str]:
    spec = importlib.util.find_spec("pvlib")
    assert spec is not None
    assert spec.origin is not None
    return (Path(spec.origin).parent / "data" / name).read_text(encoding="utf-8").splitlines()


@pytest.mark.parametrize(
    "bytes_of",
    [
        lambda text: text.encode("utf-8-sig"),
        lambda text: text.replace("\n", "\r").encode(),
        lambda text: text.replace("\n", "\r\n").encode(),
        lambda text: text.replace("Nowhere", "Nöwhere").encode("latin-1"),
    ],
    ids=["byte-order mark", "CR", "CR LF", "latin-1"],
)
@pytest.mark.parametrize("kind", ["epw", "tmy3"])
def test_other_line_ends_marks_and_alphabets_change_nothing(
    tmp_path: Path, bytes_of: Callable[[str], bytes], kind: str
) -> None:
    lines = epw_lines() if kind == "epw" else pvlib_file("723170TYA.CSV")
    name = "town.epw" if kind == "epw" else "town.csv"
    plain = weather.read(write(tmp_path, lines, "plain-" + name))
    (tmp_path / name).write_bytes(bytes_of("\n".join(lines) + "\n"))
    assert weather.read(tmp_path / name).equals(plain)


def test_a_comma_in_quotes_belongs_to_the_name(tmp_path: Path) -> None:
    lines = epw_lines()
    lines[0] = lines[0].replace("Nowhere", '"No, where"')
    assert weather.read(write(tmp_path, lines)).attrs["place"] == "No, where, XX, YYY"


@pytest.mark.parametrize(
    ("row", "old", "new", "text"),
    [
        (50, "?9?9", '"?9?9', r"bad\.epw, line 51: cannot be split .*quote not closed"),
        (0, "Nowhere", '"Nowhere', r"bad\.epw, line 1: cannot be split .*quote not closed"),
        (50, ",0.2,1.0", ",0.2,one", "line 51: hours of precipitation = 'one'"),
        (50, "2003,1,2", "1e300,1,2", "line 51: year = '1e300'"),
        (0, ",10.0,1.0,", ",10.0,inf,", "line 1: zone = 'inf'"),
        (0, "50.0", "nan", "line 1: latitude = 'nan'"),
        (0, ",1.0,100.0", ",1.0,20000", r"altitude = 20000\.0: must be -500 to 6000 m .*feet"),
    ],
)
def test_faulty_epw_is_told_with_its_line(
    tmp_path: Path, row: int, old: str, new: str, text: str
) -> None:
    lines = epw_lines()
    assert old in lines[row]
    lines[row] = lines[row].replace(old, new)
    refused(write(tmp_path, lines), text)


def test_a_high_town_is_read(tmp_path: Path) -> None:
    lines = epw_lines()
    # Standard atmosphere at 5500 m: 101325 (1 − 2.25577e-5·5500)^5.2559 = 50 500 Pa.
    lines = [line.replace(",100100,", ",50500,") for line in lines]
    lines[0] = lines[0].replace(",1.0,100.0", ",1.0,5500")
    assert weather.read(write(tmp_path, lines)).attrs["altitude"] == 5500.0


@pytest.mark.parametrize(
    ("bytes_of", "text"),
    [
        (lambda raw: raw.decode().encode("utf-16"), "line 1: a NUL character.*UTF-16"),
        (lambda raw: raw[:5000] + b"\0" + raw[5000:], r"line \d+: a NUL character.*damaged"),
    ],
)
def test_bytes_that_are_no_text(
    tmp_path: Path, bytes_of: Callable[[bytes], bytes], text: str
) -> None:
    path = write(tmp_path, epw_lines())
    path.write_bytes(bytes_of(path.read_bytes()))
    refused(path, text)


@pytest.mark.parametrize(
    ("edit", "text"),
    [
        (lambda lines: lines[:2], "bad.csv: has no rows.*truncated"),
        (lambda lines: [lines[0].replace("36.100", "north"), *lines[1:]], "line 1: .*'north'"),
        (lambda lines: [lines[0].replace("-5.0", "inf"), *lines[1:]], "utc_offset_hours = inf"),
        (lambda lines: [*lines[:9], '"' + lines[9], *lines[10:]], "line 10: .*quote not closed"),
        (
            lambda lines: [*lines[:9], lines[9].replace("/", "-"), *lines[10:]],
            "line 10, date: .*must be like 01/31/1990",
        ),
    ],
)
def test_faulty_tmy3_is_told_with_its_line(
    tmp_path: Path, edit: Callable[[list[str]], list[str]], text: str
) -> None:
    refused(write(tmp_path, edit(pvlib_file("723170TYA.CSV")), "bad.csv"), text)


def test_infinite_tmy2_value_is_told_with_its_line(tmp_path: Path) -> None:
    lines = pvlib_file("12839.tm2")
    lines[50] = lines[50][:67] + " inf" + lines[50][71:]
    refused(write(tmp_path, lines, "bad.tm2"), "line 51: temperature = 'inf'")


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("no\0where.epw", r"'no\\x00where\.epw': no file name: it holds a NUL"),
        ("x" * 5000 + ".epw", "cannot be opened"),
        (".", "is a folder"),
    ],
)
def test_names_that_are_no_file(name: str, text: str) -> None:
    refused(name, text)


def test_a_file_without_the_right_to_read_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write(tmp_path, epw_lines())

    def denied(self: Path) -> bytes:
        raise PermissionError(13, "Permission denied", str(self))

    monkeypatch.setattr(Path, "read_bytes", denied)
    refused(path, r"bad\.epw: cannot be read \(Permission denied\)")


@pytest.mark.parametrize("name", ["big.epw", "big.nc", "big.csv"])
def test_a_file_of_absurd_size_is_refused_before_it_is_read(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    with path.open("wb") as file:
        file.truncate(2 * GREATEST_SIZE)  # sparse: takes no room on the disk
    refused(path, f"{name}: 1024 MiB: must be at most 512 MiB")


def test_a_small_netcdf_of_absurd_size_unpacked_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "bomb.nc"
    with netCDF4.Dataset(path, "w") as file:
        file.set_fill_off()
        file.createDimension("time", 2_000_000_000)
        file.createVariable("time", "f8", ("time",), chunksizes=(1_000_000,), zlib=True)
    assert path.stat().st_size < 1e5
    refused(path, r"bomb\.nc: 15259 MiB: must be at most 512 MiB")


@pytest.fixture(scope="module")
def year(tmp_path_factory: pytest.TempPathFactory) -> xr.Dataset:
    return weather.read(write(tmp_path_factory.mktemp("year"), epw_lines()))


def stamps(kind: str) -> np.ndarray:
    return np.arange(HOURS).astype(kind)


@pytest.mark.parametrize(
    ("change", "text"),
    [
        (lambda d: d.assign(temperature=("time", np.full(HOURS, "warm"))), "temperature: .* text"),
        (lambda d: d.assign(temperature=("time", stamps("datetime64[s]"))), "temperature: .*dates"),
        (lambda d: d.assign(temperature=("time", stamps("timedelta64[s]"))), "holds durations"),
        (lambda d: d.assign(wind_speed=("time", np.full(HOURS, np.inf))), "wind_speed: .*finite"),
        (lambda d: d.assign(wind_speed=("x", np.full(HOURS, 3.0))), "wind_speed: must have one"),
        (lambda d: d.assign(wind_speed=(("time", "x"), np.ones((HOURS, 2)))), "2 dimensions"),
        (lambda d: d.assign_coords(time=("time", np.full(HOURS, "noon"))), "time: no dates"),
        (lambda d: d.drop_vars("time"), "time: no such variable"),
        (lambda d: d.assign_attrs(latitude="north"), "latitude.* no number .*'north'"),
        (lambda d: d.assign_attrs(utc_offset_hours=np.inf), "utc_offset_hours = inf: must be"),
        (lambda d: d.assign_attrs(sun_offset_hours="late"), "sun_offset_hours = late"),
        (lambda d: d.assign_attrs(history="{"), "'history' is no JSON list"),
        (lambda d: d.assign_attrs(kind="odd"), "kind = 'odd' is not known"),
    ],
)
def test_a_saved_dataset_that_was_changed_is_refused(
    tmp_path: Path, year: xr.Dataset, change: Callable[[xr.Dataset], xr.Dataset], text: str
) -> None:
    change(year).to_netcdf(tmp_path / "changed.nc")
    refused(tmp_path / "changed.nc", r"^changed\.nc.*" + text)


def test_dates_that_no_year_has_are_told_without_a_word_of_the_library(
    tmp_path: Path, year: xr.Dataset, recwarn: pytest.WarningsRecorder
) -> None:
    year.to_netcdf(tmp_path / "changed.nc")
    with netCDF4.Dataset(tmp_path / "changed.nc", "a") as file:
        file["time"].units = "hours since 0001-01-01"
    refused(tmp_path / "changed.nc", r"^changed\.nc, time: no dates")
    assert [w for w in recwarn if issubclass(w.category, xr.SerializationWarning)] == []


def test_a_variable_without_a_value_is_shown_as_missing(tmp_path: Path, year: xr.Dataset) -> None:
    from hygro.cli import app

    empty = year.assign(cloud_cover=year["wind_speed"] * np.nan)
    empty.to_netcdf(tmp_path / "calm.nc")
    answer = CliRunner().invoke(app, ["weather", str(tmp_path / "calm.nc")])
    assert answer.exit_code == 0, answer.output
    (line,) = [x for x in answer.stdout.splitlines() if x.lstrip().startswith("cloud_cover")]
    assert line.split()[-4:] == ["–", "–", "–", "100.0"]


def test_latitude_as_text_is_told() -> None:
    from weather.canonical import Origin, build

    time = np.datetime64("2003-01-01T01") + np.arange(24)
    columns = {"temperature": np.full(24, 280.0), "relative_humidity": np.full(24, 0.5)}
    place = Place("50", 10.0, 0.0, 1.0)
    with pytest.raises(WeatherError, match="latitude = '50': must be a number"):
        build(columns, time, place, Origin("by hand", "", "measured"))
