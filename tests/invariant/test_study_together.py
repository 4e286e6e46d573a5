"""Runs side by side: each outcome is that of the run by itself."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from case_files import write_case
from feature_walls import frame

from hygro.assess.criteria import Finding
from hygro.case import climate, load
from hygro.room.models import Constant
from hygro.solve.settings import Settings
from hygro.study.perform import perform, tasks_of
from hygro.study.plan import Candidate, PlannedRun, plan
from hygro.study.runs import Failure, Judging, Outcome
from hygro.study.together import perform_together
from hygro.wall.elements import Gap, Initial
from hygro.wall.leaks import AirLeak, RainLeak, Wetting

DRAFT = Settings(accuracy="draft", tolerance=10.0)


@pytest.fixture(scope="module")
def weather(tmp_path_factory: pytest.TempPathFactory):
    return climate(load(write_case(tmp_path_factory.mktemp("case"))))


def runs(repeat: str = "as needed") -> tuple[PlannedRun, ...]:
    """Five walls of one structure, so that lanes pay, each in four scenarios."""
    leaks = [
        RainLeak("sheathing", 0.02),
        Wetting("sheathing", 0.3, 30),
        AirLeak("sheathing", rate=1e-5),
    ]
    base = frame(Gap("gap", 0.02, 50.0), leaks=leaks)
    return plan(
        [
            Candidate(replace(base, name=f"w{rh}", initial=Initial(rh=rh)), Constant(294.15, rh))
            for rh in (0.2, 0.3, 0.4, 0.5, 0.6)
        ],
        repeat=repeat,  # type: ignore[arg-type]
    )


def said(finding: Finding) -> tuple[object, ...]:
    return finding.criterion, finding.place, finding.passed, finding.hard, finding.when


@pytest.mark.parametrize("repeat", ["as needed", "until periodic"])
def test_outcomes_are_those_of_runs_one_by_one(weather, repeat: str) -> None:
    planned = [run for run in runs(repeat) if repeat == "as needed" or run.scenario == "tight"]
    wanted = {"settings": DRAFT, "judging": Judging()}
    together = perform_together(planned, weather, **wanted)
    alone = [one for run in planned for one in perform([run], weather, **wanted)]
    for one, other in zip(together, alone, strict=True):
        assert isinstance(one, Outcome)
        assert isinstance(other, Outcome)
        assert one.run is other.run
        found, wanted_findings = one.verdict.findings, other.verdict.findings
        assert [said(f) for f in found] == [said(f) for f in wanted_findings]
        values = [[f.value for f in item] for item in (found, wanted_findings)]
        np.testing.assert_array_equal(*values)
        np.testing.assert_array_equal(one.trace.water, other.trace.water)
        assert one.quality["periodic_rounds"] == other.quality["periodic_rounds"]
    questions = {f.criterion.question for f in together[0].verdict.findings}
    assert questions == ({"service", "closing in"} if repeat == "as needed" else {"service"})


def test_a_run_that_cannot_be_done_leaves_the_others_be(weather) -> None:
    planned = list(runs())[:2]
    wall = replace(planned[0].wall, layers=planned[0].wall.layers, initial=Initial(rh=0.5))
    full = [
        replace(e, initial=Initial(moisture_content=9.0)) if e.name == "sheathing" else e
        for e in wall.layers
    ]
    planned[0] = replace(planned[0], wall=replace(wall, layers=tuple(full)))
    bad, good = perform_together(planned, weather, settings=DRAFT, judging=Judging())
    assert isinstance(bad, Failure)
    assert "moisture content = 9" in bad.error
    assert isinstance(good, Outcome)


def test_the_run_that_writes_its_record_begins_first_and_keeps_its_place(
    weather, tmp_path: Path
) -> None:
    # A second and more goes into its file: begun last, it would be waited for alone.
    tight, *_, last = runs()[:4]
    planned = [tight, replace(last, file=tmp_path / "x.nc", resumable=True)]
    tasks = tasks_of(planned, weather.sizes["time"], DRAFT, cores=2)
    assert [task.places for task in tasks] == [(1,), (0,)]
    found = perform(planned, weather, settings=DRAFT, judging=Judging(), threads=True)
    assert [outcome.run for outcome in found] == planned
