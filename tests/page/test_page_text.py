"""What the page says: order, sentences, links, nothing from elsewhere, the same letters again."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

import hygro
from hygro.data_files import table
from hygro.errors import InputError, RecordError
from hygro.page import report
from hygro.page.gather import gather
from hygro.page.sections.evidence import _sums
from hygro.page.sections.verdicts import bar
from hygro.record import load
from hygro.show.monthly import WAYS
from hygro.study.reserve import Bound, Reserve


class Read(HTMLParser):
    """Ids, links, headings and text of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.links: list[str] = []
        self.loads: list[str] = []
        self.headings: list[str] = []
        self.words = ""
        self.stack: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note ids, links and what is loaded."""
        self.stack.append(tag)
        for name, value in attrs:
            if name == "id":
                self.ids.append(value or "")
            if name == "href" and tag == "a":
                self.links.append(value or "")
            elif name in ("src", "href", "xlink:href", "action", "data"):
                self.loads.append(value or "")
        if tag in ("h1", "h2"):
            self.headings.append("")

    def handle_endtag(self, tag: str) -> None:
        """Leave an element and those in it that have no end."""
        while self.stack and self.stack.pop() != tag:
            pass

    def handle_data(self, data: str) -> None:
        """Note headings, and words that are no script."""
        if self.stack and self.stack[-1] in ("h1", "h2"):
            self.headings[-1] += data
        if "script" not in self.stack and "style" not in self.stack:
            self.words += data


@pytest.fixture(scope="module")
def read(page: Path) -> Read:
    return Read(page.read_text("utf-8"))


def test_the_verdict_comes_first_and_the_check_list_last(read: Read) -> None:
    """The order that a reader needs: result, cautions, table, wall, evidence, then the rest."""
    assert read.headings[:6] == [
        "small", "Verdict", "Cautions", "Side by side", "Walls to scale", "Evidence",
    ]  # fmt: skip
    assert read.headings[-2] == "What standards ask of a report"


def test_ids_are_unique_and_every_link_leads_into_the_page(read: Read) -> None:
    assert len(read.ids) == len(set(read.ids))
    assert read.links
    for link in read.links:
        assert link.startswith("#"), link
        assert link[1:] in read.ids, link


def test_nothing_is_loaded_from_elsewhere(page: Path, read: Read) -> None:
    for source in read.loads:
        assert source.startswith(("data:", "#")), source[:80]
    style = re.findall(r"url\(([^)]*)\)", page.read_text("utf-8"))
    assert all(target.strip("'\"").startswith("#") for target in style)


def test_the_sentence_of_a_wall_is_its_verdict(results: Path, read: Read) -> None:
    """The wall without leaks: class and reason from the two verdicts of its records."""
    words = " ".join(read.words.split())
    service, closing = (
        load(results / name).hygro.verdict() for name in ("plain-service.nc", "plain.nc")
    )
    expected = "within limits"
    if closing.passed is False:
        expected = "fails closing in"
    if service.passed is False:
        expected = "fails"
    sentence = re.search(r"\d plain: ([a-z ]+), reserve [^()]* \([^()]*\) (.*?) Reserve:", words)
    assert sentence is not None
    assert sentence[1] == expected
    worst = (closing if service.passed else service).worst
    assert re.sub(r"T(\d\d)\b", r" \1:00", worst.reason[1:]) + "." in sentence[2]


def test_no_inner_language_reaches_a_client(read: Read) -> None:
    assert "from memory" not in read.words
    verdicts = read.words[: read.words.index("Cautions", read.words.index("Reserve:"))]
    assert not re.search(r"\dT\d\d\b", verdicts)  # the hour as a clock has it


def test_the_same_records_give_the_same_letters(results: Path, page: Path, tmp_path: Path) -> None:
    """In any order of the files, and from opened records."""
    records = [load(path) for path in sorted(results.glob("*.nc"), reverse=True)]
    assert report(records, out=tmp_path / "b.html").read_bytes() == page.read_bytes()


def test_every_line_of_the_check_list_is_answered_or_says_why_not(page: Path) -> None:
    part = page.read_text("utf-8").split('<section id="asked"')[1].split("</section>")[0]
    rows = re.findall(r"<tr><th scope=\"row\">(.*?)</th><td>(.*?)</td>", part, re.DOTALL)
    assert len(rows) == len(table("hygro.page", "asked")["row"])
    for asked, answer in rows:
        assert 'href="#' in answer or "not answered: " in answer, asked
    told = dict(rows)
    assert "not answered" in told["Whether a model suits the question of the project at all"]
    assert "without --check" in told["Control of errors"]


def test_a_name_cannot_break_the_page(results: Path, tmp_path: Path) -> None:
    name = '</script><b id="x">&"wall'
    ds = load(results / "plain.nc")
    wall = ds.attrs["wall"].replace('"name": "plain"', '"name": "</script><b id=\\"x\\">&\\"wall"')
    read = Read(
        report(ds.assign_attrs(title=name, wall=wall, room_name=name), out=tmp_path / "x.html")
        .read_text("utf-8")
    )  # fmt: skip
    assert "x" not in read.ids
    assert name in read.words


def test_a_record_without_a_case_says_what_is_missing(results: Path, tmp_path: Path) -> None:
    ds = load(results / "plain.nc")
    bare = ds.assign_attrs(case_text="", case="", case_file="")
    words = Read(report(bare, out=tmp_path / "x.html").read_text("utf-8")).words
    assert "not answered: the runs were made in Python" in words


def test_what_cannot_be_reported_is_refused(results: Path, tmp_path: Path) -> None:
    ds = load(results / "plain.nc")
    with pytest.raises(RecordError, match="a second record of 'plain', tight, closing in"):
        report([ds, ds], out=tmp_path / "x.html")
    with pytest.raises(RecordError, match="no record given"):
        report([], out=tmp_path / "x.html")
    with pytest.raises(InputError, match="4380 hours: a report needs a year"):
        report(ds.isel(time=slice(0, 4381)), out=tmp_path / "x.html")
    with pytest.raises(RecordError, match="attribute 'title' is missing"):
        report(ds.drop_attrs(deep=False), out=tmp_path / "x.html")
    with pytest.raises(InputError, match="were not saved"):
        report(hygro.study.compare.Comparison(gather([ds]).walls), out=tmp_path / "x.html")
    assert not list(tmp_path.iterdir())


def test_what_a_wall_bears_stands_beside_its_verdict(results: Path, tmp_path: Path) -> None:
    """Made numbers: 44 % RH borne, 47 % not; no rain leak; R 2.5 m²·K/W the least."""
    bears = Reserve(Bound(0.45, 0.44, 0.47, ("mould at sheathing",)), None, Bound(5.0, 2.5, 2.4))
    files = sorted(results.glob("plain*.nc"))
    page = report(files, out=tmp_path / "x.html", reserves={"plain": bears}).read_text("utf-8")
    words = " ".join(Read(page).words.split())
    sentence = r"1 plain: [a-z ]+, reserve [^;]+; bears 44 % RH in winter, R 2\.50 m²·K/W "
    assert re.search(sentence + "outboard at the least", words)
    assert re.search(r"plain\s*44 %\s*–\s*2\.50 m²·K/W", words)
    assert "plain, beyond its RH: mould at sheathing" in words


def test_a_reserve_bar_ends_where_its_margin_says() -> None:
    """By hand: the limit at 50, a whole limit is 50 wide."""
    assert bar(0.4) == {"x": 50.0, "width": 20.0}
    assert bar(-0.5) == {"x": 25.0, "width": 25.0}
    assert bar(-3.0) == {"x": 0.0, "width": 50.0}
    assert bar(None) is None


def test_the_page_says_when_the_wood_was_dry_in_each_scenario(read: Read) -> None:
    """The sheathing of both walls starts at 80 % RH, which is below 20 % by mass."""
    told = read.words[read.words.index("Days to dry") :]
    told = told[: told.index("To know")]
    assert re.search(r"plain, no leaks defined: [^:]*nothing to dry", told)
    leaks = re.findall(r"leaky, ([^:]*): [^:]*nothing to dry", told)
    assert sorted(", ".join(leaks).split(", ")) == [
        "air leaks", "no leaks", "rain and air", "rain leaks",
    ]  # fmt: skip


def test_the_page_of_one_record_says_when_its_wood_was_dry(results: Path, tmp_path: Path) -> None:
    made = Read(report([results / "plain.nc"], out=tmp_path / "one.html").read_text("utf-8"))
    assert re.search(r"Days to dry\s*plain, no leaks defined: [^:]*nothing to dry", made.words)


def test_a_sum_that_is_rounded_to_nothing_has_no_minus() -> None:
    """-0.0004 kg/m² in twelve months, and -0.0006 in another way."""
    flows = {key: np.zeros(12) for key in WAYS}
    flows["drained"][3], flows["room"][3] = -0.0004, -0.0006
    found = dict(_sums(flows, 12, "si"))
    assert found["drained"] == "+0.000"
    assert found[WAYS["room"][0]] == "-0.001"
