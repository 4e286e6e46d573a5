"""Bad input at the command line: a clear line for each fault, exit code 2, nothing left behind."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from case_files import COLUMNS, SOUND, write_case
from typer.testing import CliRunner, Result

from hygro.cli import app
from hygro.material.library import get
from hygro.record import save, simulate_loads
from hygro.wall.elements import Layer
from hygro.wall.loads import constant_loads
from hygro.wall.wall import Wall

Lines = list[list[str]]
LAYERS = SOUND[SOUND.index("layers = [") : SOUND.index("]\n\n[[wall]]") + 2]
SLAB = (
    '[materials.slab]\nlike = "osb"\nstorage = { form = "table", '
    "rh = [[0.3, 30], [0.5, 20], [0.8, 60]], w_free = 100 }\n[settings]"
)


def hygro(*arguments: str) -> Result:
    return CliRunner().invoke(app, list(arguments))


def cell(row: int, column: str, text: str) -> Callable[[Lines], Lines]:
    def put(lines: Lines) -> Lines:
        lines[row][1 + COLUMNS.index(column)] = text
        return lines

    return put


def last_line(end: int) -> Callable[[Lines], Lines]:
    return lambda lines: [*lines[:-1], lines[-1][:end]]


def refused(result: Result, folder: Path, count: int = 1) -> str:
    """The error lines, once it is clear that nothing else was said or written."""
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert isinstance(result.exception, SystemExit)
    lines = result.stderr.replace("\n  ", " ").splitlines()  # long ones are wrapped
    assert len(lines) == count, result.stderr
    assert all(line.startswith("error: ") for line in lines)
    assert "Traceback" not in result.stderr
    assert {path.name for path in folder.iterdir()} <= {"case.toml", "town.csv"}
    return " ".join(result.stderr.split())


CASES = [
    (('name = "small"', 'name = "small"\nnaem = 1'), ["case.naem", "unknown key", "'name'"]),
    (('rh = "45 %"', "rh = 45"), ["room.home.rh", "45", "0 to 1", "in percent?"]),
    (('thickness = "140 mm"', "thickness = 140"), ["thickness", "140 m", "in mm?"]),
    (('material = "osb"', 'material = "obs"'), ["'obs'", "did you mean 'osb'"]),
    (("[settings]", SLAB), ["materials.slab", "rh = 0.5", "must rise"]),
    ((LAYERS, ""), ['wall."plain".layers', "no layers", "at least one layer"]),
    (('azimuth = "N"', "azimuth = 400"), ["azimuth", "400", "0 to 360"]),
    (('file = "town.csv"', 'file = "city.csv"'), ["climate.file", "city.csv", "no such file"]),
    (('precipitation = ["rain", "mm"]\n', ""), ["no precipitation", "none accepted"]),
]


@pytest.mark.parametrize(("change", "words"), CASES)
def test_a_bad_case_gives_one_line_and_leaves_nothing(
    tmp_path: Path, change: tuple[str, str], words: list[str]
) -> None:
    path, out = write_case(tmp_path, change), tmp_path / "out"
    for arguments in (
        ("compare", str(path), "--out", str(out)),
        ("run", str(path), "--wall", "plain", "--out", str(out / "x.nc")),
    ):
        told = refused(hygro(*arguments), tmp_path)
        for word in (str(path), *words):
            assert word in told, (word, told)


WEATHER: list[tuple[Callable[[Lines], Lines], list[str]]] = [
    (lambda lines: lines[:8000], ["8000 hours", "8760", "truncated?"]),
    (last_line(1), ["temperature, relative_humidity", "1 of 8760", "2002-01-01T00:00"]),
    (cell(500, "T", "cold"), ["line 502, T", "'cold'", "number"]),
    (cell(4000, "T", ""), ["temperature", "1 of 8760", "2001-06-16T17:00", "[[climate.fill]]"]),
    (cell(4000, "sun", "nan"), ["global_horizontal", "1 of 8760"]),
    (cell(4000, "rain", ""), ["precipitation", "1 of 8760", "none accepted"]),
    (lambda lines: [*lines[:100], lines[99], *lines[100:]], ["2001-01-05T04:00", "twice"]),
    (lambda lines: [[*line[:-1], "0"] for line in lines], ["precipitation", "zero throughout"]),
]


@pytest.mark.parametrize(("fault", "words"), WEATHER)
def test_bad_weather_is_told_before_anything_is_run_or_written(
    tmp_path: Path, fault: Callable[[Lines], Lines], words: list[str]
) -> None:
    path, out = write_case(tmp_path, weather=fault), tmp_path / "out"
    result = hygro("run", str(path), "--wall", "plain", "--out", str(out / "x.nc"))
    # a line cut after its stamp lacks rain too, which is a fault of its own
    told = refused(result, tmp_path, count=2 if "relative_humidity" in words[0] else 1)
    for word in (f"{path}: climate: ", *words):
        assert word in told, (word, told)


def test_a_cut_stamp_is_told_in_one_line(tmp_path: Path) -> None:
    path = write_case(tmp_path, weather=lambda lines: [*lines[:-1], [lines[-1][0][:7]]])
    assert "'2002-01'" in refused(hygro("run", str(path), "--wall", "plain"), tmp_path)


def test_8784_rows_need_a_word_on_the_leap_day(tmp_path: Path) -> None:
    path = write_case(tmp_path, hours=8784)
    told = refused(hygro("run", str(path), "--wall", "plain"), tmp_path)
    assert 'leap_day = "drop"' in told


def test_a_leap_day_is_dropped_from_a_table_where_the_case_says_so(tmp_path: Path) -> None:
    from hygro.case import load, prepare

    def leap(lines: Lines) -> Lines:
        start = np.datetime64("2004-01-01T01:00")
        return [[str(start + k * 60), *line[1:]] for k, line in enumerate(lines)]

    settings = ("[settings]", "[settings]\nyears = 2")
    drop = ('file = "town.csv"', 'file = "town.csv"\nleap_day = "drop"')
    _, found = prepare(load(write_case(tmp_path, settings, drop, weather=leap, hours=8784)))
    assert found.sizes["time"] == 2 * 8760
    days = found["calendar_time"].values[:8760].astype("datetime64[D]")
    assert (days == np.datetime64("2004-02-29")).sum() == 1  # the stamp that ends 28 February
    # the hour after 28 February is the first of March, and nothing else is lost
    march = int(np.argmax(found["calendar_time"].values == np.datetime64("2004-03-01T01:00")))
    assert march == 59 * 24


@pytest.mark.parametrize("command", ["compare", "run"])
def test_a_folder_that_cannot_be_made_is_told_before_the_run(tmp_path: Path, command: str) -> None:
    path = write_case(tmp_path)
    out = path / "deeper" / "x.nc"
    more = ("--wall", "plain") if command == "run" else ()
    assert "is a file" in refused(hygro(command, str(path), "--out", str(out), *more), tmp_path)


@pytest.fixture(scope="module")
def result_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    wall = Wall("board", (Layer(get("osb"), 0.011, name="board"),))
    loads = constant_loads(48, (270.0, 300.0), (294.0, 900.0))
    return save(simulate_loads(wall, loads), tmp_path_factory.mktemp("good") / "good.nc")


def test_the_file_that_is_damaged_below_is_sound(result_file: Path) -> None:
    assert hygro("show", str(result_file)).exit_code == 0


@pytest.mark.parametrize("share", [0.02, 0.5, 0.98])
def test_a_truncated_result_is_refused(tmp_path: Path, result_file: Path, share: float) -> None:
    whole = result_file.read_bytes()
    folder = tmp_path / "empty"
    folder.mkdir()
    file = tmp_path / "cut.nc"
    file.write_bytes(whole[: int(share * len(whole))])
    told = refused(hygro("show", str(file)), folder)
    assert f"{file}: not a result of this program, or damaged" in told


def test_what_is_not_one_of_our_results_is_refused(tmp_path: Path) -> None:
    folder = tmp_path / "empty"
    folder.mkdir()
    text, other, missing = (tmp_path / name for name in ("text.nc", "other.nc", "missing.nc"))
    text.write_text("time,temperature\n", encoding="utf-8")
    xr.Dataset({"temperature": ("time", np.arange(3.0))}).to_netcdf(other)
    for file, words in (
        (text, "not a netCDF4 file"),
        (other, "not a result of this program"),
        (missing, "no such file"),
        (folder, "is a folder"),
    ):
        told = refused(hygro("show", str(file)), folder)
        assert f"{file}: {words}" in told
