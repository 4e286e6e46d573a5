"""The commands that run walls, as a user types them, on a small case of two walls."""

from __future__ import annotations

import csv
import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from case_files import write_case
from loaded import loaded
from signals import heed_interrupts
from typer.testing import CliRunner, Result

from hygro.cli import app
from hygro.record import load


def hygro(*arguments: str) -> Result:
    return CliRunner().invoke(app, list(arguments))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("case")


@pytest.fixture(scope="module")
def case(folder: Path) -> str:
    return str(write_case(folder))


@pytest.fixture(scope="module")
def compared(case: str, folder: Path) -> Result:
    return hygro("compare", case, "--out", str(folder / "out"), "--processes", "1")


def test_compare_prints_a_ranked_table_with_reasons_and_cautions(compared: Result) -> None:
    assert compared.exit_code == 0, compared.output
    out = " ".join(compared.output.split())
    assert "1 " in out
    assert "2 " in out
    for words in (
        "Reserve",
        "tight",
        "rain",
        "none set",
        "no proof of compliance",
        "One dimension",
    ):
        assert words in out


def test_compare_says_which_walls_have_no_leaks_and_never_calls_a_wall_dry(
    compared: Result,
) -> None:
    out = " ".join(compared.output.split())
    assert "No leaks were defined for 'plain'" in out
    for word in ("safe", "is dry", "dry wall", "passes"):
        assert word not in out.lower()


def test_compare_warns_that_a_typical_year_is_an_average_year(compared: Result) -> None:
    assert "average year" in " ".join(compared.output.split())


def test_compare_leaves_results_tables_and_figures(compared: Result, folder: Path) -> None:
    assert compared.exit_code == 0
    names = sorted(path.name for path in (folder / "out").iterdir())
    assert names == [
        "comparison.csv",
        "comparison.json",
        "comparison.png",
        "leaky-rain-service.nc",
        "leaky-rain.nc",
        "leaky-service.nc",
        "leaky.nc",
        "plain-service.nc",
        "plain.nc",
        "section-leaky.png",
        "section-plain.png",
    ]


def test_compare_says_how_much_it_wrote(compared: Result, folder: Path) -> None:
    size = sum(path.stat().st_size for path in (folder / "out").iterdir()) / 1e6
    words = " ".join(compared.output.split())
    said = re.search(r"6 records \(\.nc\), comparison.csv, .*; ([0-9.]+) MB", words)
    assert said
    assert float(said[1]) == pytest.approx(size, rel=0.005)  # three digits


def test_tables_for_scripts_agree_with_each_other(compared: Result, folder: Path) -> None:
    assert compared.exit_code == 0
    with (folder / "out" / "comparison.csv").open(encoding="utf-8") as file:
        rows = {(row["wall"], row["scenario"]): row for row in csv.DictReader(file)}
    assert set(rows) == {("plain", "none set"), ("leaky", "tight"), ("leaky", "rain")}
    data = json.loads((folder / "out" / "comparison.json").read_text(encoding="utf-8"))
    for wall in data:
        for run in wall["runs"]:
            scenario = run["scenario"] if len(wall["runs"]) == 2 else "none set"
            row = rows[wall["wall"], scenario]
            # 1e-5: the CSV has six digits
            assert float(row["mc_30d_max"]) == pytest.approx(run["summary"]["mc_30d_max"], rel=1e-5)
            assert run["quality"]["closure_moisture"] < 1e-6  # bound above which a run is refused


def test_a_wall_without_its_leaks_is_the_wall_it_is_based_on(
    compared: Result, folder: Path
) -> None:
    assert compared.exit_code == 0
    plain, tight = (load(folder / "out" / name) for name in ("plain.nc", "leaky.nc"))
    assert (plain["water_content"].values == tight["water_content"].values).all()


def test_the_leak_brings_the_water_it_should(compared: Result, folder: Path) -> None:
    assert compared.exit_code == 0
    leaky = load(folder / "out" / "leaky-rain.nc")
    rain, leak = leaky["rain_incident"].values[1:], leaky["leak_rain"].values[1:]
    # 1e-6: both are stored as they were computed; the leak is 1 % of the rain by definition
    assert leak.sum() == pytest.approx(0.01 * rain.sum(), rel=1e-6)
    assert rain.sum() > 0


def test_a_result_holds_the_text_of_its_case(compared: Result, folder: Path, case: str) -> None:
    assert compared.exit_code == 0
    stored = load(folder / "out" / "plain.nc")
    assert stored.attrs["case_text"] == Path(case).read_text(encoding="utf-8")
    assert len(stored.attrs["case_sha256"]) == 64
    assert stored.attrs["leaks"] == "off"


def test_a_saved_result_is_judged_again_as_it_was(compared: Result, folder: Path) -> None:
    assert compared.exit_code == 0
    data = json.loads((folder / "out" / "comparison.json").read_text(encoding="utf-8"))
    first = next(wall for wall in data if wall["wall"] == "plain")["runs"][0]["verdict"]
    service, closing = (
        json.loads(hygro("show", str(folder / "out" / name), "--json").stdout)
        for name in ("plain-service.nc", "plain.nc")
    )
    assert service["verdict"]["findings"] + closing["verdict"]["findings"] == first["findings"]
    assert {f["question"] for f in service["verdict"]["findings"]} == {"service"}
    assert {f["question"] for f in closing["verdict"]["findings"]} == {"closing in"}
    assert (service["wall"], service["leaks"], service["case"]) == ("plain", "off", "small")
    assert any("average year" in line for line in service["cautions"])


