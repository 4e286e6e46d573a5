"""The numbers of README and pages are those of the files of results."""

from __future__ import annotations

import json
import re

import make_numbers
import measured
import pytest
from blocks import ROOT
from measured import checks, files

from hygro.proof.check import Check
from hygro.proof.report import cells

PAGES = {path.relative_to(ROOT).as_posix(): path for path in make_numbers.pages()}
MARKS = {name: make_numbers.MARKED.findall(path.read_text("utf-8")) for name, path in PAGES.items()}
FROM_RUNS = [name for name, marks in MARKS.items() if marks]


@pytest.mark.parametrize("name", FROM_RUNS)
def test_a_page_says_what_the_files_of_results_say(name: str) -> None:
    """Run `python docs/make_numbers.py` after a run has written its results."""
    text = PAGES[name].read_text(encoding="utf-8")
    assert make_numbers.filled(text) == text


def test_every_number_is_used_and_every_mark_is_closed() -> None:
    used = {key for marks in MARKS.values() for _, key, _, _ in marks}
    assert used == set(measured.NUMBERS)
    for name, path in PAGES.items():
        text = path.read_text(encoding="utf-8")
        assert text.count("<!-- number: ") == text.count("<!-- end -->") == len(MARKS[name]), name


def test_a_page_that_differs_from_a_result_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Another result gives another page: one check more that failed."""
    stored = files.read("validation")
    worse = {**stored, "counts": {**stored["counts"], "fail": 1}}
    monkeypatch.setattr(checks, "read", {"validation": worse}.__getitem__)
    text = "<!-- number: checks.fail -->0<!-- end --> fail"
    assert make_numbers.filled(text) == "<!-- number: checks.fail -->1<!-- end --> fail"


def test_a_mark_that_names_no_number_is_an_error() -> None:
    with pytest.raises(KeyError, match=r"checks\.pased"):
        make_numbers.filled("<!-- number: checks.pased --><!-- end -->")


def test_readme_types_no_measured_number_by_hand() -> None:
    """Outside of marks, code and links no number stands before the unit of a measurement."""
    text = make_numbers.MARKED.sub("", PAGES["README.md"].read_text(encoding="utf-8"))
    text = re.sub(r"```.*?```|`[^`]*`|\]\([^)]*\)", "", text, flags=re.DOTALL)
    assert re.findall(r"\b[\d.]+ (?:s|min|K|%|kg/m²|times|checks)(?![\w/])", text) == []


def test_the_page_of_validation_is_of_the_run_of_the_results() -> None:
    """Every row, as the command writes it."""
    page = (ROOT / "docs" / "validation.md").read_text(encoding="utf-8")
    found = json.loads((files.FOLDER / "validation.json").read_text(encoding="utf-8"))
    for row in found["checks"]:
        check = Check(**{key: value for key, value in row.items() if key != "status"})
        told = " | ".join(cell.replace("|", "\\|") for cell in cells(check))
        assert f"| {told} |" in page, check.quantity
    assert f"Versions: {found['versions']}." in page
