"""Forty walls and the verdict a practitioner expects; contradictions are marked in the data.

What is expected, and its source, stands in `cases/forty_walls/walls.toml`.
"""

from __future__ import annotations

from functools import cache

import pytest

from benchmarks.forty_checks import Check
from benchmarks.forty_page import page
from benchmarks.forty_walls import PAGE, Judged, judge, rows, with_needed

NAMES = [row.wall.name for row in rows()]
FEW = [
    "zone 8, half outside",
    "zone 8, three quarters outside",
    "zone 5A, all outboard, wet start",
    "zone 7, steel studs, 25 mm wool outside",
    "zone 1A, museum, vinyl inside",
]
"""Judged in every test run, with those that they are compared with."""


@cache
def few() -> dict[str, Judged]:
    return {item.row.wall.name: item for item in judge(with_needed(FEW))}


@cache
def every() -> dict[str, Judged]:
    return {item.row.wall.name: item for item in judge(rows())}


def assert_as_marked(item: Judged) -> None:
    for check in item.checks:
        said = f"expected {check.expected}; found {check.found}"
        assert check.as_marked, (
            f"{said}: is marked as contradicted, take the mark away" if check.holds else said
        )


@pytest.mark.parametrize("name", FEW)
def test_a_few_walls_are_judged_as_expected(name: str) -> None:
    assert_as_marked(few()[name])


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_forty_walls_are_judged_as_expected(name: str) -> None:
    assert_as_marked(every()[name])


@pytest.mark.slow
def test_the_page_says_what_is_found() -> None:
    texts = PAGE.read_text(encoding="utf-8"), page(list(every().values()))
    verdicts = [
        [line.split("|")[2:6] for line in text.splitlines() if line.startswith("| ")]
        for text in texts
    ]
    assert verdicts[0] == verdicts[1]


def test_the_page_has_every_wall_and_every_contradiction() -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert len(NAMES) == len(set(NAMES)) == 40
    for row in rows():
        assert f"| {row.wall.name} |" in text
        for why in row.table["contradicted"].values():
            assert " ".join(why.split()) in text
            assert f"**{row.number} {row.wall.name}**" in text


def test_marks_are_of_expectations_that_there_are() -> None:
    for row in rows():
        count = ("expect" in row.table["judge"]) + len(row.table.get("also", ()))
        assert count, f"nothing is expected of '{row.wall.name}'"
        assert all(place < count for place in row.table["contradicted"])


def test_at_least_half_are_published_findings() -> None:
    ours = [row for row in rows() if "common practice" in row.table["source"]]
    assert len(NAMES) - len(ours) >= 20


@pytest.mark.parametrize(
    ("holds", "contradicted", "as_marked"),
    [(True, "", True), (False, "", False), (True, "why", False), (False, "why", True)],
)
def test_a_mark_is_strict(holds: bool, contradicted: str, as_marked: bool) -> None:
    assert Check("a", "b", holds, contradicted).as_marked is as_marked
