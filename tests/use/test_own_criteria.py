"""Criteria of a user's own: in Python, in a comparison, in a case file, and what is refused."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np
import pytest
from assess_records import record
from case_files import write_case
from typer.testing import CliRunner

from hygro.assess import CRITERIA, Criterion, criterion_at, verdict, with_changes
from hygro.case import CaseError, load
from hygro.cli import app
from hygro.errors import InputError

MODULE = """
from hygro.assess import Criterion


def _hottest(rated, row):
    values = rated.record["interface_temperature"].values[:, 0, 0]
    at = int(values.argmax())
    yield row.finding("outdoor surface", values[at], rated.times[at])


hot = Criterion(key="hot", quantity="temperature of the cladding", limit=343.15, unit="K",
                source="data sheet", judge=_hottest)


def cold(record):
    row = Criterion(key="cold", quantity="hours below zero", limit=1.0, unit="h", hard=False)
    cold = record["layer_temperature"].values[1:, 0] < 273.15
    yield row.finding("cladding", float(cold.sum()))


number = 3
"""


def hottest(rated, row):
    values = rated.record["interface_temperature"].values[:, 0, 0]
    at = int(values.argmax())
    yield row.finding("outdoor surface", values[at], rated.times[at])


HOT = Criterion(key="hot", quantity="temperature of the cladding", limit=343.15, unit="K",
                source="data sheet", judge=hottest)  # fmt: skip


@pytest.fixture
def on_path(tmp_path: Path):
    """A folder with a module of criteria; the search path is as before afterwards."""
    before = list(sys.path)
    (tmp_path / "rules_of_mine.py").write_text(MODULE, encoding="utf-8")
    yield tmp_path
    sys.path[:] = before
    sys.modules.pop("rules_of_mine", None)


def heated() -> object:
    temperature = np.full(241, 293.15)
    temperature[100] = 350.0
    return record(hours=240, face_temperature=temperature)


def test_a_criterion_of_ones_own_is_judged_beside_the_others_and_decides() -> None:
    ds = heated()
    found = verdict(ds, criteria=(*CRITERIA, HOT))
    (row,) = found.of("hot")
    assert (row.value, row.limit, row.passed, row.hard) == (350.0, 343.15, False, True)
    assert row.when == "2030-10-05T04"  # 100 h after the first of October
    assert row.margin is None  # a share of a temperature says nothing
    assert "temperature of the cladding 350 K" in row.reason
    assert found.findings[:-1] == verdict(ds).findings
    assert found.passed is False


def test_a_key_without_findings_is_told_from_an_unknown_one() -> None:
    ds = record()
    silent = Criterion(key="silent", quantity="x", limit=1.0, judge=lambda *_: ())
    found = verdict(ds, criteria=(silent,))
    for known in ("silent", "frost", "monthly_left"):  # own, of the default, of a rule set
        assert found.of(known) == ()
    with pytest.raises(InputError, match=r"'silnt': unknown \(did you mean 'silent'"):
        found.of("silnt")
    # what a function would call its findings nobody knows before it has some
    assert verdict(ds, criteria=lambda _: ()).of("mine") == ()


def test_days_left_out_are_left_out_for_an_own_criterion_too() -> None:
    (row,) = verdict(heated(), criteria=(HOT,), skip_days=5).of("hot")
    assert row.value == 293.15
    assert row.reason.endswith("the first 5 days are left out")


def test_a_function_of_the_record_is_a_criterion() -> None:
    def wettest(ds):
        row = Criterion(key="wettest", quantity="water", limit=1.0, unit="kg m-2")
        yield row.finding("cladding", ds["layer_water"].values[:, 0].max())

    found = verdict(record(), criteria=(wettest,))
    # 10 % of 1800 kg/m³ in 20 mm: 3.6 kg/m²
    assert [f.value for f in found.findings] == pytest.approx([3.6])
    assert found.passed is False


def test_an_own_criterion_can_be_changed_like_the_others() -> None:
    (row,) = verdict(heated(), criteria=with_changes("hot", limit=360.0, criteria=(HOT,))).findings
    assert row.passed is True


def failing(rated, row):
    raise ZeroDivisionError("no water")
    yield


def nothing(rated, row):
    return None


def numbers(rated, row):
    yield 3.0


@pytest.mark.parametrize(
    ("judge", "words"),
    [
        (failing, "criterion 'mine': ZeroDivisionError: no water"),
        (nothing, "criterion 'mine': returns a NoneType: must yield findings"),
        (numbers, "criterion 'mine': yields a float"),
        (None, "criterion 'mine': has no judge"),
    ],
)
def test_what_an_own_criterion_does_wrong_is_told_with_its_name(judge, words: str) -> None:
    mine = Criterion(key="mine", quantity="mine", limit=1.0, judge=judge)
    with pytest.raises(InputError, match=words):
        verdict(record(), criteria=(mine,))


def test_a_function_that_raises_is_named() -> None:
    def broken(ds):
        return ds["no such array"]

    with pytest.raises(InputError, match=r"criterion '.*broken': KeyError"):
        verdict(record(), criteria=(broken,))


def test_one_key_twice_is_refused() -> None:
    with pytest.raises(InputError, match="'hot': given twice"):
        verdict(record(), criteria=(HOT, HOT))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"limit": float("nan")}, "limit = nan: must be a finite number"),
        ({"sense": "above"}, "must be 'below' or 'at most'"),
        ({"judge": 3}, "judge is a int: must be a function"),
    ],
)
def test_a_criterion_that_cannot_be_is_refused_where_it_is_written(change, words: str) -> None:
    with pytest.raises(InputError, match=words):
        Criterion(**{"key": "mine", "quantity": "mine", "limit": 1.0, **change})


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("rules_of_mine", "must be 'package.module:name'"),
        ("no_such_module:x", r"'no_such_module' cannot be imported \(ModuleNotFoundError"),
        ("rules_of_mine:hott", "has no 'hott'; did you mean 'hot'"),
        ("rules_of_mine:number", "is a int: must be a Criterion, or a function"),
        ("rules_of_mine:Criterion", "is a class: must be"),
    ],
)
def test_a_path_that_leads_to_no_criterion_is_told(on_path: Path, path: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        criterion_at(path, on_path)


def case(folder: Path, *own: str) -> Path:
    text = ", ".join(f'"{path}"' for path in own)
    table = f"[criteria]\nown = [{text}]\n[criteria.change.hot]\nlimit = 250.0\n[settings]"
    return write_case(folder, ("[settings]", table), ('name = "leaky"', 'name = "second"'),
                      ('leaks.rain = { at = "sheathing" }', ""))  # fmt: skip


def test_a_case_names_own_criteria_beside_it(on_path: Path) -> None:
    """In two processes, which import the module again."""
    file = case(on_path, "rules_of_mine:hot", "rules_of_mine:cold")
    answer = CliRunner().invoke(app, ["compare", str(file), "--json", "--processes", "2"])
    assert answer.exit_code == 0, answer.output
    for wall in json.loads(answer.stdout):
        findings = {f["criterion"]: f for f in wall["runs"][0]["verdict"]["findings"]}
        hot, cold = findings["hot"], findings["cold"]
        # The cladding is warmer than -23 °C some time of the year, and frozen for weeks.
        assert (hot["passed"], hot["limit"]) == (False, 250.0)
        assert (cold["passed"], cold["hard"]) == (False, False)
        assert cold["value"] > 500


def test_a_case_with_a_path_to_nothing_is_refused_with_its_place(on_path: Path) -> None:
    with pytest.raises(CaseError, match=r"criteria.own\[0\].*has no 'warm'"):
        load(case(on_path, "rules_of_mine:warm", "rules_of_mine:hot"))


@pytest.mark.parametrize(("unit", "margin"), [("kg m-2", 0.5), ("K", None), ("degC", None)])
def test_a_share_of_a_temperature_says_nothing(unit: str, margin: float | None) -> None:
    row = Criterion(key="x", quantity="x", limit=2.0, unit=unit, source="hand", judge=silent)
    assert row.margin(1.0) == margin


def silent(_rated: object, _row: object) -> list[object]:
    return []


def test_one_criterion_is_a_list_of_one() -> None:
    ds = record(hours=48)
    assert verdict(ds, criteria=HOT) == verdict(ds, criteria=[HOT])
