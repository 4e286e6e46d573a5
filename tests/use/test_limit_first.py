"""One scenario of a wall can be tried alone; no run is made twice."""

from __future__ import annotations

from typing import Any

import pytest
from case_files import write_case
from feature_walls import frame

from hygro.case import climate, load
from hygro.room.models import Constant
from hygro.solve.settings import Settings
from hygro.study import trials as trials_file
from hygro.study.trials import Ask, Trials
from hygro.wall.elements import Gap
from hygro.wall.leaks import AirLeak, RainLeak

VALUES = (0.05, 0.75)


@pytest.fixture(scope="module")
def weather(tmp_path_factory: pytest.TempPathFactory):
    return climate(load(write_case(tmp_path_factory.mktemp("case"))))


def test_a_scenario_tried_alone_is_not_run_again_with_the_others(weather, monkeypatch) -> None:
    made: list[str] = []
    whole = trials_file.in_stages

    def counted(jobs: Any, *rest: Any, **options: Any) -> Any:
        made.extend(job.run.scenario for job in jobs)
        return whole(jobs, *rest, **options)

    monkeypatch.setattr(trials_file, "in_stages", counted)
    leaks = [RainLeak("sheathing", 0.001), AirLeak("sheathing", rate=1e-6)]
    wall = frame(Gap("gap", 0.02, 50.0), leaks=leaks)

    def variant(rh: float) -> Any:
        return wall, Constant(294.15, rh)

    settings = Settings(accuracy="draft", tolerance=10.0)
    trials = Trials(weather, settings=settings, repeat="once")
    (alone,) = trials.of([Ask(variant, VALUES, "both")])
    assert made == ["both", "both"]
    assert [t.passed for t in alone] == [True, False]
    assert {name.rsplit(", ", 1)[1] for name in alone[1].blamed} == {"both"}
    ((together,),) = trials.of([Ask(variant, VALUES[1:])])
    assert sorted(made) == ["air", "both", "both", "rain", "tight"]
    assert {name.rsplit(", ", 1)[1] for name in together.blamed} == {"tight", "rain", "air", "both"}
    assert set(together.scenarios) == {"tight", "rain", "air", "both"}
