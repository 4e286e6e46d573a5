"""Numbers on their way out: units, heads, order, windows. Values worked out by hand."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import netCDF4
import numpy as np
import pytest
from assess_records import record
from case_files import write_case
from rich.console import Console
from test_show_figures import DAYS, invented
from typer.testing import CliRunner, Result

from hygro.assess.criteria import CRITERIA, Finding
from hygro.assess.criteria.moisture import DRYING
from hygro.assess.judge import verdict as judge
from hygro.assess.verdict import Verdict
from hygro.case import load as load_case
from hygro.cli import app
from hygro.record import load
from hygro.show import by_hand, climate, figures, panels, side_by_side, why
from hygro.show.converted import converted
from hygro.show.files import csv_text
from hygro.show.words import facing
from hygro.solve.settings import Settings
from hygro.study.certainty import certainty
from hygro.study.compare import Compared, paired
from hygro.study.hand import HandNumbers, LayerRow
from hygro.study.plan import PlannedRun
from hygro.study.runs import Outcome
from hygro.study.trace import daily, trace

NUMBERS = {
    "mc_30d_max": 0.111, "mc_30d_skin_max": 0.123, "mc_24h_max": 0.222, "mould_index_max": 0.5,
    "rh_30d_max": 0.8, "condensate_formed": 0.25,
    "condensation_hours": 7, "dew_point_hours": 8, "hours_mc_above_20": 9,
}  # fmt: skip
HAND = HandNumbers(
    rows=(LayerRow("foam", "XPS", 0.0254, 1.0, 57.2e-12),),
    U=1.0, U_effective=2.0, sheathing="osb", outboard_share=0.4, least_share=0.3,
    winter_outdoor=263.15, winter_indoor=293.15, winter_rh=0.4, shoulder_rh=0.5,
    face_temperature=283.15,
    highest_rh=0.5, notes=("10 °C mean",),
)  # fmt: skip


def hygro(*arguments: str) -> Result:
    return CliRunner().invoke(app, list(arguments))


def finding(margin: float | None, passed: bool | None) -> Finding:
    row = CRITERIA[1]
    value = None if margin is None else row.limit * (1 - margin)
    return Finding(row, "osb", value, row.limit, margin, passed, True, None, "reason")


def outcome(
    name: str, *, leaks: bool = False, margin: float | None = 0.5, passed: bool | None = True
) -> Outcome:
    item = load_case("demonstration").walls[0]
    run = PlannedRun(
        name, item.wall, item.room, "rain" if leaks else "tight", room_name="hall", place="Town"
    )
    found = Verdict((finding(margin, passed),), "osb", "", 0.0, "", "")
    return Outcome(run, found, dict(NUMBERS), HAND, invented(0), {})


def text_of(piece: object) -> str:
    buffer = io.StringIO()
    Console(file=buffer, width=120).print(piece)
    return buffer.getvalue()


def test_the_ranking_counts_the_run_with_leaks() -> None:
    runs = [
        outcome("dry only without leaks", margin=0.9),
        outcome("dry only without leaks", leaks=True, margin=-0.2, passed=False),
        outcome("steady", margin=0.3),
        outcome("steady", leaks=True, margin=0.1),
    ]
    found = paired(runs)
    assert [item.name for item in found] == ["steady", "dry only without leaks"]
    assert [item.margin for item in found] == [0.1, -0.2]
    assert [item.passed for item in found] == [True, False]


def test_what_was_not_judged_does_not_pass() -> None:
    open_ = outcome("x", leaks=True, margin=None, passed=None)
    item = Compared("x", (outcome("x"), open_))
    assert item.passed is None
    assert item.outcome == "not judged"
    assert Compared("x", (outcome("x", passed=False), open_)).passed is False


def test_a_margin_that_shrinks_on_the_finer_grid_has_a_minus() -> None:
    found = certainty(outcome("x", margin=0.5), outcome("x", margin=0.4), Settings())
    # 40 % minus 50 %; 1e-12: round-off of one difference
    assert found.margin == pytest.approx(-0.1, abs=1e-12)


def test_daily_curves_run_forward_in_time() -> None:
    hours = 24 * 40
    ramp = np.linspace(0.3, 0.6, hours + 1)
    ds = record(hours=hours, face_rh=ramp[:, None, None])
    found = trace(ds, judge(ds))
    # the first day holds the ends of hours 1 to 24, whose mean is the ramp at 12.5 h
    assert found.humidity[0] == pytest.approx(0.3 + 0.3 * 12.5 / hours, abs=1e-9)
    assert found.humidity[-1] == pytest.approx(0.3 + 0.3 * (hours - 11.5) / hours, abs=1e-9)
    assert found.day[0] == np.datetime64("2030-10-01")
    assert daily(np.array([99.0, *np.arange(24.0), *np.full(24, 5.0)])).tolist() == [11.5, 5.0]


def test_the_humidity_in_the_figure_is_a_mean_of_seven_days() -> None:
    humidity = np.zeros(730)
    humidity[100] = 0.7
    (panel,) = [p for p in panels.PANELS if "7-day" in p.title()]
    drawn = panel.values(replace_trace(humidity))
    assert drawn is not None
    # 70 % on one day of seven
    assert drawn[100:107] == pytest.approx(np.full(7, 10.0), abs=1e-9)
    assert drawn[99] == pytest.approx(0.0, abs=1e-9)
    assert drawn[107] == pytest.approx(0.0, abs=1e-9)


def replace_trace(humidity: np.ndarray) -> object:
    return invented(0)._replace(humidity=humidity, day=DAYS)


def test_the_column_of_thirty_days_shows_the_mean_of_thirty_days() -> None:
    head, part = side_by_side.comparison([Compared("x", (outcome("x"),))])
    columns = [str(column.header).replace("\n", " ") for column in head.columns]
    shown = dict(zip(columns, (next(iter(c.cells)) for c in part.columns), strict=True))
    assert (shown["MC 30 d %"], shown["skin %"]) == ("11.1", "12.3")


@pytest.mark.parametrize(
    ("system", "thickness", "R", "permeance", "unit"),
    # 25.4 mm is an inch; 1 m²·K/W is 5.678 ft²·h·°F/Btu; 57.2 ng/(Pa·s·m²) is one US perm
    [("ip", "1", "5.7", "1.00", "in perm"), ("si", "25.4", "1.00", "57.2", "mm ng/(Pa·s·m²)")],
)
def test_values_of_layers_are_in_the_unit_of_their_heads(
    system: str, thickness: str, R: str, permeance: str, unit: str
) -> None:
    table = by_hand.hand(HAND, system=system)
    cells = [next(iter(column.cells)) for column in table.columns]
    assert cells[2:] == [thickness, R, permeance]
    heads = [str(column.header).split("\n")[-1] for column in table.columns]
    assert f"{heads[2]} {heads[4]}" == unit


def test_transmittances_are_in_the_unit_of_their_heads() -> None:
    table = side_by_side.walls([Compared("x", (outcome("x"),))], system="ip")
    cells = [next(iter(column.cells)) for column in table.columns]
    # 1 W/(m²·K) is 0.17611 Btu/(h·ft²·°F): 1 / 5.678263; effective is twice that here
    assert cells[2:4] == ["0.3522", "0.1761"]
    assert "Btu/(h·ft²·°F)" in str(table.columns[2].header)


def test_resistance_is_said_once_in_either_family() -> None:
    ip = by_hand.hand_lines(HAND, system="ip")
    assert "U 0.1761 Btu/(h·ft²·°F), R-5.7 from air to air" in ip[0]
    assert "R R" not in " ".join(ip)
    assert "R 1.00 m²·K/W from air to air" in by_hand.hand_lines(HAND)[0]
    assert "50.0 °F" in ip[-1]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        # 0.5 kg/m²: 500 g / 28.3495 g per oz / 10.7639 ft² per m² = 1.6386 oz/ft²
        ("water 0.5 kg/m² (at 2001-01-01T00)", "water 1.64 oz/ft² (at 2001-01-01T00)"),
        ("mean temperature 5-40 °C", "mean temperature 41.0-104.0 °F"),
        ("lowest -3.2 °C; 4 h", "lowest 26.2 °F; 4 h"),
        ("gap of 12.7 mm", "gap of 1/2 in"),
        ("mould index 3.1, 80.0 %", "mould index 3.1, 80.0 %"),
        ("5.81e-05 kg/m²", "0.00 oz/ft²"),
        # 1.76 m²·K/W / 0.17611 = 9.99; 0.5 W/(m²·K) / 5.678263 = 0.0881
        ("zone 7: R 1.76 m²·K/W outboard", "zone 7: R-10.0 outboard"),
        ("U 0.5 W/(m²·K)", "U 0.0881 Btu/(h·ft²·°F)"),
        # 0.1 L/(s·m²) = 1e-4 m/s = 0.019685 ft/min; 57.2 ng/(Pa·s·m²) is 1 perm
        ("room air: 0.1 L/(s·m²), constant", "room air: 0.0197 cfm/ft², constant"),
        ("57.2 ng/(Pa·s·m²)", "1.00 perm"),
        ("10 K·d of degree days", "10 K·d of degree days"),
    ],
)
def test_sentences_are_converted(text: str, expected: str) -> None:
    assert converted(text, "ip") == expected
    assert converted(text, "si") == text


def test_nothing_of_the_other_family_is_left_in_ip(tmp_path: Path) -> None:
    result = hygro("run", str(write_case(tmp_path)), "--wall", "leaky", "--units", "ip", "--check")
    assert result.exit_code == 0, result.output
    for unit in ("kg/m²", "°C", "mm ", "W/(m²·K)", "m²·K/W", "R R-"):
        assert unit not in result.stdout, unit


def test_wind_is_shown_in_miles_an_hour(tmp_path: Path) -> None:
    # 3 m/s of the invented year: 3 / 0.44704 = 6.7 mph; 100 W/m² by noon is 31.7 Btu/(h·ft²)
    out = hygro("weather", str(write_case(tmp_path)), "--units", "ip").stdout
    line = next(line for line in out.splitlines() if line.strip().startswith("wind_speed"))
    assert line.split() == ["wind_speed", "mph", "6.7", "6.7", "6.7", "0.0"]
    sun = next(line for line in out.splitlines() if line.strip().startswith("global_horizontal"))
    assert sun.split()[1] == "Btu/(h·ft²)"
    assert sun.split()[-2] == "32"
    assert "328 ft" in out  # 100 m


SKIPPED = '[criteria]\nskip_days = 100\n\n[settings]\nrepeat = "once"'


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("case")
    case = str(write_case(folder, ("[settings]", SKIPPED)))
    result = hygro("compare", case, "--out", str(folder / "out"), "--processes", "1")
    assert result.exit_code == 0, result.output
    return folder / "out"


def test_a_record_says_the_unit_of_what_it_holds(folder: Path) -> None:
    with netCDF4.Dataset(folder / "plain.nc") as raw:
        room = raw.variables["indoor_temperature"]
        assert room.units == "K"
        assert room[:].mean() == pytest.approx(294.15, abs=1e-6)  # 21 °C of the case
        water = raw.variables["layer_water"]
        assert water.units == "kg m-2"
        sheathing = list(raw.variables["layer_name"][:]).index("sheathing")
        depth = raw.variables["cell_layer"][:] == sheathing
        content = raw.variables["water_content"][0, depth]
        assert raw.variables["water_content"].units == "kg m-3"
        # 11 mm of board: kg/m³ times 0.011 m
        expected = float(content.mean()) * 0.011
        assert water[0, sheathing] == pytest.approx(expected, rel=1e-6)
        # an OSB of 500 to 700 kg/m³ at 80 % RH holds 8 to 18 % by mass: 0.44 to 1.4 kg/m²
        assert 0.4 < water[0, sheathing] < 1.5


def test_days_that_are_skipped_are_not_judged(folder: Path) -> None:
    told = json.loads((folder / "comparison.json").read_text(encoding="utf-8"))
    (run,) = next(wall for wall in told if wall["wall"] == "plain")["runs"]
    assert run["verdict"]["skip_days"] == 100
    # 1 January and 100 days: 31 + 28 + 31 = 90, so 11 April
    assert run["verdict"]["start"] == "2001-04-11T00"
    ds = load(folder / "plain.nc")
    water = ds["layer_water"].values[2400:, list(ds["layer_name"].values).index("sheathing")]
    dry = float(ds["layer_density"].values[1]) * 0.011
    highest = max(water[i : i + 720].mean() for i in range(len(water) - 719)) / dry
    # the mean of 720 hourly values, by another loop; 1e-6: 32 or 64 bits of storage
    assert run["summary"]["mc_30d_max"] == pytest.approx(highest, rel=1e-6)


def test_rows_for_scripts_carry_their_circumstances(folder: Path) -> None:
    with (folder / "comparison.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        assert (row["place"], row["room"], row["azimuth"]) == ("town.csv", "home", "0")
        assert (row["years"], row["start"]) == ("1", "2001-01-01")
    told = json.loads((folder / "comparison.json").read_text(encoding="utf-8"))
    assert {(w["room"], w["place"], w["azimuth"], w["years"]) for w in told} == {
        ("home", "town.csv", 0.0, 1.0)
    }


def test_a_figure_says_place_room_orientation_and_years() -> None:
    item = Compared("x", (outcome("x"), outcome("x", leaks=True)))
    figure = figures.comparison([item], title="T", order=["x"])
    words = " ".join(t.get_text() for t in figure.texts)
    for part in ("Town", "hall", "facing N", "2 years from 2001-10-01"):
        assert part in words


def test_leaks_are_named_in_every_row() -> None:
    rows = csv_text([Compared("x", (outcome("x"), outcome("x", leaks=True)))]).splitlines()
    assert [row.split(",")[1] for row in rows] == ["scenario", "tight", "rain"]


@pytest.mark.parametrize(("azimuth", "word"), [(0, "N"), (45, "NE"), (270, "W"), (100, "100°")])
def test_orientation_is_a_compass_point(azimuth: float, word: str) -> None:
    assert facing(azimuth) == word


def test_climate_words_are_plain() -> None:
    known = {"summary": None, "findings": [], "source": "x", "kind": "typical year", "hours": 1,
             "first": "a", "last": "b", "place": dict.fromkeys(
                 ("latitude", "longitude", "altitude", "utc_offset_hours"), 0.0)}  # fmt: skip
    assert "from memory" not in " ".join(climate.lines(known))


@pytest.mark.parametrize("family", ["si", "ip"])
@pytest.mark.parametrize("command", ["compare", "run"])
def test_eighty_columns_hold_every_table(
    tmp_path: Path, command: str, family: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    arguments = ["--wall", "leaky", "--units", family]
    result = hygro(command, str(write_case(tmp_path)), *arguments)
    lines = result.stdout.splitlines()
    assert max(len(line) for line in lines) <= 80
    # the heads of the last columns are whole
    last = {"compare": ("index", "%"), "run": ("rain", "Limit")}[command]
    assert any(last[0] in line and line.rstrip().endswith(last[1]) for line in lines)
    assert "fails" in result.stdout


YEAR = 8760
COURSES = {
    "dries": [(0, 24 * 41, 0.24)],
    "stays wet": [(0, YEAR + 1, 0.24)],
    "dry": [],
    "wetted later": [(2000, 24 * 84, 0.24)],
    "wet at the end": [(2000, YEAR + 1, 0.24)],
}
"""Moisture contents by mass of an OSB that has 10 % else: from and to which hour, how much."""


def dried(*courses: str, hours: int = YEAR) -> list[str]:
    """Lines on a wall whose sheathing goes through these, without leaks and with them."""
    found = []
    for number, course in enumerate(courses):
        content = np.full(hours + 1, 0.10)
        for begin, end, value in COURSES[course]:
            content[begin:end] = value
        water = np.tile(content[:, None] * 600.0, (1, 16))
        rows = [r for r in judge(record(hours=hours, water=water)).findings if r.place == "osb"]
        verdict = Verdict(tuple(rows), "osb", "", 0.0, "", "")
        found.append(replace(outcome("x", leaks=number > 0), verdict=verdict))
    return why.run_lines(Compared("x", tuple(found)))


NOTHING = "nothing to dry, wood starts and stays below 20 %"


@pytest.mark.parametrize(
    ("courses", "lines"),
    [
        (["dries", "stays wet"], [
            "x, tight: wood stays below 20 % after 41 d",
            "x, rain: wood still wet at the end, after 365 days",
        ]),
        (["dry", "dry"], [f"x, tight, rain: {NOTHING}"]),
        (["dry"], [f"x, none set: {NOTHING}"]),
        (["dry", "wetted later"], [
            f"x, tight: {NOTHING}",
            "x, rain: wood stays below 20 % after 84 d, wetted later, with nothing to dry at the "
            "start",
        ]),
        (["dry", "wet at the end"], [
            f"x, tight: {NOTHING}",
            "x, rain: wood wet at the end, after 365 days, with nothing to dry at the start",
        ]),
    ],
)  # fmt: skip
def test_a_wall_says_when_it_was_dry_in_each_scenario(courses: list[str], lines: list[str]) -> None:
    assert dried(*courses) == lines


def test_days_to_dry_of_a_record_that_ends_wet_are_not_told_as_days() -> None:
    assert dried("stays wet", hours=960) == [
        "x, none set: wood still wet at the end, after 40 days"
    ]


def test_of_several_layers_the_last_to_dry_is_told() -> None:
    rows = tuple(DRYING.finding(place, days) for place, days in (("osb", 41.4), ("board", 12.0)))
    found = replace(outcome("x"), verdict=Verdict(rows, "osb", "", 0.0, "", ""))
    lines = why.run_lines(Compared("x", (found,)))
    assert lines == ["x, none set: wood stays below 20 % after 41 d"]


@pytest.mark.parametrize(("drift", "told"), [(0.12, True), (0.004, False)])
def test_a_wall_that_has_not_settled_is_told(drift: float, told: bool) -> None:
    # settled: no layer changes by more than 0.005 kg/m² in a round
    found = replace(outcome("x"), quality={"periodic_rounds": 10, "periodic_drift": drift})
    lines = why.run_lines(Compared("x", (found,)))
    expected = "x, none set: not settled after 10 rounds, in the last of which a layer changed by"
    assert lines == ([f"{expected} 0.12 kg/m²"] if told else [])
