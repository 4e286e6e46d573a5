"""The commands that run nothing, as a user types them: help, weather, materials, schema, errors."""

from __future__ import annotations

import json
import os
import re
from itertools import pairwise
from pathlib import Path

import pytest
from case_files import write_case
from loaded import loaded
from typer.testing import CliRunner, Result

from hygro.cli import app

NORMALS = Path(__file__).parents[2] / "cases" / "decisions" / "normals-halverske.toml"


def hygro(*arguments: str) -> Result:
    return CliRunner().invoke(app, list(arguments))


def test_help_answers_without_loading_the_engine() -> None:
    heavy = ("numba", "xarray", "pandas", "scipy", "matplotlib", "pydantic", "pvlib")
    assert loaded(["--help"], heavy, word="Usage") == "[]"


def test_weather_of_a_case_is_shown_with_zone_rain_and_its_caution() -> None:
    result = hygro("weather", "demonstration")
    assert result.exit_code == 0, result.output
    for words in ("thermal zone 7", "heating degree days", "Driving rain", "never measured", "NE"):
        assert words in result.output


def test_weather_as_json_is_plain_si() -> None:
    known = json.loads(hygro("weather", "demonstration", "--json").stdout)
    assert known["kind"] == "generated"
    assert known["variables"]["temperature"]["unit"] == "K"
    assert 220 < known["summary"]["coldest"] < 260
    assert len(known["summary"]["driving_rain"]) == 8
    assert len(known["sha256"]) == 64


def test_weather_in_the_other_unit_family_says_so() -> None:
    result = hygro("weather", "demonstration", "--units", "ip")
    assert "°F·d" in result.output
    assert "°C" not in result.output


def test_materials_are_listed_with_units_and_shown_with_sources() -> None:
    listed = hygro("materials")
    assert "osb" in listed.output
    assert "kg/m³" in listed.output
    shown = hygro("materials", "osb", "--units", "ip")
    assert "lb/ft³" in shown.output
    assert "Source" in shown.output
    rows = json.loads(hygro("materials", "--json", "--group", "sheathing").stdout)
    assert {row["group"] for row in rows} == {"sheathing"}


def test_schema_is_printed_as_json() -> None:
    schema = json.loads(hygro("schema").stdout)
    assert {"case", "climate", "room", "wall"} <= set(schema["properties"])


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("materials", "osbb"), "did you mean 'osb'?"),
        (("materials", "--group", "sheating"), "did you mean 'sheathing'"),
        (("weather", "nowhere.epw"), "no such file"),
        (("weather", str(NORMALS)), "monthly normals of a place, neither a case"),
        (("run", str(NORMALS)), "generate = { normals = "),
        (("compare", "demonstratio"), "did you mean 'demonstration'?"),
        (("run", "demonstration"), 'walls: say which (--wall, wall =), one of "cavity only", '),
        (("run", "demonstration", "--wall", "all outbord"), "did you mean 'all outboard'"),
        (
            ("run", "demonstration", "--wall", "all outboard", "--out", "result.txt"),
            "ends in .nc",
        ),
    ],
)
def test_what_the_user_can_mend_ends_with_code_2_and_no_traceback(
    arguments: tuple[str, ...], words: str
) -> None:
    result = hygro(*arguments)
    assert result.exit_code == 2
    assert all(line.startswith("error: ") for line in result.stderr.splitlines())
    assert words in result.stderr
    assert "Traceback" not in result.output


def test_every_fault_of_a_case_is_one_line_of_the_answer(tmp_path: Path) -> None:
    path = write_case(
        tmp_path, ('rh = "45 %"', "rh = 45"), ('azimuth = "N"', "azimuth = 400"), hours=24
    )
    result = hygro("compare", str(path))
    assert result.exit_code == 2
    lines = result.stderr.splitlines()
    # azimuth is told once, for the wall that others build on
    assert len(lines) == 2
    assert all(str(path) in line for line in lines)


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write everywhere")
def test_a_folder_without_permission_is_refused_before_the_run(tmp_path: Path) -> None:
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o500)
    result = hygro("compare", "demonstration", "--out", str(closed))
    assert result.exit_code == 2
    assert "cannot be written" in result.stderr


def test_an_output_folder_that_is_a_file_is_refused_before_the_run(tmp_path: Path) -> None:
    file = tmp_path / "taken"
    file.write_text("x")
    result = hygro("compare", "demonstration", "--out", str(file / "deeper"))
    assert result.exit_code == 2
    assert "cannot be written" in result.stderr
    assert file.read_text() == "x"


@pytest.mark.parametrize("key", ["osb", "latex-paint"])
def test_a_material_names_each_source_once_and_each_value_has_one(key: str) -> None:
    details = json.loads(hygro("materials", key, "--json").stdout)
    text = " ".join(hygro("materials", key).stdout.split())
    sources = list(dict.fromkeys(row["source"] for row in details))
    for k, source in enumerate(sources, 1):
        assert text.count(f"[{k}] {source}") == 1
    marks = [int(m) for m in re.findall(r"\[(\d+)\]", text)]
    assert marks[: len(details)] == [sources.index(row["source"]) + 1 for row in details]
    assert marks[len(details) :] == list(range(1, len(sources) + 1))


def commands() -> list[list[str]]:
    """Every command, those of studies too, as typed."""
    from typer.main import get_command

    found = []
    for name, command in get_command(app).commands.items():  # type: ignore[attr-defined]
        inner = getattr(command, "commands", None)
        found += [[name, *more] for more in [[], *([key] for key in inner or ())]]
    return found


@pytest.mark.parametrize("command", commands(), ids=" ".join)
def test_help_fills_its_lines_and_shows_its_brackets(command: list[str]) -> None:
    """At 80 columns a line of a paragraph ends only where the next word would not fit."""
    told = CliRunner().invoke(app, [*command, "--help"], env={"COLUMNS": "80"}).output
    assert max(map(len, told.splitlines())) <= 80
    head = told.split("\u256d")[0].split("Usage:")[1].splitlines()[1:]
    for line, after in pairwise(head):
        if line.strip() and after.strip():
            assert len(line.rstrip()) + 1 + len(after.split()[0]) > 78, line
    if command in (["map"], ["sample"], ["study", "run"]):
        assert "[study.NAME]" in " ".join(told.replace("\u2502", " ").split())


@pytest.mark.skipif(not Path("/proc/self").is_dir(), reason="needs a folder of the system")
def test_a_folder_that_takes_no_files_is_named_with_its_likely_cause() -> None:
    result = hygro("compare", "demonstration", "--out", "/proc/x")
    assert result.exit_code == 2
    assert result.stderr.startswith("error: /proc/x: cannot be written: /proc ")
    assert "belong to the system?" in result.stderr
    assert "a folder of your own" in result.stderr
