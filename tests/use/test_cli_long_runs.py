"""Runs to a file that are stopped and go on, periodic years, finer runs, and walls that fail."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from case_files import write_case
from signals import heed_interrupts
from typer.testing import CliRunner, Result

from hygro.cli import app
from hygro.record import load

YEARS = 3


def hygro(*arguments: str) -> Result:
    return CliRunner().invoke(app, list(arguments))


def slow_case(folder: Path) -> str:
    """Three years in small steps, so that there is time to stop the run after the first."""
    settings = f"[settings]\nyears = {YEARS}\ntolerance = 0.02"
    return str(write_case(folder, ("[settings]", settings)))


def test_a_run_stopped_by_ctrl_c_goes_on_and_leaves_the_same_bits(tmp_path: Path) -> None:
    case = slow_case(tmp_path)
    whole, cut = tmp_path / "whole.nc", tmp_path / "cut.nc"
    arguments = ("run", case, "--wall", "plain", "--json", "--out")
    assert hygro(*arguments, str(whole)).exit_code == 0

    command = [sys.executable, "-m", "hygro.cli", *arguments, str(cut)]
    process = subprocess.Popen(
        command, stderr=subprocess.PIPE, stdout=subprocess.PIPE, preexec_fn=heed_interrupts
    )
    kept = tmp_path / ".cut.nc.parts" / "hour-00000000.npz"
    deadline = time.monotonic() + 120
    while not kept.exists() and process.poll() is None and time.monotonic() < deadline:
        time.sleep(0.01)
    process.send_signal(signal.SIGINT)
    stdout, stderr = process.communicate(timeout=60)
    assert process.returncode == 130, stderr.decode()
    assert b"the same command goes on" in stderr
    assert b"Traceback" not in stderr
    assert stdout == b""
    assert not cut.exists()

    result = hygro(*arguments, str(cut))
    assert result.exit_code == 0, result.output
    # blocks of 26 chunks of 336 h: the first one ends on 31 December
    assert json.loads(result.stdout)[0]["runs"][-1]["resumed"] in ("2001-12-31", "2002-12-30")
    assert not kept.parent.exists()
    one, two = load(whole), load(cut)
    assert one.sizes["time"] == YEARS * 8760 + 1
    for name in one.variables:
        same = np.array_equal(
            one[name].values, two[name].values, equal_nan=one[name].dtype.kind == "f"
        )
        assert same, name


def test_a_resumed_run_says_where_it_was_taken_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from hygro.record import stream

    case = str(write_case(tmp_path, ("[settings]", "[settings]\nyears = 2")))
    whole = stream._computed

    def stopped(setup: object, point: object, progress: object) -> object:
        if point.hour > 0:
            raise KeyboardInterrupt
        return whole(setup, point, progress)

    arguments = ("run", case, "--wall", "leaky", "--out", str(tmp_path / "x.nc"))
    monkeypatch.setattr(stream, "_computed", stopped)
    assert hygro(*arguments).exit_code == 130
    monkeypatch.undo()
    result = hygro(*arguments)
    assert result.exit_code == 0, result.output
    assert "leaky, rain: resumed at 2001-12-31" in result.stdout


PERIODIC = ("[settings]", '[settings]\nrepeat = "until periodic"')


def test_a_year_is_run_until_it_repeats_itself_and_says_how_often(tmp_path: Path) -> None:
    from hygro.record import repeat

    case, out = str(write_case(tmp_path, PERIODIC)), tmp_path / "x.nc"
    result = hygro("run", case, "--wall", "leaky", "--out", str(out))
    assert result.exit_code == 0, result.output
    assert "service: the year after" in result.stdout
    assert "not settled" not in result.stdout
    ds = load(out)
    assert ds.sizes["time"] == 8761
    assert ds.attrs["periodic_rounds"] >= 2
    water = ds["layer_water"].values
    # the drift that ends the repetition, kg/m² in the round before
    assert np.abs(water[-1] - water[0]).max() <= 0.005
    again = repeat(ds)
    assert np.array_equal(again["temperature"].values, ds["temperature"].values)
    assert again.attrs["periodic_rounds"] == ds.attrs["periodic_rounds"]


def test_a_finer_run_tells_how_far_each_rating_moves(tmp_path: Path) -> None:
    case = str(write_case(tmp_path))
    told = json.loads(hygro("run", case, "--wall", "leaky", "--check", "--json").stdout)
    for run in told[0]["runs"]:
        check = run["check"]
        assert (check["accuracy"], check["tolerance"]) == ("draft", 0.25)
        moved = check["numbers"]["mc_30d_max"]
        assert moved["as_run"] == run["summary"]["mc_30d_max"]
        assert moved["finer"] != moved["as_run"]
        # 2 % by mass: a draft grid of a board that condensate keeps near free water
        assert abs(moved["error"]) < 0.02
        assert moved["error"] == pytest.approx(2 * (moved["as_run"] - moved["finer"]))
        assert {"mould_index_max", "rh_30d_max", "condensation_hours"} <= set(check["numbers"])
    shown = hygro("run", case, "--wall", "plain", "--check").stdout
    assert "Numerical uncertainty" in shown
    assert "a quarter of that of the run" in shown


WETTED_LATE = (
    'leaks.rain = { at = "sheathing" }',
    'leaks.wetting = { at = "sheathing", mass = 0.1, after = 9000 }',
)


def test_a_wall_that_fails_leaves_the_others_and_ends_with_code_3(tmp_path: Path) -> None:
    # the wetting comes after the end of the run, which only the run itself can know
    case, out = str(write_case(tmp_path, WETTED_LATE)), tmp_path / "out"
    for processes in ("1", "2"):
        result = hygro("compare", case, "--out", str(out), "--processes", processes)
        assert result.exit_code == 3
        assert "1 plain" in result.stdout
        assert "Not computed, and not ranked" in result.stdout
        assert result.stderr.startswith(
            "error: leaky, with its rain leaks alone: wetting of 'sheathing'"
        )
        assert len(result.stderr.splitlines()) == 1
        assert "Traceback" not in result.output
    told = json.loads((out / "comparison.json").read_text(encoding="utf-8"))
    assert [wall["wall"] for wall in told] == ["plain", "leaky"]
    assert "wetting" in told[1]["error"]
    names = {path.name for path in out.iterdir()}
    assert {"plain.nc", "leaky.nc", "comparison.csv", "comparison.png"} <= names
    assert "leaky-rain.nc" not in names


def test_a_single_wall_that_fails_says_why(tmp_path: Path) -> None:
    result = hygro("run", str(write_case(tmp_path, WETTED_LATE)), "--wall", "leaky")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.startswith("error: wetting of 'sheathing'")
