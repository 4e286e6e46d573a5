"""What README and the page on Python show runs as written; the commands are those there are."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
import typer
from blocks import PAGES, ROOT, execute, of

import hygro
from hygro.cli import app

BLOCKS = of("docs/python.md", "python")


def test_the_first_example_has_one_import_and_a_dozen_lines() -> None:
    lines = [line for line in BLOCKS[0].splitlines() if line.strip()]
    assert len(lines) <= 12
    assert [line for line in lines if "import" in line] == ["import hygro"]
    assert not any("import" in block for block in BLOCKS[1:])


def test_the_example_of_the_readme_is_the_first_of_the_page_on_python() -> None:
    assert of("README.md", "python") == BLOCKS[:1]


def test_the_readme_is_short() -> None:
    assert len((ROOT / "README.md").read_text(encoding="utf-8").splitlines()) <= 170


def test_the_python_examples_run_as_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """In their order, in an empty folder."""
    monkeypatch.chdir(tmp_path)
    names = execute(BLOCKS, {})
    saved = hygro.open_record(tmp_path / "my-wall.nc")
    assert saved.hygro.verdict() == names["record"].hygro.verdict()
    printed = capsys.readouterr().out
    assert "temperature of the cladding" in printed
    assert {line.split()[0] for line in printed.splitlines()[-2:]} == {
        "en15026_normal",
        "en15026_high",
    }


def test_the_table_of_commands_has_every_command_and_no_other() -> None:
    page = (ROOT / "docs/commands.md").read_text(encoding="utf-8")
    listed = re.findall(r"^\| `hygro (\w+)", page, re.MULTILINE)
    assert sorted(set(listed)) == sorted(typer.main.get_command(app).commands)


def test_every_linked_file_is_there() -> None:
    for page in PAGES:
        for target in re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8")):
            assert (page.parent / target).exists(), f"{page.name}: {target}"


def test_the_guide_of_contributors_names_the_layers_of_the_contract_and_files_there_are() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    contract = project["tool"]["importlinter"]["contracts"][0]["layers"]
    layers = [name for row in contract for name in row.split(" | ")]
    folders = re.findall(r"^\| `hygro/(\w+)/`", guide, re.MULTILINE)
    assert folders == layers[: len(folders)]
    order = next(line for line in guide.splitlines() if line.startswith("describe ->"))
    assert re.findall(r"\w+", order) == layers[len(folders) :]
    for path in re.findall(r"`(tests/[\w/]+(?:\.py|/))`", guide):
        assert (ROOT / path).exists(), path
