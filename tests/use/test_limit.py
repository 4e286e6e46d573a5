"""`hygro limit`: windows of one number of a case, judged as `compare` judges."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest
from case_files import write_case
from typer.testing import CliRunner, Result

import hygro.study.along as study_along
from hygro.assess.criteria import CRITERIA
from hygro.case import climate, load
from hygro.cli import app
from hygro.errors import InputError, SolveError
from hygro.study import stages
from hygro.study.limit import Limit, limit
from hygro.study.trials import Trial


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Stores and figures go where the command is typed."""
    monkeypatch.chdir(tmp_path)


def hygro(*arguments: str) -> Result:
    return CliRunner().invoke(app, list(arguments))


def passing(rule: Callable[[float], bool]) -> Callable[[Sequence[float]], list[Trial]]:
    def judge(values: Sequence[float]) -> list[Trial]:
        return [
            Trial(v, rule(v), () if rule(v) else ("mc at osb",), () if rule(v) else ("too wet",))
            for v in values
        ]

    return judge


def test_one_edge_is_bracketed_to_the_width_asked() -> None:
    found = limit(passing(lambda x: x < 3.7), 0.0, 10.0, within=0.01)
    (window,) = found.windows
    assert window.low is None
    assert window.high is not None
    assert window.high.inside < 3.7 <= window.high.outside
    assert window.high.outside - window.high.inside <= 0.01
    assert window.high.reasons == ("too wet",)


def test_a_window_inside_the_range_has_two_edges() -> None:
    found = limit(passing(lambda x: 0.3 <= x <= 4.0), 0.05, 50.0)
    (window,) = found.windows
    assert window.low is not None
    assert window.high is not None
    # equal ratios: 1/64 of the logarithm of the range, 1000 ** (1/64) = 1.114
    assert window.low.outside < 0.3 <= window.low.inside <= 1.114 * window.low.outside
    assert window.high.inside <= 4.0 < window.high.outside <= 1.114 * window.high.inside
    said = "\n".join(found.at("wall", "permeance", "perm").lines())
    assert f"within limits between {window.first:.4g} and {window.last:.4g} perm" in said
    assert f"below that, at {window.low.outside:.4g} perm" in said


def test_a_limit_is_written_in_a_few_lines() -> None:
    trials = tuple(Trial(float(x), x in (2, 3), ("mc",), (f"too wet at {x}",)) for x in range(1, 5))
    told = repr(Limit(trials))
    assert "between 2 and 3" in told
    assert "at 1" in told
    assert "too wet at 4" in told
    assert len(told) < 400


