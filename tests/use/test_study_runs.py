"""A study planned, run, killed, resumed, shared and exported: the same rows, nothing twice."""

from __future__ import annotations

import json
import os
import signal
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr
from study_cases import STUDY, made_at, started, stored, typed, until, write_study
from typer.testing import CliRunner

import hygro
from hygro.assess.judge import verdict
from hygro.assess.summary import summary
from hygro.case import load, prepare
from hygro.cli import app
from hygro.decide import attributes
from hygro.decide import plan as plans
from hygro.decide.rate import Row, failed
from hygro.decide.runner import _claimed, run_plan
from hygro.decide.store import Store
from hygro.decide.study import Study
from hygro.decide.work import Shared, Task
from hygro.page.studies import studies_of
from hygro.study.varied import Range

ROOT = Path(__file__).parents[2]


@pytest.fixture
def case(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return write_study(tmp_path, STUDY)


def test_the_plan_is_there_before_the_first_run(
    case: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("hygro.study.stages.march_many", stopped)
    told = json.loads(typed("plan", str(case), "one", "--json").stdout)
    # 3 x 2 points, each tight and with its rain leak; tight is the same for all leaks
    assert (told["points"], told["runs"], told["distinct"]) == (6, 12, 8)
    assert told["wall_years_left"] == 8.0
    assert told["minutes_left"] > 0.0
    assert [run["scenario"] for run in told["list"][:2]] == ["tight", "rain"]
    assert typed("run", str(case), "one", "--processes", "1").exit_code == 130
    with sqlite3.connect("one.study") as base:
        (count,) = base.execute("SELECT count(*) FROM run WHERE study = 'one'").fetchone()
    assert count == 12


def test_the_plan_lists_what_varies_in_words_with_units(case: Path) -> None:
    text = """
[study.units]
wall = "leaky"
leaks = "none"
vary.cavity_R = ["R-10"]
vary.gap_air_change = [50]
vary.winter_rh = [0.3]
vary.start_month = [3]
vary."layers.sheathing.thickness" = ["11 mm"]
vary."layers.cladding.material" = ["spruce-cladding"]
vary.'factor."sheathing".vapour' = [2]
vary."climate.file" = ["town.csv"]
"""
    case.write_text(case.read_text("utf-8") + text, encoding="utf-8")
    told = typed("plan", str(case), "units").stdout
    assert " ".join(told.split()).endswith(
        "cavity R R-10, air change of the gap 50 1/h, indoor RH in winter 0.3, month of the start "
        "3, sheathing: thickness 11 mm, cladding: material spruce-cladding, sheathing: vapour "
        "resistance (factor) 2, weather file town.csv"
    )


def test_a_study_gives_the_numbers_of_single_runs_to_the_bit(case: Path) -> None:
    study = Study(case, wall="leaky", vary={"rain_leak": ["1 %", "3 %"]}, leaks="verdict")
    study.run(processes=1)
    ready, climate = prepare(load(case))
    item = ready.wall("leaky")
    record = hygro.simulate(item.wall, climate, item.room, settings=ready.settings)
    alone, judged = summary(record), verdict(record)
    run = next(r for r in study.plan.runs if r.point == 0 and r.scenario == "rain")
    row = study.rows[run.sha256]
    assert row.numbers == {k: v for k, v in alone.items() if not isinstance(v, dict)}
    assert (row.outcome, row.margin) == (judged.outcome, judged.reserve)
    assert row.digests["wall_sha256"] == record.attrs["wall_sha256"]
    assert row.digests["loads_sha256"] == record.attrs["loads_sha256"]
    for key, told in row.criteria.items():
        values = [f.value for f in judged.of(key) if f.value is not None]
        assert told["value"] in values or (told["value"] is None and not values)


def test_what_is_finished_is_not_made_again_and_a_changed_run_is(case: Path) -> None:
    assert "8 runs made" in typed("run", str(case), "one").stderr
    assert "0 runs made" in typed("run", str(case), "one").stderr
    text = case.read_text("utf-8").replace('"30 %", "45 %"', '"30 %", "50 %"')
    case.write_text(text, encoding="utf-8")
    answer = typed("run", str(case), "one")
    assert "4 runs made" in answer.stderr  # of 8, the four at 30 % are there
    status = json.loads(typed("status", str(case), "one", "--json").stdout)
    assert (status["done"], status["stale"], status["left"]) == (8, 4, 0)
    assert "4 results of an earlier case" in typed("status", str(case), "one").stdout


def test_runs_of_another_question_are_not_stale_until_the_study_changes(case: Path) -> None:
    least = CliRunner().invoke(app, ["least", str(case), "one", "--out", "o", "--within", "0.5"])
    assert least.exit_code == 0, least.output
    typed("run", str(case), "one")
    with sqlite3.connect("one.study") as base:
        (kept,) = base.execute("SELECT count(*) FROM result").fetchone()
    status = json.loads(typed("status", str(case), "one", "--json").stdout)
    assert kept > 8
    assert (status["other"], status["stale"]) == (kept - 8, 0)
    words = typed("status", str(case), "one").stdout
    assert f"{kept - 8} more results, which other commands asked for" in words
    assert "earlier" not in words
    (shown,) = (s for s in studies_of([Path("one.study")]) if s.finding.kind == "least")
    assert shown.stale == ()
    text = case.read_text("utf-8").replace('thickness = "11 mm"', 'thickness = "12 mm"')
    case.write_text(text, encoding="utf-8")
    status = json.loads(typed("status", str(case), "one", "--json").stdout)
    assert (status["done"], status["other"], status["stale"]) == (0, 0, kept)
    (shown,) = (s for s in studies_of([Path("one.study")]) if s.finding.kind == "least")
    assert "was planned anew" in shown.stale[0]


def test_a_study_of_no_wall_is_that_of_the_wall_in_its_store(case: Path) -> None:
    text = '\n[study.share]\nvary.winter_rh = ["30 %", "40 %"]\n'
    case.write_text(case.read_text("utf-8") + text, encoding="utf-8")
    refused = typed("run", str(case), "share")
    assert refused.exit_code == 2
    assert "say which (--wall, wall =)" in refused.stderr.replace("\n", " ")
    assert typed("run", str(case), "share", "--wall", "leaky").exit_code == 0
    for command in ("status", "plan", "resume", "run"):
        assert typed(command, str(case), "share").exit_code == 0
    assert "4 of 4 runs done" in typed("status", str(case), "share").stdout
    plain = json.loads(typed("plan", str(case), "share", "--wall", "plain", "--json").stdout)
    assert plain["distinct"] == 2  # it has no leak: the wall that is asked for goes before


def test_a_store_from_before_questions_were_noted_is_read(case: Path) -> None:
    typed("run", str(case), "one")
    with sqlite3.connect("one.study") as base:
        base.execute("DROP TABLE asked")
    (shown,) = studies_of([Path("one.study")])
    assert (shown.status.done, shown.status.other, shown.status.stale) == (8, 0, 0)
    assert shown.stale == ()


def test_one_store_serves_several_studies(case: Path) -> None:
    typed("run", str(case), "one", "--store", "all.study")
    many = Study(case, wall="leaky", vary={"winter_rh": [0.30, 0.45, 0.5]}, leaks="none",
                 store="all.study", name="other")  # fmt: skip
    assert len(many.plan.runs) == 3
    # tight at 30 and 45 % was run by the first study, written as numbers or with units
    assert len(many.store.finished(many.plan.distinct)) == 2


def shas(case: Path) -> list[str]:
    return [run.sha256 for run in Study(case, wall="leaky", vary={"rain_leak": [0.01]}).plan.runs]


@pytest.mark.parametrize(
    ("old", "new", "same"),
    [
        ('thickness = "11 mm"', "thickness = 0.011", True),
        ('thickness = "11 mm"', 'thickness = "12 mm"', False),
        ('rh = "45 %"', 'rh = "46 %"', False),
        ("tolerance = 10", "tolerance = 9", False),
        ('table.kind = "typical year"', 'table.kind = "measured"', True),
        ("[settings]", "[criteria.change.mc_30d]\nlimit = 0.18\n\n[settings]", False),
        ('name = "small"', 'name = "small"\nnote = "words"', True),
    ],
)
def test_the_hash_is_of_what_a_result_depends_on(
    case: Path, old: str, new: str, same: bool
) -> None:
    before = shas(case)
    text = case.read_text("utf-8")
    assert old in text
    case.write_text(text.replace(old, new), encoding="utf-8")
    assert (shas(case) == before) is same


def test_weather_and_engine_are_part_of_the_hash(
    case: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = shas(case)
    monkeypatch.setattr(plans, "engine_hash", lambda: "another")
    assert not set(shas(case)) & set(before)
    monkeypatch.undo()
    file = case.with_name("town.csv")
    file.write_text(file.read_text("utf-8").replace(",75.00,", ",75.01,", 1), encoding="utf-8")
    assert not set(shas(case)) & set(before)


def test_killed_at_any_moment_it_goes_on_to_the_same_rows(case: Path) -> None:
    typed("run", str(case), "many", "--store", "whole.study")
    first = started(case, "study", "run", str(case), "many", "--store", "cut.study")
    until(8, Path("cut.study"))
    os.kill(first.pid, signal.SIGKILL)
    first.wait()
    kept = made_at("cut.study")
    assert 8 <= len(kept) < 96
    answer = typed("resume", str(case), "many", "--store", "cut.study")
    assert f"{96 - len(kept)} runs made" in answer.stderr
    assert {sha: made_at("cut.study")[sha] for sha in kept} == kept  # none was made again
    assert stored("cut.study") == stored("whole.study")
    with Store(Path("cut.study")) as store:
        assert store.status("many").claimed == 0


def test_ctrl_c_leaves_a_store_that_goes_on(case: Path) -> None:
    text = case.read_text("utf-8").replace("steps = 12", "steps = 100")  # some seconds of runs
    case.write_text(text, encoding="utf-8")
    process = started(case, "study", "run", str(case), "many")
    until(8, case.with_name("many.study"))
    process.send_signal(signal.SIGINT)
    _, told = process.communicate(timeout=60)
    assert process.returncode == 130
    assert "runs are finished and kept" in told
    assert f"hygro study resume {case} many goes on" in told
    count = len(stored("many.study"))
    assert 8 <= count < 800
    assert f"{800 - count} runs made" in typed("resume", str(case), "many").stderr


def test_two_processes_share_a_store_and_make_no_run_twice(case: Path) -> None:
    both = [started(case, "study", "run", str(case), "many", "--processes", "1") for _ in range(2)]
    told = [process.communicate(timeout=300)[1] for process in both]
    assert [process.returncode for process in both] == [0, 0], told
    made = [int(text.split(" runs made")[0].split()[-1]) for text in told]
    assert sum(made) == 96
    assert len(stored("many.study")) == 96


def test_a_process_leaves_work_of_a_small_study_to_another(case: Path) -> None:
    vary = {"rain_leak": Range("0 %", "4 %", 8), "winter_rh": Range("20 %", "60 %", 12)}
    study = Study(case, wall="leaky", leaks="all", vary=vary, store="x.study")
    taken: list[str] = []

    def pool(
        shared: Shared, batches: Iterator[tuple[Task, ...]], tick: Callable[[], None]
    ) -> Iterator[list[Row]]:
        for batch in batches:
            if not taken:
                with Store(Path("x.study")) as second:
                    taken.extend(second.claim(list(study.plan.distinct)))
            yield [failed(task.sha256, "not tried") for task in batch]

    assert run_plan(study.plan, study.store, pool=pool).made == 96
    assert len(taken) == 96 - 64  # the first took eight batches of eight


def test_claims_are_a_share_of_what_is_left_within_bounds() -> None:
    sizes: list[int] = []

    class Counting:
        def claim(self, wanted: list[str]) -> list[str]:
            sizes.append(len(wanted))
            return []

    assert list(_claimed(None, Counting(), ["x"] * 10_000)) == []  # type: ignore[arg-type]
    assert sum(sizes) == 10_000
    assert sizes[:5] == [512, 512, 512, 512, 497]  # (10 000 - 4 * 512) / 16 = 497
    assert sizes == sorted(sizes[:-1], reverse=True) + sizes[-1:]
    assert sizes[-2] == 64


def test_a_run_that_fails_is_a_row_and_stops_nothing(case: Path) -> None:
    # 30 mm of liquid per kg is more than the pores of the board hold: refused when it starts
    vary = {"start_moisture": ["10 %", "19"], "rain_leak": ["0 %", "1 %"]}
    study = Study(case, wall="leaky", vary=vary, leaks="all").run(processes=1)
    results = study.points()
    assert [r.outcome == "not computed" for r in results] == [False, False, True, True]
    assert all("sheathing" in r.error for r in results[2:])
    assert np.isnan(results[2].margin)
    assert results[2].passed is None


def test_a_study_of_one_failing_wall_ends_with_a_clear_table(case: Path) -> None:
    text = '\n[study.bad]\nwall = "leaky"\nleaks = "all"\nvary.start_moisture = ["1900 %"]\n'
    case.write_text(case.read_text("utf-8") + text, encoding="utf-8")
    answer = typed("run", str(case), "bad")
    assert answer.exit_code == 2
    assert "not computed" in answer.stdout
    assert "error: 1 of 1 point could not be computed; the first: " in answer.stderr
    again = typed("resume", str(case), "bad", "--retry")
    assert "1 run made" in again.stderr


def test_a_study_of_which_some_points_fail_ends_with_a_code_of_its_own(case: Path) -> None:
    some = 'vary.start_moisture = ["10 %", "1900 %", "1800 %"]'
    text = f'\n[study.some]\nwall = "leaky"\nleaks = "all"\n{some}\n'
    case.write_text(case.read_text("utf-8") + text, encoding="utf-8")
    answer = typed("run", str(case), "some", "--json")
    assert answer.exit_code == 3
    assert [bool(p["error"]) for p in json.loads(answer.stdout)] == [False, True, True]
    assert "error: 2 of 3 points could not be computed; the first: " in answer.stderr


def test_the_export_has_dimensions_hashes_and_the_worst_is_the_verdict(case: Path) -> None:
    typed("run", str(case), "one")
    assert typed("export", str(case), "one", "out.nc").exit_code == 0
    found = xr.open_dataset("out.nc")
    assert found["mc_30d_max"].dims == ("rain_leak", "winter_rh", "scenario")
    assert found["rain_leak"].values.tolist() == [0.0, 2.0, 4.0]
    assert found["rain_leak"].attrs["units"] == "%"
    assert found["winter_rh"].values.tolist() == [30.0, 45.0]
    assert set(found["scenario"].values) == {"tight", "rain"}
    study = Study(case, wall="leaky", vary={"rain_leak": ["0 %", "2 %", "4 %"],
                  "winter_rh": ["30 %", "45 %"]}, store="one.study", name="one")  # fmt: skip
    for run in study.plan.runs:
        row: Row = study.rows[run.sha256]
        at = {**study.plan.coordinates(run.point), "scenario": run.scenario}
        cell = found.sel(at)
        assert float(cell["mc_30d_max"]) == row.numbers["mc_30d_max"]
        assert str(cell["run_sha256"].values) == run.sha256
        assert str(cell["loads_sha256"].values) == row.digests["loads_sha256"]
    wet = [r.numbers["mc_30d_max"] for r in study.points() if r.at["winter_rh"] == 45.0]
    assert wet == sorted(wet)  # more leaking rain, more water
    frame = study.to_frame()
    assert len(frame) == 12
    assert set(frame["scenario"]) == {"tight", "rain"}


def test_every_variable_of_an_export_says_what_it_is_as_cf_asks(case: Path) -> None:
    """CF 1.8, 3.1 to 3.5: a long name, units of numbers, flags of the type of their variable."""
    typed("run", str(case), "one")
    typed("export", str(case), "one", "out.nc")
    found = xr.open_dataset("out.nc")
    assert found.attrs["Conventions"] == "CF-1.8"
    flags = found["passed"].attrs["flag_values"]
    assert flags.dtype == found["passed"].dtype == np.int8
    assert dict(zip(flags.tolist(), found["passed"].attrs["flag_meanings"].split(), strict=True)) \
        == {-1: "not_judged", 0: "fails", 1: "passes"}  # fmt: skip
    for name, variable in found.variables.items():
        assert len(variable.attrs["long_name"]) > 4, name
        assert ("units" in variable.attrs) == (variable.dtype.kind == "f"), name
    for name in found.coords:  # CF 1.8, 2.5.1
        assert "_FillValue" not in found[name].encoding, name
    assert found["criterion_mc_30d"].attrs["units"] == "1"
    assert found["criterion_condensate"].attrs["units"] == "kg m-2"


@pytest.mark.parametrize(
    ("vary", "units"),
    [
        (
            {"outboard_R": ["R-5", "R-10"]},
            "0.1761101837 m2.K/W",
        ),  # 2000 s·K·ft²/Btu
        ({"outboard_share": [0.2, 0.4]}, "1"),
        ({"outer_permeance": ["1 perm", "10 perm"]}, "5.72e-11 kg/(m2.s.Pa)"),
        ({"orientation": ["30 deg", "60 deg"]}, "degree"),
        ({"gap_air_change": ["10 ACH", "20 ACH"]}, "1/h"),
        ({"layers.sheathing.thickness": ["11 mm", "12 mm"]}, "mm"),
        ({"start_month": [1, 7]}, "1"),
        ({"room": ["hall"]}, None),
    ],
)
def test_units_of_what_varies_are_such_as_udunits_reads(
    vary: dict[str, list[Any]], units: str | None
) -> None:
    plan = Study("demonstration", wall="two thirds outboard", vary=vary).plan
    assert attributes.of_dimension(plan.dimensions[0]).get("units") == units


def test_zarr_holds_the_same(case: Path) -> None:
    pytest.importorskip("zarr")
    typed("run", str(case), "one")
    typed("export", str(case), "one", "out.nc")
    assert typed("export", str(case), "one", "out.zarr").exit_code == 0
    a, b = xr.open_dataset("out.nc"), xr.open_zarr("out.zarr")
    assert np.array_equal(a["mc_30d_max"].values, b["mc_30d_max"].values)


def test_kept_records_are_those_of_the_rows(case: Path) -> None:
    study = Study(case, wall="leaky", vary={"rain_leak": ["1 %"]}, leaks="all", keep=True,
                  store="kept.study").run(processes=1)  # fmt: skip
    (run,) = study.plan.runs
    record = hygro.open_record(Path("kept.study-records") / f"{run.sha256}.nc")
    assert record.attrs["loads_sha256"] == study.rows[run.sha256].digests["loads_sha256"]


def test_years_of_a_long_weather_are_single_years(tmp_path: Path) -> None:
    import shutil

    demonstration = ROOT / "cases" / "demonstration"
    for name in ("case.toml", "normals.toml"):
        shutil.copy(demonstration / name, tmp_path)
    study = Study(tmp_path / "case.toml", wall="all outboard", vary={"year": [1, 3]}, leaks="none")
    first, last = (study.plan.climate(study.plan.tables(k)).data for k in (0, 1))
    whole = study.base.climates._load({**study.base.tables["climate"], "years": 2})[0]
    assert first.sizes["time"] == last.sizes["time"] == 2 * 8760
    # October of the first year: the case starts in month 10
    assert first["temperature"].values[0] == whole["temperature"].values[0]
    assert not np.array_equal(first["temperature"].values, last["temperature"].values)
    T = first["temperature"].values
    assert np.array_equal(T[:8760], T[8760:])


def test_what_an_interrupted_run_claimed_is_free_at_once(
    case: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    study = Study(case, wall="leaky", vary={"rain_leak": ["1 %", "2 %"]}, store="x.study")

    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("hygro.study.stages.march_many", stopped)
    with pytest.raises(KeyboardInterrupt):
        study.run(processes=1)
    assert study.status().claimed == 0
    monkeypatch.undo()
    monkeypatch.chdir(case.parent)
    assert study.run(processes=1).status().left == 0
