"""`hygro validate` as a user types it."""

from __future__ import annotations

import json
from pathlib import Path

from typer.testing import CliRunner

from hygro.cli import app
from hygro.proof import outdoors


def invoke(*arguments: str):
    return CliRunner().invoke(app, ["validate", *arguments], env={"COLUMNS": "250"})


def test_one_case_prints_its_table_and_ends_well():
    result = invoke("cup_tests")
    assert result.exit_code == 0, result.output
    for word in ("wet cup, with films", "Kirchhoff", "exact solution", "0 failed"):
        assert word in result.output


def test_json_holds_every_check_with_its_error_and_bound():
    result = invoke("driving_rain", "--json")
    found = json.loads(result.stdout)
    assert result.exit_code == 0
    assert found["passed"] is True
    assert {c["case"] for c in found["checks"]} == {"driving_rain"}
    for check in found["checks"]:
        assert check["error"] <= check["bound"]
        assert check["source"]


def test_out_writes_page_data_and_figures(tmp_path: Path):
    result = invoke("moisture_buffer", "--out", str(tmp_path))
    assert result.exit_code == 0, result.output
    names = {path.name for path in tmp_path.iterdir()}
    assert names == {"validation.md", "validation.json", "moisture_buffer.png"}
    assert (tmp_path / "moisture_buffer.png").read_bytes().startswith(b"\x89PNG")
    assert "| moisture_buffer |" in (tmp_path / "validation.md").read_text("utf-8")


def test_a_failed_check_gives_exit_code_1(monkeypatch):
    from hygro.proof.check import Origin, Outcome, compare

    origin = Origin("by hand", "exact solution")
    wrong = compare("driving_rain", "q", 1.0, 2.0, 0.1, unit="1", origin=origin, reason="r")
    monkeypatch.setattr(outdoors, "rain", lambda: Outcome((wrong,)))
    result = invoke("driving_rain")
    assert result.exit_code == 1
    assert "FAIL: driving_rain" in result.output


def test_two_cases_run_in_two_processes():
    result = invoke("decay", "driving_rain", "--processes", "2", "--json")
    assert result.exit_code == 0, result.output
    found = json.loads(result.stdout)
    assert found["checks"][0]["case"] == "driving_rain"
    assert {c["case"] for c in found["checks"]} == {"decay", "driving_rain"}


def test_unknown_case_is_answered_without_a_traceback():
    result = invoke("cup_test")
    assert result.exit_code == 2
    assert "Traceback" not in result.output
