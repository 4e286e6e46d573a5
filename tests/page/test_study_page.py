"""Studies on a page: what was asked, found, drawn, and what is stale, against the store itself."""

from __future__ import annotations

import json
import re
import sqlite3
from html import unescape
from pathlib import Path

import pytest
from browser import errors, opened, requests
from case_files import write_case
from study_cases import QUICK
from typer.testing import CliRunner, Result

import hygro
from hygro.assess.verdict import OUTCOMES
from hygro.cli import app
from hygro.decide.axis import Axis
from hygro.decide.finding import About, Finding
from hygro.decide.point import PointResult
from hygro.decide.years import RankedYears, Year
from hygro.errors import InputError
from hygro.page import report
from hygro.page.sections.study_tables import told

STUDIES = """
[study.points]
wall = "leaky"
vary.rain_leak = ["0 %", "4 %"]

[study.least]
wall = "leaky"
leaks = "all"
vary.winter_rh = ["30 %", "60 %"]
vary.gap_air_change = { low = 0, high = 60 }

[study.drawn]
wall = "leaky"
leaks = "all"
vary.rain_leak = { kind = "uniform", low = "0 %", high = "8 %", source = "dice" }
vary.winter_rh = { kind = "uniform", low = "30 %", high = "60 %", source = "more dice" }

[study.grid]
wall = "leaky"
leaks = "all"
vary.rain_leak = { low = "0 %", high = "8 %", steps = 3 }
vary.winter_rh = { low = "30 %", high = "60 %", steps = 4 }
"""