def test_run_shows_layers_hand_numbers_and_criteria_in_either_family(case: str) -> None:
    result = hygro("run", case, "--wall", "leaky", "--units", "ip", "--all")
    assert result.exit_code == 0, result.output
    for words in (
        "R-",
        "perm",
        "rain",
        "tight",
        "dew point",
        "ft²",
        "Layers, outside",
        "Where the limits",
    ):
        assert words in result.output


def test_run_tells_the_verdict_first_then_only_what_is_beyond_or_near_its_limit(case: str) -> None:
    told = json.loads(hygro("run", case, "--wall", "leaky", "--json").stdout)[0]
    shown, whole = (
        hygro("run", case, "--wall", "leaky", *more).stdout for more in ((), ("--all",))
    )
    assert shown.startswith(f"leaky: {told['outcome']}; ")
    assert "Layers, outside" not in shown
    both = {run["scenario"]: run["verdict"]["findings"] for run in told["runs"]}
    rows = {(f["criterion"], f["place"]) for found in both.values() for f in found}
    # what must be said: a hard finding that fails, is not judged or has less than a quarter left,
    # or an advisory one that fails
    said = {
        (f["criterion"], f["place"])
        for found in both.values()
        for f in found
        if f["passed"] is False
        or (f["hard"] and (f["passed"] is None or (f["margin"] is not None and f["margin"] < 0.25)))
    }
    hidden = int(re.search(r"; (\d+) more are within: --all", shown)[1])
    assert 0 < hidden == len(rows) - len(said)
    assert "more are within" not in whole


def test_run_writes_the_result_it_was_asked_for(case: str, tmp_path: Path) -> None:
    target = tmp_path / "deep" / "leaky.nc"
    result = hygro("run", case, "--wall", "leaky", "--out", str(target), "--json")
    assert result.exit_code == 0, result.output
    assert json.loads(result.stdout)[0]["wall"] == "leaky"
    assert load(target).attrs["leaks"] == "on"
    names = sorted(path.name for path in target.parent.iterdir())
    assert names == ["leaky-service.nc", "leaky.nc"]


def test_processes_give_the_bytes_of_a_single_process(case: str) -> None:
    one, two = (
        hygro("compare", case, "--json", "--processes", count).stdout for count in ("1", "2")
    )
    assert json.loads(one)[0]["runs"]
    assert one == two


@pytest.mark.parametrize("content", [b"", b"not a result", b"\x89HDF\r\n\x1a\n" + bytes(100)])
def test_what_is_no_result_file_is_refused(tmp_path: Path, content: bytes) -> None:
    file = tmp_path / "x.nc"
    file.write_bytes(content)
    result = hygro("show", str(file))
    assert result.exit_code == 2
    assert str(file) in result.stderr


def test_ctrl_c_ends_with_code_130_and_leaves_no_scrap(folder: Path, tmp_path: Path) -> None:
    path = write_case(tmp_path, ("[settings]", "[settings]\nyears = 30"))
    out = tmp_path / "out"
    command = [sys.executable, "-m", "hygro.cli", "compare", str(path), "--out", str(out)]
    process = subprocess.Popen(
        command, stderr=subprocess.PIPE, stdout=subprocess.PIPE, preexec_fn=heed_interrupts
    )
    deadline = time.monotonic() + 60
    while not out.is_dir() and time.monotonic() < deadline:
        time.sleep(0.05)
    time.sleep(3.0)  # well into the runs, which take longer than this
    process.send_signal(signal.SIGINT)
    _, stderr = process.communicate(timeout=30)
    assert process.returncode == 130, stderr.decode()
    assert b"Traceback" not in stderr
    scraps = [p.name for p in out.iterdir() if p.name.startswith(".") or p.suffix != ".nc"]
    assert scraps == []
    assert not os.path.exists(out / "comparison.csv")


def test_run_loads_no_figures_pages_or_studies() -> None:
    # What `hygro run` loads is most of the time that a second start takes.
    idle = ("matplotlib", "SALib", "distributed", "numba_cuda", "hygro.decide", "hygro.page",
            "hygro.proof", "hygro.show.figures")  # fmt: skip
    words = ("run", "demonstration", "--wall", "all outboard")
    assert loaded(words, idle, word="all outboard") == "[]"


def test_a_second_start_computes_no_sun() -> None:
    words = ("run", "demonstration", "--wall", "all outboard")
    loaded(words, (), word="all outboard")
    assert loaded(words, ("pvlib",), word="all outboard") == "[]"


def test_a_start_looks_for_no_garbage_and_what_follows_does() -> None:
    # It would look through all that was loaded, 20 ms a time, and find none.
    code = (
        "import gc, sys\n"
        "from hygro.cli import app\n"
        "seen = []\n"
        "gc.callbacks.append(lambda phase, _: seen.append(gc.get_threshold()[0]))\n"
        "usual = gc.get_threshold()[0]\n"
        "sys.argv = ['hygro', 'run', 'demonstration', '--wall', 'all outboard']\n"
        "app(standalone_mode=False)\n"
        "while_running = seen.copy()\n"
        "[[] for _ in range(500_000)]\n"
        "print(set(while_running) - {usual}, gc.get_threshold(), len(seen) > len(while_running))\n"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.splitlines()[-1] == "set() (100000, 20, 20) True"
