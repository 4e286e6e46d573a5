"""Maps, least values, samples and years of a small case, against limit, against plain draws."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr
from study_cases import write_study
from typer.testing import CliRunner, Result

from hygro.assess.criteria import CRITERIA
from hygro.case import Case, from_data, judging, load, prepare, set_value
from hygro.cli import app
from hygro.decide.asked import asked_study, limit_study, years_study
from hygro.decide.beside import beside
from hygro.decide.default_distributions import default_distributions
from hygro.decide.least import find_least
from hygro.decide.map import MapResult, make_map
from hygro.decide.sample import make_sample
from hygro.decide.study import Study
from hygro.decide.years import make_years
from hygro.decide.years_files import distances
from hygro.errors import InputError
from hygro.study.along import along
from hygro.study.limit import Limit, judged, limit
from hygro.study.varied import Uniform

# the sheathing of this year reaches 24 % without leaks: judged by one limit alone, which the
# ranges below cross
SOFT = [row.key for row in CRITERIA if row.hard and row.key != "mc_30d"]
ONLY_MC = (
    "[settings]",
    "\n".join(f"[criteria.change.{key}]\nhard = false" for key in SOFT)
    + "\n[criteria.change.mc_30d]\nlimit = 0.20\n\n[settings]",
)
X, Y = "rain_leak, 0 %, 8 %", "winter_rh, 30 %, 60 %"


@pytest.fixture(scope="module")
def case(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_study(tmp_path_factory.mktemp("decisions"), "", ONLY_MC)


@pytest.fixture(scope="module")
def mapped(case: Path) -> MapResult:
    study = asked_study(load(case), None, {"x": X, "y": Y}, wall="leaky",
                        store=case.with_name("map.study"))  # fmt: skip
    return make_map(study)


def windows(
    case: Case, climate: xr.Dataset, path: str, *ends: float, within: float, unit: str = ""
) -> Limit:
    """The windows along a number of the leaky wall, by trials without plan or store."""
    item = case.wall("leaky")
    judge = judged(along(item.wall, item.room, path, unit=unit), climate, settings=case.settings,
                   judging=judging(case), repeat=case.repeat)  # fmt: skip
    return limit(judge, *ends, within=within)


def typed(*arguments: str) -> Result:
    return CliRunner().invoke(app, list(arguments))


def test_a_map_is_sharp_at_a_quarter_of_a_full_one(mapped: MapResult) -> None:
    assert mapped.lines
    assert mapped.open == 0
    assert len(mapped.results) <= 100  # of 400
    assert {r.passed for r in mapped.results} == {True, False}


def test_the_line_agrees_with_limit_at_ten_points(case: Path, mapped: MapResult) -> None:
    line = np.concatenate(mapped.lines)
    ready, climate = prepare(load(case))
    low, high = line[:, 0].min(), line[:, 0].max()
    for x in np.linspace(low + 0.05 * (high - low), high - 0.05 * (high - low), 10):
        x = float(f"{x:.4g}")
        where = 'wall."leaky".leaks.rain.fraction'
        at_x = from_data(set_value(ready.data, where, x / 100.0), path=ready.path)
        edge = windows(at_x, climate, "room.rh", 30.0, 60.0, within=0.1, unit="%").highest
        assert edge is not None
        order = np.argsort(line[:, 0])
        y = float(np.interp(x, line[order, 0], line[order, 1]))
        # 1 % of the range of 30 is 0.3, the bracket of the limit is 0.1
        assert edge.inside - 0.3 <= y <= edge.outside + 0.3


def test_the_map_of_a_case_leaves_figure_and_tables(case: Path, tmp_path: Path) -> None:
    told = ("map", str(case), "--x", X, "--y", Y, "--wall", "leaky", "--out", str(tmp_path),
            "--store", str(case.with_name("map.study")))  # fmt: skip
    answer = typed(*told)
    assert answer.exit_code == 0, answer.output
    name = "rain-leak-winter-rh-leaky"
    found = json.loads((tmp_path / f"{name}.json").read_text())
    rows = list(csv.DictReader((tmp_path / f"{name}.csv").open()))
    assert len(rows) == len(found["points"])
    assert {"rain_leak", "winter_rh", "passed", "mc_30d_max", "mould_index_max", "condensate",
            "criterion"} <= set(rows[0])  # fmt: skip
    assert found["own"] == [1.0, 45.0]
    assert all(0 <= x <= 8 and 30 <= y <= 60 for line in found["boundary"] for x, y in line)
    assert (tmp_path / f"{name}.png").stat().st_size > 10_000
    wrong = [row for row in rows if row["passed"] == "False"]
    assert {row["criterion"] for row in wrong} == {"mc_30d"}


def test_a_full_map_runs_every_point_of_its_grid(case: Path) -> None:
    both = {"x": "rain_leak, 0 %, 8 %, 3", "y": "winter_rh, 30 %, 60 %, 4"}
    study = asked_study(load(case), None, both, wall="leaky", store=case.with_name("full.study"))
    found = make_map(study, full=True, processes=1)
    assert len(found.results) == 12
    wet = {(r.at["rain_leak"], r.at["winter_rh"]): r.numbers["mc_30d_max"] for r in found.results}
    assert wet[(8.0, 60.0)] == max(wet.values())
    assert wet[(0.0, 30.0)] == min(wet.values())


def test_a_store_lies_beside_what_is_written_but_that_of_a_named_study_here(tmp_path: Path) -> None:
    path = write_study(tmp_path, '\n[study.pair]\nvary.winter_rh = ["30 %", "40 %"]\n')
    how: Any = {"wall": "leaky", "store": None, "folder": Path("out")}
    assert asked_study(load(path), None, {"x": X, "y": Y}, **how).file == Path(
        "out/rain-leak-winter-rh-leaky.study"
    )
    assert asked_study(load(path), "pair", {}, **how).file == Path("pair.study")
    given = {**how, "store": Path("mine.study")}
    assert asked_study(load(path), None, {"x": X, "y": Y}, **given).file == Path("mine.study")
    where = ('wall."leaky".leaks.rain.fraction', "0", "1 %")
    assert limit_study(load(path), *where, **how).file == Path(
        "out/limit-fraction-rain-leaks-leaky.study"
    )


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--x", X), "say what varies: --y"),
        (("--x", "rain_leak", "--y", Y), "must look like 'outboard_share, 10 %, 90 %'"),
        (("--x", "rain_leak, 0 %, 8 %, few", "--y", Y), "steps must be a whole number"),
        (("named", "--x", X), "says what varies: leave out --x"),
        (("--x", "rain_leak, 0 %, 200 %", "--y", Y), "must be 0 to 1"),
    ],
)
def test_what_a_map_cannot_be_of_is_said(
    case: Path, tmp_path: Path, arguments: tuple[str, ...], words: str
) -> None:
    store = ("--store", str(tmp_path / "x.study"), "--out", str(tmp_path))
    answer = typed("map", str(case), *arguments, "--wall", "leaky", *store)
    assert answer.exit_code == 2, answer.output
    assert words in answer.stderr


# Least


def test_a_map_without_a_line_of_the_code_says_why(mapped: MapResult) -> None:
    told = beside(mapped)
    assert told.code is None
    words = "no line of the code: neither axis is outboard_share or outboard_R"
    assert told.code_words == words  # the axes are rain leak and indoor RH


def test_the_least_value_is_where_limit_turns_and_brackets_it(case: Path) -> None:
    vary = {"inner_permeance": {"kind": "values", "values": ["3.1 perm", "20 perm"]},
            "gap_air_change": {"low": 0, "high": 60}}  # fmt: skip
    dry = {"vary": vary, "wall": "leaky", "leaks": "verdict"}
    study = Study(case, **dry, store=case.with_name("least.study"), name="least")
    found = find_least(study, within=2.0, processes=1, check=True)
    assert [row.uncertainty is not None for row in found.rows] == [True, False]
    assert study.status().stale == 0  # nor are the runs with halved cells, which no plan holds
    ready, climate = prepare(load(case))
    for row in found.rows:
        path = 'wall."leaky".layers.paint.permeance'
        at = from_data(
            set_value(ready.data, path, f"{row.at['inner_permeance']} perm"), path=ready.path
        )
        where = 'layers."vented gap".air_change'
        edges = windows(at, climate, where, 0.0, 60.0, within=1.0)
        if row.value is None:
            assert not edges.windows or edges.windows[-1].high is not None
        elif row.fails is None:
            assert edges.lowest is None
        else:
            assert row.value - row.fails <= 2.0
            edge = edges.windows[-1].low
            assert edge is not None
            assert row.fails - 1.0 <= edge.inside
            assert edge.outside <= row.value + 1.0
            assert row.uncertainty is not None
            assert row.uncertainty >= 0.0


def test_a_least_question_has_one_range(case: Path) -> None:
    vary = {"rain_leak": {"low": 0, "high": 0.1}, "winter_rh": {"low": 0.3, "high": 0.5}}
    with pytest.raises(InputError, match=r"one range of numbers.*it has 2 ranges"):
        find_least(Study(case, vary=vary, wall="leaky"), processes=1)


# Samples

DRAWN = {
    "rain_leak": Uniform("0 %", "8 %"),
    "winter_rh": Uniform("30 %", "60 %"),
}


def test_failure_probability_agrees_with_plain_monte_carlo(case: Path) -> None:
    study = Study(case, vary=DRAWN, wall="leaky", leaks="all", samples=128,
                  store=case.with_name("sobol.study"), name="sobol")  # fmt: skip
    found = make_sample(study)
    # plain draws with a generator of another kind, run as values
    rng = np.random.default_rng(11)
    leak, rh = rng.uniform(0.0, 0.08, 192), rng.uniform(0.3, 0.6, 192)
    from hygro.decide.plan import at_points
    from hygro.decide.point import point_results
    from hygro.decide.runner import run_plan

    plan = at_points(study.plan, [(100 * leak).tolist(), (100 * rh).tolist()])
    run_plan(plan, study.store)
    results = point_results(plan, study.store.rows(plan.distinct))
    wrong = sum(r.passed is False for r in results)
    share = wrong / len(results)
    assert 0.05 < share < 0.95  # the question is not empty
    # plain draws have an error of their own: three standard deviations of their share
    error = 3.0 * np.sqrt(share * (1.0 - share) / len(results))
    assert found.failing.low - error <= share <= found.failing.high + error
    assert found.criteria["mc_30d"] == found.failing
    directions = {row.name: row.direction for row in found.ranked["mc_30d_max"]}
    assert min(directions.values()) > 0.0  # both wet the board
    assert found.stages[-1].draws == 128


def test_a_sample_stops_when_the_interval_is_narrow_enough(case: Path) -> None:
    study = Study(case, vary=DRAWN, wall="leaky", leaks="all", samples=128,
                  store=case.with_name("sobol.study"), name="sobol")  # fmt: skip
    wide = make_sample(study, within=0.2)
    assert len(wide.results) == 32
    assert wide.enough
    tight = make_sample(study, within=0.001)
    assert len(tight.results) == 128
    assert not tight.enough
    first = [r.at for r in tight.results[:32]]
    assert [r.at for r in wide.results] == first


def test_stopping_early_needs_points_that_nest(case: Path) -> None:
    study = Study(case, vary=DRAWN, wall="leaky", method="latin hypercube")
    with pytest.raises(InputError, match="needs method = 'sobol'"):
        make_sample(study, within=0.05)
    with pytest.raises(InputError, match="rain_leak has several values"):
        make_sample(Study(case, vary={"rain_leak": [0.0, 0.1], "winter_rh": Uniform(0.3, 0.5)},
                          wall="leaky"))  # fmt: skip


def test_shipped_distributions_say_their_source_and_fit_the_wall(case: Path) -> None:
    study = Study(case, vary={"rain_leak": [0.01]}, wall="leaky")
    found = default_distributions(study.base)
    assert {"rain_leak", "winter_rh", "gap_air_change", 'factor."sheathing".vapour'} <= set(found)
    assert "year" not in found  # one year of weather
    assert "air_leak" not in found
    for how in found.values():
        assert how.source  # type: ignore[union-attr]
    assert found["rain_leak"].median == 0.01  # type: ignore[union-attr]
    drawn = Study(case, vary=found, wall="leaky", leaks="all", samples=8)
    assert len(drawn.plan.runs) == 8


def test_the_sample_of_a_case_leaves_figure_and_tables(case: Path, tmp_path: Path) -> None:
    answer = typed("sample", str(case), "--wall", "leaky", "--samples", "32", "--out",
                   str(tmp_path), "--store", str(case.with_name("s.study")))  # fmt: skip
    assert answer.exit_code == 0, answer.output
    found = json.loads((tmp_path / "sample-leaky.json").read_text())
    assert found["draws"] == 32
    assert set(found["distributions"]) >= {"rain_leak", "winter_rh"}
    assert all(row["source"] for row in found["distributions"].values())
    assert "of no house" in found["caution"]
    assert (tmp_path / "sample-leaky.png").exists()
    assert "95 % interval" in answer.stdout


# Years


def test_years_are_ranked_by_what_they_do_to_the_wall(tmp_path: Path) -> None:
    import shutil

    folder = Path(__file__).parents[2] / "cases" / "demonstration"
    for name in ("case.toml", "normals.toml"):
        shutil.copy(folder / name, tmp_path)
    text = (tmp_path / "case.toml").read_text("utf-8")
    quick = text.replace("[settings]", '[settings]\naccuracy = "draft"\ntolerance = 10')
    (tmp_path / "case.toml").write_text(quick, encoding="utf-8")
    study = years_study(load(tmp_path / "case.toml"), wall="cavity only",
                        store=tmp_path / "years.study")  # fmt: skip
    found = make_years(study)
    margins = [year.result.margin for year in found.years]
    assert margins == sorted(margins)  # the least reserve first
    assert [year.rank for year in found.years] == [1, 2, 3]
    assert found.at(1.0) is found.years[0]
    assert found.at(0.5) is found.years[1]  # of three, the middle one
    assert found.at(0.9) is found.years[0]  # no year of three is one in ten: the next worse
    assert any("fewer than the ten" in note for note in found.notes())
    assert any("EN 15026" in note for note in found.notes())


def test_a_typical_year_stands_beside_the_ranked_ones(tmp_path: Path) -> None:
    """One of two years given as the typical one is that year again, and is not ranked."""
    two = ('file = "town.csv"', 'files = ["town.csv", "humid.csv"]')
    path = write_study(tmp_path, "", two)
    text = (tmp_path / "town.csv").read_text("utf-8")
    later = text.replace("2002-", "2003-").replace("2001-", "2002-")
    humid = later.replace(",75.00,", ",85.00,")
    (tmp_path / "humid.csv").write_text(humid, encoding="utf-8")
    (tmp_path / "typical.csv").write_text(humid, encoding="utf-8")
    study = years_study(load(path), wall="leaky", store=tmp_path / "years.study")
    with pytest.raises(InputError, match=r"nowhere\.csv.*no such file"):
        make_years(study, typical="nowhere.csv")
    assert study.status().done == 0, "refused before anything runs"
    found = make_years(study, typical="typical.csv", processes=1)
    assert [year.year for year in found.years] == [2, 1]
    assert found.typical is not None
    assert found.typical.numbers["mc_30d_max"] == found.years[0].result.numbers["mc_30d_max"]
    told = [line for line in distances(found) if line.startswith("peak moisture content")]
    content = 100 * found.typical.numbers["mc_30d_max"]
    assert told[0].startswith(f"peak moisture content: typical year {content:.3g}; median ")


def test_one_year_cannot_be_ranked(case: Path, tmp_path: Path) -> None:
    answer = typed("years", str(case), "--wall", "leaky", "--out", str(tmp_path))
    assert answer.exit_code == 2
    assert "its weather has one year" in answer.stderr
