"""What can be known before a run is said before it, and nothing ends late."""

from __future__ import annotations

from pathlib import Path

import pytest
from case_files import write_case
from typer.testing import CliRunner

from hygro.cli import app
from hygro.study import runs

WOOL = (
    '{ material = "fibre-cement", name = "cladding", thickness = "8 mm" }',
    '{ material = "glass-wool-batt", name = "outer wool", thickness = "50 mm" }',
)
ALSO_WOOL = ('{ material = "osb", name = "sheathing", thickness = "11 mm" },', "")


def test_a_wall_without_anything_to_judge_is_refused_before_the_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(runs, "_record", lambda *_: pytest.fail("was run"))
    leaks = ('leaks.rain = { at = "sheathing" }', "")
    case = write_case(tmp_path, WOOL, ALSO_WOOL, leaks)
    for command in (("run", "--wall", "plain"), ("compare",)):
        result = CliRunner().invoke(app, [command[0], str(case), *command[1:]])
        assert result.exit_code == 2, result.output
        assert "wall 'plain'" in result.stderr
        assert "name one" in result.stderr


def test_a_climate_warmer_than_the_room_is_judged(tmp_path: Path) -> None:
    def tropical(lines: list[list[str]]) -> list[list[str]]:
        return [[stamp, "28.0", *rest] for stamp, _, *rest in lines]

    case = write_case(tmp_path, weather=tropical)
    result = CliRunner().invoke(app, ["run", str(case), "--wall", "plain"])
    assert result.exit_code == 0, result.output
    text = " ".join(result.stdout.split())
    assert "no share is needed" in text
    assert "0 % would keep it" in text
