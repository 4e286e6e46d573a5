"""What stands in tables, files and figures, column by column, on invented outcomes."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import xarray as xr
from assess_records import record
from rich.table import Table
from test_outputs import HAND, finding, outcome
from test_show_figures import DAYS, invented

from hygro.assess.criteria import CRITERIA
from hygro.assess.judge import verdict
from hygro.assess.questions import windows
from hygro.assess.verdict import Verdict
from hygro.show import climate, findings, panels, refined, side_by_side, why
from hygro.show.converted import converted
from hygro.show.files import csv_text, told_of
from hygro.solve.settings import Settings
from hygro.study.certainty import Certainty, Change, certainty, finer
from hygro.study.compare import Compared, paired
from hygro.study.runs import Failure, Outcome
from hygro.study.trace import trace


def cells(table: Table, row: int = 0) -> list[str]:
    return [list(column.cells)[row] for column in table.columns]


def numbered(**more: object) -> Outcome:
    found = outcome("x")
    return replace(found, numbers={**found.numbers, **more})


def judged(*findings: object) -> Outcome:
    return replace(outcome("x"), verdict=Verdict(tuple(findings), "osb", "", 0.0, "", ""))


def test_every_column_of_the_comparison_shows_its_number() -> None:
    head, part = side_by_side.comparison([Compared("x", (numbered(mc_24h_max=0.9),))])
    heads = [str(column.header).replace("\n", " ") for column in head.columns]
    shown = dict(zip(heads, cells(part), strict=True))
    # MC 0.111, skin 0.123, index 0.5, RH 0.8 of the invented outcome
    expected = {"MC 30 d %": "11.1", "skin %": "12.3", "Mould index": "0.5", "RH 30 d %": "80.0"}
    assert {key: shown[key] for key in expected} == expected
    assert str(part.title).startswith("1 x")
    wet = side_by_side.comparison([Compared("x", (numbered(mc_30d_max=0.31),))])[1]
    assert "> 28" in cells(wet)


def test_columns_by_hand_are_share_and_least_share() -> None:
    # outboard 0.4, least 0.3
    assert cells(side_by_side.walls([Compared("x", (outcome("x"),))]))[4:] == ["40", "30"]


def test_the_winter_is_told_in_the_unit_family_asked_for() -> None:
    words = " ".join(side_by_side.legend([Compared("x", (outcome("x"),))], system="ip"))
    # 263.15 K and 293.15 K
    assert "outdoors 14.0 °F, indoors 68.0 °F and 40 % RH" in words


def test_findings_stand_with_value_before_limit_and_advice_apart() -> None:
    hard = CRITERIA[1].finding("osb", 0.15)
    soft = replace(CRITERIA[1], hard=False).finding("osb", 0.25)
    found = findings.findings(judged(hard, soft).verdict)
    assert [len(table.rows) for table in found] == [1, 1]
    assert cells(found[0])[2:5] == ["15.0 %", "20.0 %", "+25 %"]
    assert cells(found[1])[2:] == ["25.0 %", "20.0 %", "-25 %", "beyond limit"]


@pytest.mark.parametrize(
    ("value", "told"), [(0.15, []), (0.25, ["beyond limit"]), (None, ["not judged"])]
)
def test_reasons_are_those_of_what_does_not_hold(value: float | None, told: list[str]) -> None:
    lines = why.reasons([Compared("x", (judged(CRITERIA[1].finding("osb", value)),))])
    assert [word for word in ("beyond limit", "not judged") if word in " ".join(lines)] == told
    assert bool(lines) is bool(told)


def serviced(rounds: int) -> Outcome:
    """An invented outcome with the note of a record of so many rounds."""
    note = windows(record(hours=8760).assign_attrs(periodic_rounds=rounds)).note
    found = outcome("x")
    return replace(found, verdict=replace(found.verdict, notes=(note, "of metal")))


def test_what_is_to_know_of_several_walls_is_said_once() -> None:
    walls = [Compared(name, (serviced(n),)) for name, n in (("a", 3), ("b", 2), ("c", 5))]
    service, metal = why.notes(walls)
    assert service.startswith("service: the year after 2 to 5 rounds of the weather; ")
    assert metal == "of metal"
    alike = [Compared("a", (serviced(3),)), Compared("b", (serviced(3),))]
    assert "the year after 3 rounds of the weather" in why.notes(alike)[0]
    assert len(why.notes(alike)) == 2


def test_a_note_on_leaks_names_the_walls_that_have_it() -> None:
    none = "the rain leak let no water in"
    walls: Any = [
        SimpleNamespace(name=name, leak_notes=notes, outcomes=())
        for name, notes in (("a", (none,)), ("b", ()), ("c", (none, "of c")), ("d", (none,)))
    ]
    assert why.notes(walls) == ["a, c, d", f"  {none}", "c", "  of c"]


def test_files_of_a_comparison_are_named_and_sections_counted() -> None:
    names = ("comparison.csv", "comparison.json", "comparison.png", "reserve.png")
    walls = ("section-a.png", "section-b.png")
    assert told_of([Path("out") / name for name in (*names, *walls)]) == (
        "comparison.csv, comparison.json, comparison.png, reserve.png, 2 sections (section-*.png)"
    )
    assert told_of([Path("out") / name for name in names[:2]]) == "comparison.csv, comparison.json"


def test_error_of_the_grid_is_twice_the_change_with_its_sign() -> None:
    change = Change("mc_30d_max", 0.111, 0.109)
    # the finer run is lower by 0.2 %: the run is too high by twice that
    assert change.error == pytest.approx(0.004, abs=1e-12)
    up = Change("mc_30d_max", 0.109, 0.111)
    checks = [Certainty("rain", Settings(), (change, up), (), 0.0)]
    table = refined.certainty(checks)
    assert cells(table)[1:] == ["rain", "11.10", "10.90", "+0.40"]
    assert cells(table, 1)[2:] == ["10.90", "11.10", "-0.40"]


def test_the_finer_run_halves_cells_and_quarters_the_tolerance() -> None:
    found = finer(Settings(parts=2, tolerance=1.0))
    assert (found.parts, found.tolerance) == (4, 0.25)


def test_criteria_that_turn_are_named() -> None:
    fine = judged(finding(-0.1, False))
    assert certainty(judged(finding(0.1, True)), fine, Settings()).turned == ("mc_30d at osb",)
    assert certainty(fine, fine, Settings()).turned == ()


def test_the_reserve_and_the_drying_of_a_wall_are_those_of_its_worst_scenario() -> None:
    drying = next(row for row in CRITERIA if row.key == "drying")
    runs = [judged(finding(0.5, True), drying.finding("osb", days)) for days in (10.0, 200.0)]
    item = Compared("x", tuple(runs))
    assert item.days_to_dry == 200.0
    assert item.margin == pytest.approx(1 - 200 / 365)


def test_a_wall_of_which_a_run_failed_is_not_ranked() -> None:
    tight, other = outcome("x"), outcome("y")
    found = paired([tight, other, Failure(tight.run, "no")])
    assert [item.name for item in found] == ["y"]


def test_daily_series_are_in_celsius_and_of_the_whole_wall() -> None:
    ds = record(face_temperature=283.15)
    ds["outdoor_temperature"][:] = 268.15 + np.where(np.arange(961) % 24 == 12, 24.0, 0.0)
    found = trace(ds, verdict(ds))
    assert found.temperature[3] == pytest.approx(10.0)
    # −5 °C and one hour of +24 K in the day
    assert found.outdoor[3] == pytest.approx(-4.0)
    # 10 % by mass of 20 mm of 1800, 12 of 600, 140 of 20 and 12.5 of 700 kg/m³
    expected = 0.1 * (0.02 * 1800 + 0.012 * 600 + 0.14 * 20 + 0.0125 * 700)
    assert found.water[3] == pytest.approx(expected)


def test_panels_are_drawn_in_per_cent_with_their_limits() -> None:
    moisture, mould, humidity = panels.PANELS
    run = invented(0)._replace(
        moisture=np.full(730, 0.15), mould=np.full(730, 2.0), humidity=np.full(730, 0.7), day=DAYS
    )
    drawn = [panel.values(run) for panel in (moisture, mould, humidity)]
    assert [float(x[400]) for x in drawn] == pytest.approx([15.0, 2.0, 70.0])
    # 20 % by mass (common practice), index 3, 80 %
    assert [panel.limit for panel in panels.PANELS] == [20.0, 3.0, 80.0]


def test_the_file_of_the_comparison_has_each_number_under_its_head() -> None:
    numbers = {"mc_30d_max": 0.111, "mc_24h_max": 0.222, "rain_incident": 12.5, "drained": 0.25}
    runs = (replace(outcome("x", margin=0.25), numbers=numbers), outcome("x", leaks=True))
    (row, _) = csv.DictReader(io.StringIO(csv_text([Compared("x", runs)])))
    assert {key: float(row[key]) for key in numbers} == numbers
    assert row["mould_index_max"] == ""
    assert (float(row["U"]), float(row["outboard_share"]), float(row["least_share"])) == (
        HAND.U, 0.4, 0.3,
    )  # fmt: skip
    assert (row["passed"], float(row["margin"])) == ("yes", 0.25)
    open_ = Compared("x", (outcome("x", margin=None, passed=None),))
    assert next(csv.DictReader(io.StringIO(csv_text([open_]))))["passed"] == ""


def test_differences_of_temperature_have_no_offset() -> None:
    assert converted("warmer by 5 K", "ip") == "warmer by 9.0 °F"


def test_the_climate_in_the_other_unit_family() -> None:
    weather = xr.Dataset(
        {
            "global_horizontal": ("time", np.array([0.0, 315.459, 630.918]), {"units": "W/m2"}),
            "precipitation": ("time", np.array([0.0, 25.4, 50.8]), {"units": "kg/m2"}),
        }
    )
    table = climate.variables(weather, system="ip")
    # 3.15459 W/m² is one Btu/(h·ft²); 25.4 mm an inch
    assert cells(table)[2:5] == ["0", "100", "200"]
    assert cells(table, 1)[2:5] == ["0.00", "1.00", "2.00"]


def test_altitude_and_degree_days_in_the_other_unit_family() -> None:
    summary = {
        "heating_degree_days_18_3": 1000.0, "heating_degree_days": 900.0,
        "cooling_degree_days": 500.0, "moisture_regime": None, "thermal_zone": 5, "rain": None,
    }  # fmt: skip
    place = {"latitude": 50.0, "longitude": 8.0, "altitude": 304.8, "utc_offset_hours": 1.0}
    known = {"summary": summary, "findings": [], "source": "x", "kind": "typical year",
             "hours": 8760, "first": "a", "last": "b", "place": place}  # fmt: skip
    words = " ".join(climate.lines(known, system="ip"))
    assert "1000 ft" in words
    assert "heating degree days 1800 °F·d (base 64.9 °F), 1620 (base 64.4 °F)" in words
    assert "cooling degree days 900 °F·d (base 50.0 °F)" in words
