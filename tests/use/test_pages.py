"""Every block of code in README and docs is run, by this file or by one that it names."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from blocks import PAGES, ROOT, SET_UP, Block, blocks, commands, execute, of, run
from case_files import write_case

import hygro
from hygro.case import climate
from hygro.case.model import from_data
from hygro.decide.study import study_of

BLOCKS = [block for path in PAGES for block in blocks(path)]
ELSEWHERE = {
    "README.md python": "test_readme.py",
    "docs/python.md python": "test_readme.py",
    "docs/how-to.md sh": "test_how_to.py",
    "docs/reference/case-file.md toml": "test_reference_pages.py",
    "docs/reference/materials.md toml": "test_reference_pages.py",
}
"""Blocks that another file of tests runs."""
SHOWN = {"text"}
"""What is shown and not run: figures of characters, formulas, files of points."""
CASES = {"docs/decisions.md": "decisions"}
"""Case that the tables of a page belong to; of the others, the walls of the questions."""
LONG = {"docs/decisions.md", "docs/start.md", "docs/real-walls.md", "README.md"}
"""Pages whose commands take longer than the other tests may."""


def label(block: Block) -> str:
    return f"{block.page}:{block.line}"


def mine(language: str) -> list[Block]:
    found = [b for b in BLOCKS if b.language == language]
    return [b for b in found if f"{b.page} {language}" not in ELSEWHERE]


@pytest.mark.parametrize("block", BLOCKS, ids=label)
def test_a_block_has_a_language_that_is_run_or_shown(block: Block) -> None:
    assert block.language in {"python", "sh", "toml", *SHOWN}


def test_what_is_run_elsewhere_is_there() -> None:
    for key, file in ELSEWHERE.items():
        page, language = key.split()
        assert of(page, language), key
        assert (Path(__file__).parent / file).is_file()


@pytest.mark.parametrize("block", mine("sh"), ids=label)
def test_a_command_is_of_hygro_or_sets_up(block: Block) -> None:
    for words in commands(block.text):
        assert words[0] == "hygro" or SET_UP.match(" ".join(words)), words


def test_every_page_with_commands_is_run() -> None:
    named = {b.page for b in mine("sh") if any(w[0] == "hygro" for w in commands(b.text))}
    assert named == LONG


@pytest.mark.slow
@pytest.mark.parametrize("page", sorted(LONG))
def test_the_commands_of_a_page_run_in_order(
    page: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for text in of(page, "sh"):
        for name, *arguments in commands(text):
            if name == "hygro":
                assert len(run(arguments).splitlines()) > 1


@pytest.mark.parametrize("block", mine("toml"), ids=label)
def test_a_table_is_part_of_a_case(block: Block) -> None:
    """Added to the case that its page is about; a study of it can be planned."""
    path = ROOT / "cases" / CASES.get(block.page, "questions") / "case.toml"
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    added = tomllib.loads(block.text)
    case = from_data(joined(data, added), path=path)
    for wall in added.get("wall", ()):
        mine, base = (case.wall(wall[key]).wall for key in ("name", "base"))
        assert replace(mine, name=base.name) != base  # what the table says is in the wall
    for name in added.get("study", ()):
        assert study_of(case, name).plan.runs


def joined(data: dict[str, Any], added: dict[str, Any]) -> dict[str, Any]:
    """Both tables: lists one behind the other, tables over each other."""
    found = dict(data)
    for key, value in added.items():
        old = found.get(key)
        both_lists = isinstance(old, list) and isinstance(value, list)
        both = isinstance(old, dict) and isinstance(value, dict)
        found[key] = old + value if both_lists else {**old, **value} if both else value
    return found


def test_the_examples_of_the_page_on_verdicts_run_as_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Service and closing in as `compare` makes them, and a criterion with what it may yield."""
    names: dict[str, object] = {
        "hygro": hygro,
        "wall": hygro.Wall("w", hygro.Layer("osb", "11 mm", name="sheathing")),
        "climate": climate(hygro.load_case(write_case(tmp_path))),
        "room": hygro.get_room("en15026_normal"),
    }
    execute(of("docs/verdict.md", "python"), names)
    both, compared, findings = capsys.readouterr().out.splitlines()
    closing, service = both.split(" | ")
    # the worst of both is the class of the wall
    order = ("within limits", "fails closing in", "fails")
    assert compared == max((closing, service), key=order.index)
    assert findings.count("Finding(") == 2
    assert "as built" in findings


@pytest.mark.slow
def test_the_study_of_the_page_on_decisions_runs_as_written(
    capsys: pytest.CaptureFixture[str],
) -> None:
    study = execute(of("docs/decisions.md", "python"), {})["study"]
    found = study.to_dataset()["mc_30d_max"].max("scenario")
    assert dict(found.sizes) == {"outboard_R": 6, "room": 2}
    assert found.notnull().all()
    assert "mc_30d_max" in capsys.readouterr().out
