"""What the README shows from Python runs as written, and its commands are those there are."""

from __future__ import annotations

import importlib.util
import re
import shutil
import tomllib
from pathlib import Path

import pytest
import typer
from case_files import write_case

import hygro
from hygro.case import climate
from hygro.cli import app

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```python\n(.*?)```", README, re.DOTALL)
VERDICT = (ROOT / "docs" / "verdict.md").read_text(encoding="utf-8")
YEAR = "data/tmy_epw_files/USA_IL_Chicago.OHare.Intl.AP.725300_TMY3.epw"


def test_the_first_example_has_one_import_and_a_dozen_lines() -> None:
    lines = [line for line in BLOCKS[0].splitlines() if line.strip()]
    assert len(lines) <= 12
    assert [line for line in lines if "import" in line] == ["import hygro"]
    assert not any("import" in block for block in BLOCKS[1:])


def test_the_python_examples_run_as_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """In their order, with a typical year that comes with a package as `year.epw`."""
    spec = importlib.util.find_spec("diyepw")
    assert spec is not None
    assert spec.submodule_search_locations
    shutil.copy(Path(spec.submodule_search_locations[0]) / YEAR, tmp_path / "year.epw")
    monkeypatch.chdir(tmp_path)
    names: dict[str, object] = {}
    for block in BLOCKS:
        exec(block, names)  # the examples share their names
    saved = hygro.open_record(tmp_path / "my-wall.nc")
    assert saved.hygro.verdict() == names["record"].hygro.verdict()
    printed = capsys.readouterr().out
    assert "temperature of the cladding" in printed
    assert {line.split()[0] for line in printed.splitlines()[-2:]} == {
        "en15026_normal",
        "en15026_high",
    }


def test_the_examples_of_the_page_on_verdicts_run_as_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Service and closing in as `compare` makes them, and a criterion with what it may yield."""
    names: dict[str, object] = {
        "hygro": hygro,
        "wall": hygro.Wall("w", hygro.Layer("osb", "11 mm", name="sheathing")),
        "weather": climate(hygro.load_case(write_case(tmp_path))),
        "room": hygro.get_room("en15026_normal"),
    }
    for block in re.findall(r"```python\n(.*?)```", VERDICT, re.DOTALL):
        exec(block, names)
    both, compared, findings = capsys.readouterr().out.splitlines()
    closing, service = both.split(" | ")
    # the worst of both is the class of the wall
    order = ("within limits", "fails closing in", "fails")
    assert compared == max((closing, service), key=order.index)
    assert findings.count("Finding(") == 2
    assert "as built" in findings


def test_the_table_of_commands_has_every_command_and_no_other() -> None:
    listed = re.findall(r"^\| `hygro (\w+)", README, re.MULTILINE)
    assert sorted(set(listed)) == sorted(typer.main.get_command(app).commands)


def test_every_linked_file_is_there() -> None:
    for page in (ROOT / "README.md", ROOT / "DEVELOPERS.md", *ROOT.glob("docs/**/*.md")):
        for target in re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8")):
            assert (page.parent / target).exists(), f"{page.name}: {target}"


def test_the_guide_of_contributors_names_the_layers_of_the_contract_and_files_there_are() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    contract = project["tool"]["importlinter"]["contracts"][0]["layers"]
    layers = [name for row in contract for name in row.split(" | ")]
    folders = re.findall(r"^\| `hygro/(\w+)/`", guide, re.MULTILINE)
    assert folders == layers[: len(folders)]
    order = next(line for line in guide.splitlines() if line.startswith("    describe ->"))
    assert re.findall(r"\w+", order) == layers[len(folders) :]
    for path in re.findall(r"`(tests/[\w/]+(?:\.py|/))`", guide):
        assert (ROOT / path).exists(), path
