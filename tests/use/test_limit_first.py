"""A scenario run first spares the others where it fails, and changes no verdict."""

from __future__ import annotations

from typing import Any

import pytest
from case_files import write_case
from feature_walls import frame

from hygro.case import climate, load
from hygro.room.models import Constant
from hygro.solve.settings import Settings
from hygro.study import limit as limit_file
from hygro.study.limit import Trial, judged
from hygro.wall.elements import Gap
from hygro.wall.leaks import AirLeak, RainLeak

VALUES = (0.05, 0.75)


@pytest.fixture(scope="module")
def weather(tmp_path_factory: pytest.TempPathFactory):
    return climate(load(write_case(tmp_path_factory.mktemp("case"))))


def trials(weather: Any, monkeypatch: pytest.MonkeyPatch, **more: Any) -> tuple[list[Trial], list]:
    made: list[str] = []
    whole = limit_file.perform_together

    def counted(runs: Any, *rest: Any, **options: Any) -> Any:
        made.extend(run.scenario for run in runs)
        return whole(runs, *rest, **options)

    monkeypatch.setattr(limit_file, "perform_together", counted)
    leaks = [RainLeak("sheathing", 0.001), AirLeak("sheathing", rate=1e-6)]
    wall = frame(Gap("gap", 0.02, 50.0), leaks=leaks)
    judge = judged(
        lambda rh: (wall, Constant(294.15, rh)),
        weather,
        settings=Settings(accuracy="draft", tolerance=10.0),
        repeat="once",
        **more,
    )
    found = list(judge(VALUES))
    monkeypatch.undo()
    return found, made


def test_what_fails_first_is_tried_no_further(weather, monkeypatch) -> None:
    whole, all_made = trials(weather, monkeypatch)
    early, made = trials(weather, monkeypatch, first="both")
    assert [t.passed for t in whole] == [t.passed for t in early] == [True, False]
    assert len(all_made) == 8
    assert sorted(made) == ["air", "both", "both", "rain", "tight"]
    assert {name.rsplit(", ", 1)[1] for name in whole[1].blamed} == {"tight", "rain", "air", "both"}
    assert {name.rsplit(", ", 1)[1] for name in early[1].blamed} == {"both"}