def typed(*arguments: object) -> Result:
    done = CliRunner().invoke(app, list(map(str, arguments)))
    assert done.exit_code == 0, done.output
    return done


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Four studies of a small wall in one store, each with what its command found."""
    folder = tmp_path_factory.mktemp("studies")
    case = write_case(folder, QUICK)
    case.write_text(case.read_text("utf-8") + STUDIES, encoding="utf-8")
    file = folder / "all.study"
    where = ("--store", file, "--processes", 1)
    typed("study", "run", case, "points", *where)
    typed("least", case, "least", "--within", 30, "--no-check", "--out", folder, *where)
    typed("sample", case, "drawn", "--samples", 32, "--out", folder, *where)
    typed("map", case, "grid", "--full", "--out", folder, *where)
    typed("limit", case, 'wall."leaky".leaks.rain.fraction', "--low", "0 %", "--high", "8 %",
          "--within", "4 %", "--out", folder, *where)  # fmt: skip
    return file


@pytest.fixture(scope="module")
def page(store: Path) -> Path:
    return report(store, out=store.with_name("page.html"))


def part(page: Path, title: str) -> str:
    """Words of the section of a study."""
    text = page.read_text("utf-8")
    found = re.search(rf"<section[^>]*>\s*<h2[^>]*>{title}</h2>(.*?)</section>", text, re.DOTALL)
    assert found is not None, title
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", found[1])).split())


def rows_of(store: Path, study: str) -> list[tuple[int, str, dict[str, float]]]:
    """Point, class and numbers of the runs of a study, from SQLite itself."""
    with sqlite3.connect(store) as base:
        found = base.execute(
            "SELECT point, outcome, numbers FROM run JOIN result USING (sha256) WHERE study = ? "
            "ORDER BY number",
            (study,),
        )
        return [(point, outcome, json.loads(numbers)) for point, outcome, numbers in found]


def test_a_map_stands_with_its_question_figure_and_points(store: Path, page: Path) -> None:
    words = part(page, "Map: grid")
    assert "Where is 'leaky' within its limits over rain leak and indoor RH in winter?" in words
    rows = rows_of(store, "grid")
    passed = sum(outcome == "within limits" for _, outcome, _ in rows)
    assert f"12 points, {passed} within limits" in words
    # the figure, in words: axes and the points tried
    assert "rain leak, %" in words
    assert "12 points tried" in words
    # a row of the table for each point: both values, moisture content, index
    for (_, outcome, numbers), (x, y) in zip(
        rows, [(x, y) for x in (0, 4, 8) for y in (30, 40, 50, 60)], strict=True
    ):
        content, index = 100 * numbers["mc_30d_max"], numbers["mould_index_max"]
        assert re.search(rf"\b{x} {y} {content:.1f} {index:.2f} \S+ {outcome}", words), (x, y)


def test_a_limit_stands_with_its_windows_figure_and_values(store: Path, page: Path) -> None:
    """Class, moisture content and index of every value from the runs themselves."""
    name = "limit-fraction-rain-leaks-leaky"
    words = part(page, f"Limit: {name.removeprefix('limit-')}")
    assert "How far may rain leak go for 'leaky'" in words
    rows = rows_of(store, name)
    values = [0, *(float(f"{8 * k / 7:.4g}") for k in range(1, 7)), 8]
    for k, value in enumerate(values):
        made = [(outcome, numbers) for point, outcome, numbers in rows if point == k]
        content, index = (max(numbers[key] for _, numbers in made)
                          for key in ("mc_30d_max", "mould_index_max"))  # fmt: skip
        worst = max((outcome for outcome, _ in made), key=OUTCOMES.index)
        assert re.search(rf"\b{value:g} {100 * content:.1f} {index:.2f} \S+ {worst}", words), value
    passes = [v for k, v in enumerate(values)
              if all(o == "within limits" for p, o, _ in rows if p == k)]  # fmt: skip
    assert ("Within limits at" in words) is bool(passes)
    if len(passes) < len(values):
        edge = r"(Just (above|below), at|At) [\d.]+ %, (without leaks|with its rain leaks alone): "
        assert re.search(edge, words)
    assert "as written: 1" in words  # the figure


def test_a_sample_stands_with_its_probability_and_interval(store: Path, page: Path) -> None:
    """Wilson's interval by hand: (p + z²/2n ± z √(p(1-p)/n + z²/4n²)) / (1 + z²/n), z = 1.96."""
    words = part(page, "Sample: drawn")
    failed = sum(outcome.startswith("fails") for _, outcome, _ in rows_of(store, "drawn"))
    n, z = 32, 1.959964
    p = failed / n
    middle, half = p + z**2 / (2 * n), z * (p * (1 - p) / n + z**2 / (4 * n**2)) ** 0.5
    low, high = (100 * (middle + s * half) / (1 + z**2 / n) for s in (-1, 1))
    assert f"Beyond its limits in {failed} of 32 draws: {100 * p:.1f} %" in words
    assert f"95 % interval {low:.1f} to {high:.1f} %" in words
    assert "rank correlation" in words
    assert "uniform: low 0, high 8 dice" in words
    assert "of no house" in words


def test_least_values_stand_in_a_table(store: Path, page: Path) -> None:
    """Bracket by hand from the runs: least rate from which on all tried pass."""
    words = part(page, "Least: least")
    assert "at which 'leaky' is within its limits" in words
    with sqlite3.connect(store) as base:
        (text,) = base.execute("SELECT told FROM finding WHERE kind = 'least'").fetchone()
    for row in json.loads(text)["found"]["rows"]:
        at, value, fails = row[0], row[1], row[2]
        said = "> 60.00" if value is None else "≤ 0.00" if fails is None else f"{value:.2f} ±"
        assert f"{at['winter_rh']:g} % {said}" in words


def test_a_plain_study_lists_its_points(store: Path, page: Path) -> None:
    words = part(page, "Study: points")
    worst: dict[int, float] = {}
    for point, _, numbers in rows_of(store, "points"):
        worst[point] = max(worst.get(point, 0.0), 100 * numbers["mc_30d_max"])
    assert f" 0 {worst[0]:.1f} " in words
    assert f" 4 {worst[1]:.1f} " in words


