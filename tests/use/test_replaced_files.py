"""What may take the place of a file: one of its kind that this program wrote, and nothing else."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
import xarray as xr
from case_files import write_case
from feature_walls import features
from study_cases import write_study
from typer.testing import CliRunner, Result

from hygro.atomic import write_text
from hygro.case import load as load_case
from hygro.cli import app
from hygro.decide.asked import asked_study
from hygro.decide.export import write_dataset
from hygro.decide.files import kind_of, write_plain, write_table, write_three
from hygro.errors import InputError, RecordError
from hygro.kinds import marked
from hygro.page.report import page_of
from hygro.record import load, save, simulate_loads, simulate_to_file
from hygro.show.drawn import write
from hygro.show.style import Sheet

MINE = "what I wrote"


def hygro(*arguments: str) -> Result:
    return CliRunner().invoke(app, list(arguments))


@pytest.mark.parametrize(
    ("arguments", "file"),
    [
        (("run", "CASE", "--wall", "plain", "--out", "x.nc"), "x.nc"),
        (("run", "CASE", "--wall", "plain", "--out", "x.nc"), "x-service.nc"),
        (("compare", "CASE", "--out", "."), "plain.nc"),
        (("compare", "CASE", "--out", "."), "leaky-rain-service.nc"),
        (("compare", "CASE", "--out", "."), "comparison.json"),
        (("compare", "CASE", "--out", "."), "comparison.csv"),
        (("compare", "CASE", "--out", "."), "comparison.png"),
        (("compare", "CASE", "--out", "."), "reserve.png"),
        (("compare", "CASE", "--out", "."), "section-plain.png"),
        (("report", "CASE"), "report.html"),
        (("report", "CASE", "--results", "."), "plain.nc"),
        (("map", "CASE", "one", "--out", "."), "one.png"),
        (("map", "CASE", "one", "--out", "."), "one.csv"),
        (("map", "CASE", "one", "--out", "."), "one.json"),
        (("sample", "CASE", "--wall", "plain", "--out", "."), "sample-plain.json"),
        (("least", "CASE", "one", "--out", "."), "one.md"),
        (("limit", "CASE", "room.home.rh", "--low", "0.3", "--high", "0.5", "--wall", "plain",
          "--out", "."), "limit-rh-home-room-plain.csv"),
        (("plot", "materials", "osb"), "materials.png"),
        (("plot", "materials", "osb", "--out", "x.svg"), "x.svg"),
        (("validate", "decay", "--out", "."), "validation.md"),
        (("validate", "decay", "--out", "."), "validation.json"),
        (("schema", "--out", "x.json"), "x.json"),
    ],
)  # fmt: skip
def test_no_command_replaces_what_is_not_its_own(
    arguments: tuple[str, ...], file: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    study = '[study.one]\nwall = "leaky"\nvary.winter_rh = { low = "20 %", high = "60 %" }\n'
    case = write_study(tmp_path, study)
    Path(file).write_text(MINE)
    result = hygro(*(str(case) if word == "CASE" else word for word in arguments))
    assert result.exit_code == 2, result.output
    told = result.stderr.replace("\n  ", " ")
    assert f"{file}: is not " in told
    assert "so it is not replaced; name another file, or remove it" in told
    assert Path(file).read_text() == MINE
    assert not list(tmp_path.rglob("*.study"))  # told before the first run


def test_the_same_command_writes_its_files_again(tmp_path: Path) -> None:
    case, out = str(write_case(tmp_path)), tmp_path / "out"
    command = ("compare", case, "--wall", "plain", "--no-reserve", "--out", str(out))
    assert hygro(*command).exit_code == 0
    files = {path: path.stat().st_ino for path in out.iterdir()}
    assert hygro(*command).exit_code == 0
    assert {path for path in out.iterdir() if files[path] == path.stat().st_ino} == set()
    for _ in range(2):
        done = hygro("report", str(out), "--out", str(tmp_path / "x.html"))
        assert done.exit_code == 0, done.output
    other = write_case(tmp_path, ('name = "small"', 'name = "other"'))
    done = hygro("compare", str(other), "--wall", "plain", "--no-reserve", "--out", str(out))
    assert done.exit_code == 2
    told = "comparison.json: is a comparison of case 'small', not a comparison of case 'other', so"
    assert told in done.stderr.replace("\n  ", " ")
    # of another name in the folder: the record there is of the first case all the same
    (out / "comparison.json").unlink()
    (out / "comparison.csv").unlink()
    done = hygro("run", str(other), "--wall", "plain", "--out", str(out / "plain.nc"))
    assert "for case 'small', not one for case 'other', so" in done.stderr.replace("\n  ", " ")
    assert load(out / "plain.nc").attrs["case"] == "small"


@pytest.fixture(scope="module")
def record() -> xr.Dataset:
    return simulate_loads(*features()["ventilated gap"]).load()


def test_a_record_replaces_one_of_its_case_alone(record: xr.Dataset, tmp_path: Path) -> None:
    of_a_case = record.assign_attrs(case="house")
    file = tmp_path / "x.nc"
    for _ in range(2):
        save(record, file)
    with pytest.raises(RecordError, match=r"from no case file, not one for case 'house', so"):
        save(of_a_case, file)
    streamed = features()["ventilated gap"]
    assert simulate_to_file(*streamed, file=file) == file
    file.unlink()
    save(of_a_case, file)
    for call in (lambda: save(record, file), lambda: simulate_to_file(*streamed, file=file)):
        with pytest.raises(RecordError, match="for case 'house', not one from no case file, so"):
            call()
    assert load(file).attrs["case"] == "house"
    assert list(tmp_path.iterdir()) == [file]


def test_a_case_is_not_replaced_by_its_record(record: xr.Dataset, tmp_path: Path) -> None:
    file = write_case(tmp_path)
    text = file.read_bytes()
    words = "is not a result of this program, so it is not replaced; name another file"
    with pytest.raises(RecordError, match=words):
        save(record, file)
    with pytest.raises(RecordError, match="is not a result of this program for case 'a', so"):
        save(record.assign_attrs(case="a"), file)
    assert file.read_bytes() == text


def test_a_netcdf_of_another_program_is_not_replaced(record: xr.Dataset, tmp_path: Path) -> None:
    file = tmp_path / "x.nc"
    xr.Dataset({"mine": 1.0}).to_netcdf(file)
    theirs = file.read_bytes()
    with pytest.raises(RecordError, match="so it is not replaced"):
        save(record, file)
    assert file.read_bytes() == theirs


@pytest.mark.parametrize("suffix", [".png", ".svg", ".pdf"])
def test_a_figure_replaces_a_figure_of_this_program(suffix: str, tmp_path: Path) -> None:
    file = tmp_path / f"x{suffix}"
    for _ in range(2):
        write(Sheet(1.0, 1.0), file)
    Sheet(1.0, 1.0).savefig(file)  # as a script of somebody may have drawn it
    with pytest.raises(InputError, match="is not a figure of this program"):
        write(Sheet(1.0, 1.0), file)


def test_what_a_study_found_replaces_that_of_its_wall_alone(tmp_path: Path) -> None:
    found = {"case": 'the "house"', "wall": "ü", "points": [{"case": "x"}]}
    for _ in range(2):
        write_three(tmp_path, "x", Sheet(1.0, 1.0), [{"a": 1}], found)
    for other in ({"case": "x"}, {"wall": "x"}):
        told = "x.json: is what was found of wall 'ü' of case 'the \"house\"', not what was found"
        with pytest.raises(InputError, match=re.escape(told)):
            write_three(tmp_path, "x", Sheet(1.0, 1.0), [{"a": 2}], found | other)


def test_a_table_says_itself_what_it_is_of(tmp_path: Path) -> None:
    """Whatever lies beside it: `the "house"` and `a, b` are quoted in CSV, with `"` doubled."""
    file, found = tmp_path / "x.csv", {"case": 'the "house"', "wall": "a, b"}
    for number in (1, 2):
        write_table(file, [{"a": number}], found)
        assert file.read_text() == f'case,wall,a\n"the ""house""","a, b",{number}\n'
    with pytest.raises(InputError, match=r"x\.csv: is what was found of wall 'a, b' of case"):
        write_table(file, [{"a": 3}], found | {"wall": "b"})
    for other in ("a\n1\n", "wall,case\n", 'case;wall;a\n"', '{\n  "case": "x"'):
        file.write_text(other)
        with pytest.raises(
            InputError, match=r"x\.csv: is not what was found of wall 'a, b' of case"
        ):
            write_table(file, [{"a": 3}], found)
        assert file.read_text() == other
    file.write_text("case,wall,a\n")  # heads alone: nothing is lost
    write_table(file, [{"a": 3}], found)


