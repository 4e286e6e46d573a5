"""`hygro report` as typed: a case that is run and checked, results as they are, what is refused."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from case_files import write_case
from typer.testing import CliRunner, Result

import hygro
from hygro.case import load, prepare
from hygro.cli import app
from hygro.cli.running import planned
from hygro.page.gather import gather
from hygro.study.compare import Comparison, paired
from hygro.study.perform import perform
from hygro.study.runs import Judging

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
    assert re.search(r"moisture content at most 0\.\d\d % by mass, of the mould index", page)
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


def test_a_folder_of_results_is_read_as_it_is(results: Path, page: Path, tmp_path: Path) -> None:
    done = hygro_report(results, "--out", tmp_path / "x.html")
    assert done.exit_code == 0, done.output
    assert (tmp_path / "x.html").read_bytes() == page.read_bytes()


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