def test_a_limit_found_in_python_names_its_number_and_unit(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = load(write_case(tmp_path))
    item = case.wall("leaky")
    monkeypatch.setattr(study_along, "judged", lambda *_, **__: passing(lambda x: x < 3.0))
    rain = "leaks.rain[0].fraction"
    found = study_along.limit(item.wall, climate(case), item.room, rain, "0 %", "5 %")
    first, within, *_ = str(found).splitlines()
    assert re.fullmatch(r"leaky, leaks\.rain\[0\]\.fraction: tried 0 % to 5 %, \d+ values", first)
    assert within.startswith("within limits between 0 and 2.9")
    assert within.endswith(" %")


def test_two_windows_are_both_told() -> None:
    found = limit(passing(lambda x: x < 2.0 or 5.0 < x < 8.0), 0.0, 10.0)
    assert len(found.windows) == 2
    assert any("more than one window" in line for line in found.lines())


@pytest.mark.parametrize("always", [True, False])
def test_a_range_without_a_turn_is_not_called_more_than_tried(always: bool) -> None:
    found = limit(passing(lambda _: always), 0.0, 1.0)
    assert len(found.trials) == 8
    text = repr(found)
    assert ("within limits at every value tried" if always else "beyond limits at every") in text


def test_values_said_are_values_run() -> None:
    found = limit(passing(lambda x: x < 1 / 3), 0.0, 1.0)
    assert all(trial.value == float(f"{trial.value:.4g}") for trial in found.trials)


@pytest.mark.parametrize(("low", "high", "within"), [(1.0, 0.0, None), (0.0, 1.0, 0.0)])
def test_an_empty_range_is_refused(low: float, high: float, within: float | None) -> None:
    with pytest.raises(InputError, match="low < high"):
        limit(passing(bool), low, high, within=within)


def test_too_many_values_are_refused() -> None:
    with pytest.raises(InputError, match="were not enough"):
        limit(passing(lambda x: x < 0.5), 0.0, 1.0, within=1e-12, max_trials=20)


COARSE = ('accuracy = "draft"', 'accuracy = "draft"\ntolerance = 10\nrepeat = "once"')
# the sheathing of this year reaches 24 % without leaks, more with them
SOFT = [row.key for row in CRITERIA if row.hard and row.key != "mc_30d"]
DRIER = ('rh = "45 %"', 'rh = "35 %"')
"""A room in which the tight wall stays within limits."""
ONLY_MC = (
    "[settings]",
    "\n".join(f"[criteria.change.{key}]\nhard = false" for key in SOFT)
    + "\n[criteria.change.mc_30d]\nlimit = 0.25\n\n[settings]",
)
WHERE = 'wall."leaky".leaks.rain.fraction'


def passed(case: Path, **leak: object) -> bool:
    """What `compare` says of the leaky wall."""
    told = json.loads(hygro("compare", str(case), "--json", "--processes", "1").stdout)
    return next(wall for wall in told if wall["wall"] == "leaky")["passed"]


def test_limit_and_compare_agree_on_both_sides_of_the_edge(tmp_path: Path) -> None:
    case = write_case(tmp_path, COARSE, ONLY_MC, DRIER)
    answer = hygro("limit", str(case), WHERE, "--low", "0", "--high", "100 %", "--json")
    assert answer.exit_code == 0, answer.output
    found = json.loads(answer.stdout)
    assert (found["wall"], found["unit"]) == ("leaky", "%")
    edge = found["windows"][-1]["high"]
    assert edge is not None
    assert 0.0 <= edge["inside"] < edge["outside"] <= 100.0
    assert edge["blamed"] == ["mc_30d at sheathing, rain"]
    for value, expected in ((edge["inside"], True), (edge["outside"], False)):
        leak = f'leaks.rain = {{ at = "sheathing", fraction = "{value!r} %" }}'
        folder = tmp_path / f"at {value}"
        folder.mkdir()
        changed = write_case(
            folder, COARSE, ONLY_MC, DRIER, ('leaks.rain = { at = "sheathing" }', leak)
        )
        assert passed(changed) is expected


def test_limit_keeps_its_runs_and_makes_none_twice(tmp_path: Path) -> None:
    case = write_case(tmp_path, COARSE, ONLY_MC, DRIER)
    told = ("limit", str(case), WHERE, "--low", "0", "--high", "100 %", "--within", "50 %")
    first, again = hygro(*told), hygro(*told)
    assert first.exit_code == 0, first.output
    made = [re.search(r"(\d+) runs made", answer.stderr)[1] for answer in (first, again)]  # type: ignore[index]
    # eight values of the range, with rain and without: the tight wall is one run for all of them
    assert made == ["9", "0"]
    assert again.stdout == first.stdout
    name = "limit-fraction-rain-leaks-leaky"
    assert Path(f"results/{name}.study").is_file()
    rows = list(csv.DictReader(Path(f"results/{name}.csv").read_text().splitlines()))
    kept = json.loads(Path(f"results/{name}.json").read_text())
    assert [float(row[WHERE]) for row in rows] == [trial["value"] for trial in kept["trials"]]
    assert [row["passed"] == "True" for row in rows] == [t["passed"] for t in kept["trials"]]
    assert kept["own"] == 1.0  # a leak takes 1 % where nothing is said
    assert Path(f"results/{name}.png").stat().st_size > 10_000


def test_a_wall_that_fails_without_its_leaks_is_not_within_limits(tmp_path: Path) -> None:
    # 1 % by mass: above it at any humidity, with and without the leak
    strict = ("[settings]", "[criteria.change.mc_30d]\nlimit = 0.01\n\n[settings]")
    case = write_case(tmp_path, COARSE, strict)
    answer = hygro("limit", str(case), WHERE, "--low", "0", "--high", "0.5", "--json")
    found = json.loads(answer.stdout)
    assert found["windows"] == []
    assert all("mc_30d at sheathing, tight" in t["blamed"] for t in found["trials"])


def test_limit_takes_a_case_with_removed_and_changed_elements(tmp_path: Path) -> None:
    derived = (
        'base = "plain"',
        'base = "plain"\nremove = ["paint"]\nchange.batt.thickness = "90 mm"',
    )
    case = write_case(tmp_path, COARSE, ONLY_MC, derived)
    where = 'wall."leaky".layers."batt".thickness'
    answer = hygro("limit", str(case), where, "--low", "50 mm", "--high", "200 mm", "--json")
    assert answer.exit_code == 0, answer.output
    trials = json.loads(answer.stdout)["trials"]
    assert [trials[0]["value"], trials[-1]["value"]] == [50.0, 200.0]
    # the thickness does vary, and is not changed back to 90 mm: the reasons differ
    assert len({tuple(t["reasons"]) for t in trials}) > 1


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--low", "20 mm", "--high", "5 perm"), "write all in the same unit"),
        (("--low", "0 mm", "--high", "5 mm"), "not a unit of fraction"),
        (("--low", "x", "--high", "5"), "must start with a number"),
        (("--low", "0", "--high", "5"), "must be 0 to 1; is it in percent?"),
        (("--low", "1 %", "--high", "0"), "low < high"),
        (("--low", "0", "--high", "1", "--wall", "plain"), "another wall"),
    ],
)
def test_what_cannot_be_tried_is_refused(
    tmp_path: Path, arguments: tuple[str, ...], words: str
) -> None:
    answer = hygro("limit", str(write_case(tmp_path)), WHERE, *arguments)
    assert answer.exit_code == 2, answer.output
    assert words in answer.stderr