def test_hashes_versions_and_the_plan_are_told(store: Path, page: Path) -> None:
    words = part(page, "Map: grid")
    with sqlite3.connect(store) as base:
        plan, engine = base.execute(
            "SELECT plan_sha256, engine FROM study WHERE name = 'grid'"
        ).fetchone()
    assert plan in words
    assert engine in words
    assert "numpy" in words
    assert "12 points, 12 runs, 12 of them differ" in words
    assert "12 of 12 done, 0 failed" in words
    assert "Stale or failed" not in words


def test_what_is_stale_is_said(store: Path, tmp_path: Path) -> None:
    """Another plan, another engine, a run that failed and one that was lost, written by hand."""
    copy = tmp_path / "x.study"
    with sqlite3.connect(store) as base, sqlite3.connect(copy) as other:
        base.backup(other)
        shas = [s for (s,) in other.execute("SELECT sha256 FROM run WHERE study = 'grid'")]
        other.execute("UPDATE study SET plan_sha256 = 'new' WHERE name = 'grid'")
        other.execute("UPDATE asked SET declared = 'new' WHERE study = 'grid'")
        other.execute("UPDATE result SET state = 'failed' WHERE sha256 = ?", (shas[0],))
        other.execute("DELETE FROM result WHERE sha256 = ?", (shas[1],))
        text = other.execute("SELECT told FROM finding WHERE study = 'grid'").fetchone()[0]
        told_ = json.loads(text)
        told_["about"]["engine_sha256"] = "another"
        other.execute("UPDATE finding SET told = ? WHERE study = 'grid'", (json.dumps(told_),))
    words = part(report(copy, out=tmp_path / "x.html"), "Map: grid")
    assert "was planned anew after this was found" in words
    assert "computed by another engine" in words
    assert "1 of 12 runs could not be done" in words
    assert "1 of 12 runs of its plan of today are not made" in words


@pytest.mark.parametrize(
    "told_",
    ['{"about": {}}', "nonsense", '{"found": 3}', "[" * 100_000, '{"about": null, "found": null}'],
)
def test_a_damaged_finding_is_one_clear_error(store: Path, tmp_path: Path, told_: str) -> None:
    copy = tmp_path / "x.study"
    with sqlite3.connect(store) as base, sqlite3.connect(copy) as other:
        base.backup(other)
        other.execute("UPDATE finding SET told = ? WHERE study = 'grid'", (told_,))
    with pytest.raises(InputError, match="what was found of study 'grid' cannot be read"):
        report(copy, out=tmp_path / "x.html")


def test_names_in_a_store_cannot_break_a_page(store: Path, tmp_path: Path) -> None:
    evil = "</script><b id='x'>$x$ \\frac"
    copy = tmp_path / "x.study"
    with sqlite3.connect(store) as base, sqlite3.connect(copy) as other:
        base.backup(other)
        (text,) = other.execute("SELECT told FROM finding WHERE study = 'grid'").fetchone()
        told_ = json.loads(text)
        told_["about"]["wall"] = told_["found"]["x"][1] = evil
        other.execute("UPDATE finding SET told = ? WHERE study = 'grid'", (json.dumps(told_),))
    page = report(copy, out=tmp_path / "x.html").read_text("utf-8")
    assert "<b id='x'>" not in page
    assert "&lt;b id=" in page


def test_a_study_stands_beside_the_walls_of_a_case(
    results: Path, store: Path, tmp_path: Path
) -> None:
    out = tmp_path / "x.html"
    typed("report", results, "--study", store, "--out", out)
    text = out.read_text("utf-8")
    order = [text.index(f'<section id="{key}"') for key in ("comparison", "study-1", "walls")]
    assert order == sorted(order)
    assert "12 points tried" in text
    again = tmp_path / "y.html"
    typed("report", results, store, "--out", again)
    assert again.read_bytes() == out.read_bytes()
    ip = tmp_path / "ip.html"
    typed("report", store, "--units", "ip", "--out", ip)
    assert "Condensate, oz/ft²" in ip.read_text("utf-8")