def test_a_comparison_is_not_what_was_found_of_its_first_wall(tmp_path: Path) -> None:
    for text in ('[\n  {\n    "case": "x",\n    "wall": "w"', "wall,scenario,case\nw,tight,x\n"):
        file = tmp_path / ("x.json" if text.startswith("[") else "x.csv")
        file.write_text(text)
        assert not kind_of("x", "w").holds(file)


def test_a_page_of_least_values_is_known_by_the_json_beside_it(tmp_path: Path) -> None:
    page, kind = tmp_path / "x.md", kind_of("x", "w")
    page.write_text("what I wrote")
    assert not kind.holds(page)
    write_plain(tmp_path / "x.json", {"case": "x", "wall": "w"})
    assert kind.holds(page)


def test_walls_of_a_case_stand_side_by_side(tmp_path: Path) -> None:
    """Names that are alike but for signs, or longer than a name of a file may be, too."""
    long = "a wall whose name is longer than any name of a file should ever be, "
    names = ["Wall A", "wall a!", f"{long}one", f"{long}two"]
    case = load_case(write_case(tmp_path))
    item = case.walls[0]
    walls = (replace(item, wall=replace(item.wall, name=name)) for name in names)
    case = replace(case, walls=tuple(walls))
    ranges = {"x": "layers.sheathing.thickness, 0.01, 0.02", "y": "winter_rh, 0.2, 0.6"}
    maps = [asked_study(case, None, ranges, wall=name, store=None).name for name in names]
    assert maps[:2] == [f"layers-sheathing-thickness-winter-rh-wall-a{end}" for end in ("", "-2")]
    assert len(set(maps)) == len(names)


def test_results_of_a_study_replace_such(tmp_path: Path) -> None:
    found = xr.Dataset({"a": 1.0}, attrs={"plan_sha256": "0" * 64})
    for _ in range(2):
        write_dataset(found, tmp_path / "x.nc")
    xr.Dataset({"mine": 1.0}).to_netcdf(tmp_path / "x.nc")
    with pytest.raises(InputError, match="is not results of a study"):
        write_dataset(found, tmp_path / "x.nc")


def test_an_empty_file_is_nothing_that_could_be_lost(tmp_path: Path) -> None:
    (tmp_path / "x").touch()
    write_text(tmp_path / "x", "a mark", marked("ours", "mark"))
    write_text(tmp_path / "x", "a mark again", marked("ours", "mark"))
    assert (tmp_path / "x").read_text() == "a mark again"


def test_a_page_says_its_cases_as_html(tmp_path: Path) -> None:
    kind = page_of('a <"b">')
    write_text(tmp_path / "x", '<meta name="generator" content="hygro: a &lt;&quot;b&quot;&gt;">')
    assert kind.holds(tmp_path / "x")
    assert not page_of("a").holds(tmp_path / "x")