def test_edges_of_a_limit_are_those_of_its_outer_windows() -> None:
    trials = tuple(Trial(float(i), i in (1, 3)) for i in range(5))
    found = Limit(trials)
    assert found.lowest is not None
    assert found.highest is not None
    assert (found.lowest.inside, found.lowest.outside) == (1.0, 0.0)
    assert (found.highest.inside, found.highest.outside) == (3.0, 4.0)


def test_a_value_that_cannot_be_computed_is_not_within_limits(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = stages.march_many

    def stops(given: Any, **more: Any) -> Any:
        given = list(given)
        for k, ds in whole(given, **more):
            rain = given[k][0].leaks.rain
            fails = bool(rain) and rain[0].fraction > 0.5
            yield k, SolveError("the march could not go on") if fails else ds

    monkeypatch.setattr(stages, "march_many", stops)
    case = write_case(tmp_path, COARSE, ONLY_MC)
    answer = hygro("limit", str(case), WHERE, "--low", "0", "--high", "1", "--json")
    assert answer.exit_code == 3, answer.output
    assert re.search(r"error: \d of \d+ points could not be computed; the first: ", answer.stderr)
    last = json.loads(answer.stdout)["trials"][-1]
    assert (last["passed"], last["blamed"]) == (False, ["not computed, rain"])
    assert "the march could not go on" in last["reasons"][0]
    monkeypatch.setattr(stages, "march_many", stops_always)
    other = ("--store", "other.study")
    answer = hygro("limit", str(case), WHERE, "--low", "0", "--high", "1", *other)
    assert answer.exit_code == 2
    assert "nothing runs" in answer.stderr


def stops_always(given: Any, **_: Any) -> Any:
    yield from ((k, SolveError("nothing runs")) for k, _ in enumerate(given))