def test_reading_a_store_leaves_it_as_it_was(store: Path, page: Path, tmp_path: Path) -> None:
    before = store.read_bytes()
    report(store, out=tmp_path / "x.html")
    assert store.read_bytes() == before


def test_what_is_no_store_is_refused_before_anything_runs(store: Path, tmp_path: Path) -> None:
    (tmp_path / "text.study").write_text("words", encoding="utf-8")
    empty = tmp_path / "empty.study"
    with sqlite3.connect(store) as base, sqlite3.connect(empty) as other:
        base.backup(other)
        other.execute("DELETE FROM finding")
    case = store.with_name("case.toml")
    for file, words in (
        (tmp_path / "none.study", "no such file"),
        (tmp_path / "text.study", "is not a store of studies"),
        (empty, "nothing was found of its studies yet"),
    ):
        for given in ((file,), (case, "--study", file)):
            done = CliRunner().invoke(
                app, ["report", *map(str, given), "--out", str(tmp_path / "x.html")]
            )
            assert done.exit_code == 2
            assert words in " ".join(done.stderr.split())
    assert not (tmp_path / "x.html").exists()


def test_a_study_in_python_is_reported(store: Path, tmp_path: Path) -> None:
    study = hygro.Study(store.with_name("case.toml"), wall="leaky", leaks="all",
                        vary={"rain_leak": ["1 %", "2 %"]}, name="mine")  # fmt: skip
    study.run(processes=1)
    words = part(hygro.report(study, out=tmp_path / "x.html"), "Study: mine")
    assert "2 points, 2 runs" in words
    assert [f"{100 * r.numbers['mc_30d_max']:.1f}" in words for r in study.points()] == [True] * 2


def year(number: int, rank: int, content: float) -> Year:
    result = PointResult(number, {"year": number}, False, -0.1, "both", "sheathing: MC 30 d", "mc",
                         "fails", {"mc_30d_max": content, "mould_index_max": 1.5}, "")  # fmt: skip
    return Year(number, rank, (4 - rank) / 3, result, 10.0, 254.0)


def test_years_are_told_in_both_families_of_units() -> None:
    """10 °C are 50 °F, 254 mm are 10 in."""
    about = About("c", "w", "", "verdict", 3, 3, 3, "", "", {}, "", "", "", ())
    years = RankedYears(tuple(year(k, k, 0.3 - 0.01 * k) for k in (1, 2, 3)), None)
    for system, mean, rain in (("si", "10.0", "254"), ("ip", "50.0", "10.0")):
        said = told(Finding("years", about, years), system)  # type: ignore[arg-type]
        assert said.question == "Which years are bad for 'w'?"
        assert said.tables[0].rows[0][:7] == ("1", "1", "100", mean, rain, "29.0", "1.50")
        assert "Median: year 2; one in ten: year 1; worst: year 1" in said.answers


def test_an_axis_says_its_unit() -> None:
    assert Axis("a", "rain leak", "%", "fraction", 0.0, 1.0).label() == "rain leak, %"


# In a browser


@pytest.mark.parametrize("width", [360, 1024, 1920])
def test_a_page_of_studies_is_silent_and_fits_the_window(page: Path, width: int) -> None:
    with opened(page, width=width) as window:
        assert errors(window) == []
        assert [u for u in requests(window) if not u.startswith("data:")] == [page.as_uri()]
        assert window.execute_script("return document.documentElement.scrollWidth") <= width


def test_drawings_of_studies_lie_on_light_paper_in_the_dark(page: Path) -> None:
    """Their tones are light: words and paper keep the colours of paper."""
    with opened(page, dark=True) as window:
        found = window.execute_script(
            "const of = (e, what) => getComputedStyle(e)[what];"
            "return [...document.querySelectorAll('.on-paper')].map((e) =>"
            " [of(e, 'backgroundColor'), of(e.querySelector('text'), 'fill')])"
        )
    assert found
    assert all(pair == ["rgb(255, 255, 255)", "rgb(28, 40, 51)"] for pair in found)
