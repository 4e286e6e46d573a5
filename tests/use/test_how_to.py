"""The questions of `docs/how-to.md`: every command names what there is, and runs as written."""

from __future__ import annotations

import re
import shlex
import tomllib
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from hygro.case import built_in, load
from hygro.cli import app
from hygro.paths import set_value

PAGE = (Path(__file__).parents[2] / "docs/how-to.md").read_text("utf-8")
BLOCKS = re.findall(r"## (\d+)\. .*?\n\n```sh\n(.*?)\n```", PAGE)
COMMANDS = {int(number): shlex.split(line)[1:] for number, line in BLOCKS}
FIGURES = tomllib.loads((Path(__file__).parents[2] / "docs/questions.toml").read_text("utf-8"))
QUICK = (16, 19, 20, 21, 25)
"""Answered within seconds; the others are run by `pytest -m slow`."""


def test_there_is_a_command_for_each_of_27_questions() -> None:
    assert sorted(COMMANDS) == list(range(1, 28))
    assert all(line.startswith("hygro ") for _, line in BLOCKS)


def test_a_figure_is_declared_for_each_of_27_questions() -> None:
    """Walls that the cases have; a figure that the command itself leaves in a folder."""
    assert sorted(map(int, FIGURES)) == list(range(1, 28))
    walls = {item.name for case in ("questions", "questions/hot") for item in load(case).walls}
    for number, row in FIGURES.items():
        assert row["caption"].endswith("."), number
        assert len(row.keys() & {"plot", "runs", "figure"}) == 1, number
        assert {run["wall"] for run in row.get("runs", ())} <= walls, number
        if "figure" in row:
            name, *_ = COMMANDS[int(number)]
            options = typer.main.get_command(app).commands[name].params
            assert "--out" in {text for option in options for text in option.opts}, number


@pytest.mark.parametrize("number", COMMANDS)
def test_a_command_names_what_there_is(number: int) -> None:
    """Its options, its case, the walls of that, and the number that it varies."""
    name, *arguments = COMMANDS[number]
    command = typer.main.get_command(app).commands[name]
    with command.make_context(name, list(arguments)) as context:
        given = context.params
    case = given.get("case") or (given.get("sources") or [None])[0] or given.get("file")
    if case is None:
        return
    assert case in built_in()
    loaded = load(case)
    walls = given.get("wall") or ()
    for wall in [walls] if isinstance(walls, str) else walls:
        loaded.wall(wall)
    if "path" in given:
        before = set_value(loaded.data, given["path"], 1.0)
        assert before != loaded.data


def run(number: int, folder: Path) -> str:
    done = CliRunner().invoke(app, COMMANDS[number])
    assert done.exit_code == 0, done.output
    return done.output


@pytest.mark.parametrize("number", QUICK)
def test_a_question_is_answered(
    number: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert len(run(number, tmp_path).splitlines()) > 4


@pytest.mark.slow
@pytest.mark.parametrize("number", [3, 17, 22, 23])
def test_a_question_of_days_is_answered_by_days(number: int, tmp_path: Path) -> None:
    assert re.search(
        r"wood (stays below 20 % after|still wet at the end, after) [1-9]\d* d",
        run(number, tmp_path),
    )


@pytest.mark.slow
@pytest.mark.parametrize("number", [n for n in COMMANDS if n not in QUICK])
def test_a_question_is_answered_by_a_longer_run(
    number: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert re.search(r"within limits|fails|beyond limits|written", run(number, tmp_path))
