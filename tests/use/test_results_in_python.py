"""What Python and notebooks show of a verdict and of a comparison, and the tables they give."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from assess_records import WALL, record
from case_files import write_case
from feature_walls import frame

from hygro.assess import Criterion, verdict, with_changes
from hygro.case import climate, load
from hygro.errors import InputError
from hygro.room.models import Constant
from hygro.solve.settings import Settings
from hygro.study.compare import compare
from hygro.study.perform import perform
from hygro.study.plan import Candidate, plan
from hygro.study.runs import Judging
from hygro.wall.elements import Gap, Initial, Layer
from hygro.wall.leaks import RainLeak

ROOM = Constant(294.15, 0.40)
DRAFT = Settings(accuracy="draft", tolerance=10.0)


@pytest.fixture(scope="module")
def weather(tmp_path_factory: pytest.TempPathFactory):
    return climate(load(write_case(tmp_path_factory.mktemp("case"))))


def walls():
    leak = RainLeak("sheathing", 0.02)
    tight = frame(Gap("gap", 0.02, 50.0))
    return tight, replace(tight, name="leaky", leaks=[leak])


@pytest.fixture(scope="module")
def compared(weather):
    return compare(walls(), weather, ROOM, settings=DRAFT)


def wet():
    humid = np.full((5, 2), 0.5)
    humid[2, 0] = 0.97
    return record(hours=24 * 80, water=130.0, face_rh=humid)


def test_a_verdict_shows_itself_in_a_few_lines() -> None:
    failing = repr(verdict(wet())).splitlines()
    assert failing[0] == "Verdict: fails; sheathing 'osb', 2030-10-01 to 2030-12-20"
    assert any("osb, inner face: mould index" in line for line in failing[2:])
    passing = repr(verdict(record())).splitlines()
    assert passing[0].startswith("Verdict: within limits")
    # the hard finding nearest to its limit: 10 % of 20 %
    assert "10.0 %" in passing[2]
    assert max(len(failing), len(passing)) <= 8


def test_the_table_of_a_notebook_holds_every_finding_and_is_escaped() -> None:
    odd = WALL[1]._replace(name="<b>osb</b> & co")
    found = verdict(record((WALL[0], odd, *WALL[2:])), sheathing=odd.name)
    page = found._repr_html_()
    assert page.count("<tr>") == 1 + len(found.findings)
    assert "<b>osb" not in page
    assert "&lt;b&gt;osb&lt;/b&gt; &amp; co" in page


def test_the_frame_of_a_verdict_has_a_row_a_finding_with_its_unit() -> None:
    found = verdict(wet())
    table = found.to_frame()
    assert len(table) == len(found.findings)
    row = table[(table.criterion == "mc_30d") & (table.place == "osb")].iloc[0]
    # 130 kg/m³ of 600 kg/m³
    assert row.value == pytest.approx(130.0 / 600.0)
    assert (row.limit, row.unit, row.passed, row.hard) == (0.20, "1", False, True)
    # a constant moisture content: the first full window is the highest, 719 h after the start
    assert pd.api.types.is_datetime64_any_dtype(table["when"])
    assert table["service_year"].isna().all()  # a run of 40 days, once
    assert table.attrs["sheathing"] == "osb"
    assert table.attrs["passed"] is False


def test_a_verdict_by_nothing_is_an_empty_frame() -> None:
    found = verdict(record(), criteria=())
    assert found.to_frame().empty
    assert found.passed is None


def test_compare_runs_every_wall_tight_and_with_its_leaks(compared) -> None:
    assert {item.name: len(item.outcomes) for item in compared.walls} == {"framed": 1, "leaky": 2}
    tight, leaky = compared.wall("framed"), compared.wall("leaky")
    assert leaky.tight.numbers == tight.tight.numbers  # the leaky wall without its leaks is framed
    assert leaky.leaky.numbers["leak_rain"] > 0.0
    assert compared.walls[0].margin >= compared.walls[1].margin


def test_compare_gives_what_the_plan_gives(compared, weather) -> None:
    runs = plan([Candidate(wall, ROOM) for wall in walls()])
    again = perform(runs, weather, settings=DRAFT, judging=Judging(), processes=1)
    mine = [o.verdict for item in compared.walls for o in item.outcomes]
    assert sorted(v.to_json() for v in mine) == sorted(o.verdict.to_json() for o in again)


def test_a_comparison_is_read_in_a_terminal_a_notebook_and_a_script(compared) -> None:
    lines = repr(compared).splitlines()
    assert lines[3:] == [f"  note: {note}" for note in compared.notes]
    assert len(set(compared.notes)) == len(compared.notes) > 0
    assert lines[1].startswith(f"1 {compared.walls[0].name}: ")
    assert compared._repr_html_().count("<tr>") == 3
    assert [row["wall"] for row in json.loads(compared.to_json())] == [
        item.name for item in compared.walls
    ]
    table = compared.to_frame()
    outcomes = [o for item in compared.walls for o in item.outcomes]
    assert len(table) == sum(len(o.verdict.findings) for o in outcomes)
    assert set(zip(table.wall, table.scenario, strict=True)) == {
        ("framed", "tight"),
        ("leaky", "tight"),
        ("leaky", "rain"),
    }


def drowned(wall):
    """More water in the first layer than its pores hold."""
    first = next(e for e in wall.layers if isinstance(e, Layer))
    wet = replace(first, initial=Initial(moisture_content=15.0))
    return replace(wall, name="drowned", layers=[wet if e is first else e for e in wall.layers])


def test_a_run_that_cannot_be_done_stands_in_the_comparison(weather) -> None:
    storm = drowned(walls()[0])
    found = compare([walls()[0], storm], weather, ROOM, settings=DRAFT)
    assert {item.run.name for item in found.failed} == {"drowned"}
    assert "not computed" in repr(found)
    assert [item.name for item in found.walls] == ["framed"]


def test_compare_refuses_two_walls_of_one_name_and_none(weather) -> None:
    with pytest.raises(InputError, match="one name twice"):
        compare([walls()[0], walls()[0]], weather, ROOM)
    with pytest.raises(InputError, match="none given"):
        compare([], weather, ROOM)
    with pytest.raises(InputError, match=r"no wall 'framd'.*did you mean 'framed'"):
        compare(walls()[0], weather.isel(time=slice(0, 8760)), ROOM, settings=DRAFT).wall("framd")


def test_a_criterion_that_other_processes_cannot_get_is_named(weather) -> None:
    mine = Criterion(key="mine", quantity="q", limit=1.0, judge=lambda *_: ())
    runs = plan([Candidate(wall, ROOM) for wall in walls()])
    with pytest.raises(InputError, match=r"'mine': cannot be handed to another process.*lambda"):
        perform(runs, weather, settings=DRAFT, judging=Judging((mine,)), processes=2)
    found = compare(walls()[0], weather, ROOM, settings=DRAFT, criteria=(mine,))
    assert found.walls[0].tight.verdict.findings == ()


def test_compare_judges_by_the_criteria_it_is_given(weather) -> None:
    strict = with_changes("mc_30d", limit=0.01)
    found = compare(walls()[0], weather, ROOM, settings=DRAFT, criteria=strict, skip_days=10)
    (item,) = found.walls
    assert item.passed is False
    assert "limit at most 1.0 %: beyond limit" in item.nearest
    assert item.nearest.endswith("the first 10 days are left out")
