"""Words on a client's page, and a saved record that is judged by the criteria of its case."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np
import pytest
from assess_records import record
from case_files import write_case
from typer.testing import CliRunner

from hygro.assess import CRITERIA, verdict
from hygro.case import judge_stored
from hygro.cli import app
from hygro.show import findings

ONLY_IN_DATA = ("from memory", "ours", "asked for in practice", "kept", "not kept", "bears")


def hygro(*arguments: str):
    return CliRunner().invoke(app, list(arguments))


STRICT = "[criteria]\nskip_days = 3\n[criteria.change.mc_30d]\nlimit = 0.01\n[settings]"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("words")


@pytest.fixture(scope="module")
def run(folder: Path):
    case = write_case(folder, ("[settings]", STRICT))
    out = folder / "leaky.nc"
    return hygro("run", str(case), "--wall", "leaky", "--out", str(out))


def words(text: str) -> str:
    return " ".join(text.split())


def test_no_word_of_the_data_stands_on_a_clients_page(run, folder: Path) -> None:
    assert run.exit_code == 0, run.output
    shown = hygro("show", str(folder / "leaky-service.nc"))
    assert shown.exit_code == 0, shown.output
    for page in (words(run.output), words(shown.output)):
        for word in ONLY_IN_DATA:
            assert f" {word} " not in f" {page} ".replace(",", " "), word
    assert "not checked against the document" in words(run.output)


@pytest.mark.parametrize("key", ["concrete", "cellulose", "felt-15"])
def test_a_data_sheet_says_what_was_not_checked(key: str) -> None:
    page = words(hygro("materials", key).output)
    assert "from memory" not in page
    assert "not checked against" in page


def test_a_data_sheet_gives_no_source_for_what_is_not_stated() -> None:
    found = json.loads(hygro("materials", "clay-brick", "--json").output)
    (line,) = [x for x in found if x["property"] == "s_crit"]
    assert (line["value"], line["unit"]) == ("not stated", "")
    assert line["source"].startswith("no value is known")


def test_no_criterion_says_ours_or_asked_for() -> None:
    for row in CRITERIA:
        for text in (row.source, row.note, row.quantity):
            assert "asked for" not in text, row.key
            assert "is ours" not in text, row.key
            assert "bears" not in text, row.key


def test_what_is_not_hard_advises_and_never_fails() -> None:
    humid = np.full((5, 2), 0.5)
    humid[2, 0] = 0.97
    found = verdict(record(hours=24 * 80, face_rh=humid))
    outcomes = {(f.hard, f.passed): f.outcome for f in found.findings}
    assert outcomes[True, False] == "fails"
    assert outcomes[False, False] == "advisory: beyond limit"
    assert outcomes[True, True] == outcomes[False, True] == "within limit"
    decide, advise = ([*map(str, t.columns[-1].cells)] for t in findings.findings(found))
    assert decide.count("fails") == len(found.failed)
    assert "fails" not in advise
    assert "beyond limit" in advise


def test_show_judges_by_the_criteria_of_the_case_and_repeats_the_cautions(run, folder) -> None:
    assert run.exit_code == 0, run.output
    shown = words(hygro("show", str(folder / "leaky-service.nc")).output)
    assert "leaky, with its rain leaks alone, service alone: fails" in shown
    assert "limit at most 1.0 %: beyond limit" in shown
    assert "the first 3 days are left out" in shown
    for caution in ("average year", "One dimension", "no proof of compliance", "other scenarios"):
        assert caution in shown
    data = json.loads(hygro("show", str(folder / "leaky-service.nc"), "--json").stdout)
    (row,) = [f for f in data["verdict"]["findings"] if f["criterion"] == "mc_30d"]
    assert (row["limit"], row["source"]) == (0.01, "set by the user")


def test_a_record_without_a_case_is_judged_by_the_default() -> None:
    ds = record()
    assert judge_stored(ds) == verdict(ds)


def test_a_stored_criterion_of_ones_own_is_named_and_its_code_is_not_run() -> None:
    ds = record().assign_attrs(case_text='[criteria]\nown = ["antigravity:x"]')
    found = judge_stored(ds)
    *others, own = found.findings
    assert tuple(others) == verdict(ds).findings
    assert verdict(ds).passed is True
    # what was asked for and not looked at is no pass
    assert (own.passed, own.hard, found.passed) == (None, True, None)
    assert "antigravity:x: a record runs no code" in found.notes[0]
    assert "antigravity" not in sys.modules
