"""`hygro report` as typed: a case that is run and checked, results as they are, what is refused."""

from __future__ import annotations

import html
import json
import re
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from case_files import write_case
from typer.testing import CliRunner, Result

import hygro
from hygro.case import load, prepare
from hygro.cli import app
from hygro.cli.running import planned
from hygro.page.gather import gather
from hygro.page.wording import headline
from hygro.study import bearing
from hygro.study.compare import Comparison, paired
from hygro.study.hand import winter_means
from hygro.study.perform import perform
from hygro.study.reserve import Bound, Reserve
from hygro.study.runs import Judging
from hygro.study.trials import Trial
from hygro.wall.resistance import resistance
from weather.moistair import saturation_pressure

ONE = """

[[wall]]
name = "leaky"
base = "plain"
leaks.rain = { at = "sheathing" }
"""


def hygro_report(*arguments: object) -> Result:
    return CliRunner().invoke(app, ["report", *map(str, arguments)])


@pytest.fixture(scope="module")
def case(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One wall without leaks."""
    return write_case(tmp_path_factory.mktemp("case"), (ONE, ""))


def test_a_case_is_run_checked_and_its_results_are_kept(case: Path, tmp_path: Path) -> None:
    out, kept = tmp_path / "page.html", tmp_path / "results"
    done = hygro_report(case, "--out", out, "--results", kept, "--check", "--processes", 1)
    assert done.exit_code == 0, done.output
    assert sorted(path.name for path in kept.glob("*.nc")) == ["plain-service.nc", "plain.nc"]
    page = out.read_text("utf-8")
    part = page.split('<section id="numerics"')[1].split("</section>")[0]
    assert "plain: numerical error" in part
    assert "made without --check" not in page
    assert re.search(r"moisture content at most \d\.\d\d % by mass, of the mould index", page)
    shown = re.search(
        r"moisture content of the sheathing, 30-day mean, %.*?number\">([\d.]+)<", part
    )
    assert shown is not None
    service = hygro.open_record(kept / "plain-service.nc").hygro.summary()
    assert float(shown[1]) == pytest.approx(100.0 * service["mc_30d_max"], abs=0.006)


def test_records_give_what_the_runs_gave(case: Path, tmp_path: Path) -> None:
    """Verdict, numbers, hand numbers and series from files are those of the runs themselves."""
    ready, climate = prepare(load(case))
    runs = planned(ready, climate, tmp_path)
    (made,) = paired(perform(runs, climate, settings=ready.settings, judging=Judging(),
                             processes=1))  # fmt: skip
    comparison = Comparison((made,))
    (read,) = gather(sorted(tmp_path.glob("*.nc"))).walls
    assert read.outcome == made.outcome
    assert [f.to_dict() for f in read.tight.verdict.findings] == [
        f.to_dict() for f in made.tight.verdict.findings
    ]
    assert read.tight.numbers == made.tight.numbers
    assert read.tight.hand == made.tight.hand
    assert read.tight.quality == made.tight.quality
    assert (read.tight.trace.water == made.tight.trace.water).all()
    page = hygro.report(comparison, out=tmp_path / "x.html")
    assert "plain" in page.read_text("utf-8")


def test_files_of_results_are_read_as_they_are(results: Path, page: Path, tmp_path: Path) -> None:
    done = hygro_report(*sorted(results.glob("*.nc")), "--out", tmp_path / "x.html")
    assert done.exit_code == 0, done.output
    assert (tmp_path / "x.html").read_bytes() == page.read_bytes()


def test_a_record_with_its_leaks_is_not_said_to_have_none(results: Path, tmp_path: Path) -> None:
    """It stands there without the tight run beside it, as `hygro run --out` leaves it."""
    files = [x for x in sorted(results.glob("*.nc")) if "both" in x.stem]
    assert files
    assert all(hygro.open_record(x).attrs["scenario"] == "both" for x in files)
    done = hygro_report(*files, "--out", tmp_path / "x.html")
    assert done.exit_code == 0, done.output
    text = (tmp_path / "x.html").read_text("utf-8").lower()
    assert "no leaks" not in text.split('id="data"')[0]


def test_units_of_the_page_may_be_those_of_builders(results: Path, tmp_path: Path) -> None:
    """The sheathing of 11 mm is 7/16 in (11.1 mm) to a sixteenth; 21 °C is 69.8 °F."""
    done = hygro_report(results, "--out", tmp_path / "x.html", "--units", "ip")
    assert done.exit_code == 0, done.output
    page = (tmp_path / "x.html").read_text("utf-8")
    words = re.sub(r"<[^>]+>", " ", page.split('id="data"')[0])
    sheathing = re.search(r"sheathing\s+Oriented strand board[^\d]*\(tested.*?\)\s+(\S+)\s", words)
    assert sheathing is not None
    assert sheathing[1] in ("7/16", "0.433")
    assert re.search(r"\b69\.8\b", words)
    # the case as given, names and sources of materials keep their words
    for key in ("verdict", "comparison", "walls", "evidence", "climate", "numerics", "assumptions"):
        part = html.unescape(page.split(f'<section id="{key}"')[1].split("</section>")[0])
        left = re.findall(r"[^<>]{0,30}(?:kg/m|°C|\bmm\b|ng/|W/\(|L/\(s|m²)[^<>]{0,9}", part)
        assert left == [], key
    materials = page.split('<section id="materials"')[1].split("</section>")[0]
    for title in ("Water content, lb/ft³", "Vapour permeability, perm·in", "Permeance of sheets, "
                  "perm", "Thermal conductivity, Btu·in/(h·ft²·°F)"):  # fmt: skip
        assert title in materials
    told = json.loads(page.split('id="data">')[1].split("</script>")[0])
    assert told["map"]["w1"]["fields"]["temperature"]["unit"] == "°F"
    assert 32.0 in told["map"]["w1"]["fields"]["temperature"]["breaks"]


def test_what_cannot_be_made_is_refused(results: Path, case: Path, tmp_path: Path) -> None:
    def told(*arguments: object) -> str:
        done = hygro_report(*arguments)
        assert done.exit_code == 2
        return " ".join(done.output.split())

    assert "a page ends in .html" in told(results, "--out", tmp_path / "x.pdf")
    assert "need a case" in told(results, "--check", "--out", tmp_path / "x.html")
    assert "holds no result" in told(tmp_path, "--out", tmp_path / "x.html")
    assert "one case, or result files" in told(case, case, "--out", tmp_path / "x.html")
    assert "no such file" in told(tmp_path / "none.nc", "--out", tmp_path / "x.html")
    assert not list(tmp_path.iterdir())


RULES = """
from hygro.assess import Criterion


def _hottest(rated, row):
    values = rated.record["interface_temperature"].values[:, 0, 0]
    yield row.finding("outdoor surface", values.max(), rated.times[int(values.argmax())])


hot = Criterion(key="hot", quantity="temperature of the cladding", limit=250.0, unit="K",
                source="data sheet", judge=_hottest)
"""


def words_of(page: Path) -> str:
    text = page.read_text("utf-8").split('id="data"')[0]
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def test_a_case_is_judged_by_its_own_criteria_and_its_files_are_not(tmp_path: Path) -> None:
    """The cladding is warmer than -23 °C some time of the year; a record runs no code."""
    (tmp_path / "rules_of_page.py").write_text(RULES, encoding="utf-8")
    own = ("[settings]", '[criteria]\nown = ["rules_of_page:hot"]\n\n[settings]')
    file, kept, out = write_case(tmp_path, (ONE, ""), own), tmp_path / "kept", tmp_path / "x.html"
    before = list(sys.path)
    try:
        done = hygro_report(file, "--out", out, "--results", kept, "--processes", 1)
        compared = CliRunner().invoke(app, ["compare", str(file), "--json", "--processes", "1"])
        hot = sys.modules["rules_of_page"].hot
    finally:
        sys.path[:] = before
        sys.modules.pop("rules_of_page", None)
    assert done.exit_code == 0, done.output
    (wall,) = json.loads(compared.stdout)
    words = words_of(out)
    assert f"1 plain : {wall['outcome']} , reserve" in words
    assert "temperature of the cladding: data sheet" in words
    assert "a record runs no code" not in words
    # from the files alone the rule is not there; given beside them it is
    from_files = hygro_report(kept, "--out", out)
    assert from_files.exit_code == 0, from_files.output
    assert "without the case's own rules_of_page:hot: a record runs no code" in words_of(out)
    given = words_of(hygro.report(sorted(kept.glob("*.nc")), out=out, criteria=[hot]))
    assert "outdoor surface: temperature of the cladding" in given
    assert "a record runs no code" not in given


def test_the_reserve_of_a_case_stands_in_its_sentence_and_its_comparison(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Edges that are known: 47 % RH, 1.3 % of the rain, R 2.0; the search ends within 1/56."""
    gap = '  { gap = "vented gap", depth = "20 mm", air_change = 100 },\n'
    board = '  { material = "mineral-wool-board", name = "outboard", thickness = "80 mm" },\n'
    case = write_case(tmp_path, (gap, gap + board))
    (_, leaky), year = load(case).walls, prepare(load(case))[1]

    class Known:
        """Trials by a rule of wall and room."""

        def __init__(self, *_: Any, **__: Any) -> None:
            pass

        def of(self, asks: Any) -> list[list[Trial]]:
            return [
                [Trial(v, fine(*ask.variant(v)), ("mould at osb",)) for v in ask.values]
                for ask in asks
            ]

    def fine(wall: Any, room: Any) -> bool:
        _, T, p = winter_means(year, room)
        same_R = wall.layer("outboard") == leaky.wall.layer("outboard")
        same_rain = wall.leaks == leaky.wall.leaks
        return (
            p / float(saturation_pressure(T)) <= 0.47
            and (same_rain or not wall.leaks.rain or wall.leaks.rain[0].fraction <= 0.013)
            and (same_R or resistance(wall.layer("outboard")) >= 2.0)
        )

    monkeypatch.setattr(bearing, "Trials", Known)
    out = tmp_path / "x.html"
    done = hygro_report(case, "--reserve", "--out", out, "--processes", 1)
    assert done.exit_code == 0, done.output
    words = words_of(out)
    found = re.search(
        r"leaky : [a-z ]+ , reserve [^;]+; bears (\d+) % RH in winter, ([\d.]+) % of the "
        r"driving rain leaking in, R ([\d.]+) m²·K/W outboard at the least",
        words,
    )
    assert found is not None
    rh, rain, R = map(float, found.groups())
    assert 46.0 <= rh <= 47.0
    assert 1.2 <= rain <= 1.3
    assert 2.0 <= R <= 2.14
    table = re.search(r"Least R outboard (.*?)Mean indoor RH", words)
    assert table is not None
    assert f"leaky {found[1]} % {found[2]} % {found[3]} m²·K/W" in table[1]
    assert f"plain {found[1]} % – {found[3]} m²·K/W" in table[1]
    assert "leaky, beyond its RH: mould at osb" in words


def test_walls_stand_in_the_order_of_their_reserve(results: Path, tmp_path: Path) -> None:
    """As `compare` ranks: of one class, the wall that bears the higher humidity first."""
    files = sorted(results.glob("*.nc"))
    assert len({item.outcome for item in gather(files).walls}) == 1
    for first, second in (("plain", "leaky"), ("leaky", "plain")):
        bears = {first: Reserve(Bound(0.45, 0.6, None), None, None),
                 second: Reserve(Bound(0.45, 0.3, None), None, None)}  # fmt: skip
        page = hygro.report(files, out=tmp_path / "x.html", reserves=bears)
        assert f"1 {first} : " in words_of(page)


def test_a_page_in_no_folder_is_refused_before_the_runs(
    case: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("hygro.cli.report.performed", lambda *_, **__: pytest.fail("was run"))
    done = hygro_report(case, "--out", tmp_path / "none" / "x.html")
    assert done.exit_code == 2
    assert "there is no folder" in " ".join(done.stderr.split())


def test_a_folder_is_shown_with_the_reserves_that_its_comparison_found(
    results: Path, tmp_path: Path
) -> None:
    """Written by hand: what the leaky wall bears; the other was not asked."""
    folder = tmp_path / "results"
    folder.mkdir()
    for path in results.glob("*.nc"):
        (folder / path.name).symlink_to(path)
    bound = {"present": 0.45, "value": 0.52, "beyond": 0.53, "blamed": ["mould_index at x"]}
    reserve = {"winter_rh": bound, "rain": None, "outboard": None}
    told = [{"wall": "leaky", "reserve": reserve, "more": 1}, {"wall": "plain", "reserve": None}]
    (folder / "comparison.json").write_text(json.dumps(told), encoding="utf-8")
    out = tmp_path / "page.html"
    assert hygro_report(folder, "--out", out).exit_code == 0
    words = " ".join(re.sub(r"<[^>]+>", " ", out.read_text("utf-8")).split())
    assert re.search(r"\d leaky : [^(]*; bears 52 % RH in winter", words)
    assert "plain bears" not in words
    assert hygro_report(*folder.glob("*.nc"), "--out", out).exit_code == 0  # without the folder
    assert "; bears" not in out.read_text("utf-8")


@pytest.mark.parametrize(
    "text", ["{", '[{"wall": 3}]', '[{"wall": "a", "reserve": {"winter_rh": {"value": "x"}}}]']
)
def test_a_comparison_that_cannot_be_read_is_one_clear_error(
    results: Path, tmp_path: Path, text: str
) -> None:
    (tmp_path / "plain.nc").symlink_to(results / "plain.nc")
    (tmp_path / "comparison.json").write_text(text, encoding="utf-8")
    done = hygro_report(tmp_path, "--out", tmp_path / "page.html")
    assert done.exit_code == 2
    assert "comparison.json: what its walls bear cannot be read" in " ".join(done.stderr.split())
    assert not (tmp_path / "page.html").exists()


@pytest.mark.parametrize(("borne", "words"), [
    (None, "'a' has most left of its limits; how humid a room each bears was not searched"),
    (0.5, "'a' stands first: it bears the most humid room"),
])  # fmt: skip
def test_the_headline_says_by_what_a_wall_stands_first(borne: float | None, words: str) -> None:
    reserve = None if borne is None else Reserve(Bound(0.4, borne, None), None, None)
    walls = tuple(SimpleNamespace(name=x, outcome="within limits", reserve=reserve) for x in "ab")
    assert words in headline(walls)  # type: ignore[arg-type]
