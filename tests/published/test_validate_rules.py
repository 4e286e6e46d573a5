"""The checks can fail: wrong numbers, missing references and broken runs are failures."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from hygro.case import locate
from hygro.errors import InputError
from hygro.proof import inputs, report
from hygro.proof.check import Origin, above, below, compare, not_run, shown
from hygro.proof.run import CASES, Result, chosen, run_case

ORIGIN = Origin("by hand", "exact solution")


def compared(ours, reference, bound, **options):
    return compare(
        "case", "quantity", ours, reference, bound, unit="K", origin=ORIGIN, reason="r", **options
    )


def test_the_worst_place_is_kept_with_its_values():
    check = compared([1.0, 2.5, 3.0], [1.0, 2.0, 3.1], 0.4, at=[10.0, 20.0, 30.0])
    assert (check.ours, check.reference, check.error) == (2.5, 2.0, 0.5)
    assert check.passed is False
    assert "worst at 20 m" in check.note


def test_relative_errors_are_per_cent_of_each_reference():
    check = compared([101.0, 2.01], [100.0, 2.0], 0.9, relative=True)
    assert check.error == pytest.approx(1.0)  # 1 % of 100, not 0.5 % of 2
    assert check.error_unit == "%"


def test_errors_over_a_range_are_per_cent_of_the_range():
    assert compared([1.0], [1.5], 60.0, scale=2.0).error == pytest.approx(25.0)


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_a_missing_value_fails(bad):
    assert compared([1.0, bad, 1.0], [1.0, 1.0, 1.0], 10.0).passed is False


def test_a_bound_is_kept_only_within_it():
    assert compared(1.0, 1.5, 0.5).passed is True
    assert compared(1.0, 1.5 + 1e-9, 0.5).passed is False


def test_trends_are_strict():
    options = {"unit": "K", "origin": ORIGIN, "reason": "r"}
    assert below("c", "q", 1.0, 1.0, **options).passed is False
    assert above("c", "q", 1.0, 1.0, **options).passed is False


def test_a_missing_reference_file_is_a_failure(tmp_path, monkeypatch):
    (tmp_path / "cup_tests").mkdir()
    monkeypatch.setattr(locate, "_FOLDERS", (tmp_path,))
    for cached in (inputs.definition, inputs.rows, inputs.table, inputs.porous):
        cached.cache_clear()
    with pytest.raises(InputError, match="missing reference fails"):
        inputs.rows("cup_tests", "reference.csv")
    with pytest.raises(InputError, match="not installed"):
        inputs.folder("hamstad_2")
    result = run_case(chosen(["hamstad_2"])[0])
    assert [c.status for c in result.checks] == ["fail"]
    assert "missing reference" in result.checks[0].note
    inputs.definition.cache_clear()


def test_a_row_that_was_not_run_is_no_pass_and_no_failure():
    skipped = not_run("c", "q", "library not installed", ORIGIN)
    result = Result(CASES[0], (skipped,), (), 0.0)
    assert skipped.status == "not run"
    assert not report.failed([result])
    assert report.counts([result]) == {"pass": 0, "fail": 0, "shown": 0, "not run": 1}
    assert "library not installed" in report.reasons([result])[0]


def test_a_failed_row_fails_the_whole():
    good = compared(1.0, 1.0, 0.1)
    results = [Result(CASES[0], (good, replace(good, passed=False)), (), 0.0)]
    assert report.failed(results)
    assert json.loads(report.to_json(results))["passed"] is False


def test_shown_rows_decide_nothing():
    row = shown("c", "q", 1.0, 9.0, unit="K", origin=ORIGIN)
    assert row.status == "shown"
    assert not report.failed([Result(CASES[0], (row,), (), 0.0)])


def test_page_has_a_row_for_each_check_and_states_versions():
    result = run_case(chosen(["driving_rain"])[0])
    page = report.markdown([result])
    rows = [line for line in page.splitlines() if line.startswith("| driving_rain")]
    assert len(rows) == len(result.checks)
    assert "numba " in page
    assert all(check.reason in page for check in result.checks)


def test_unknown_names_are_answered_with_near_ones():
    with pytest.raises(InputError, match="cup_tests"):
        chosen(["cup_test"])


def test_names_are_unique_and_every_case_folder_with_a_reference_is_run():
    names = [case.name for case in CASES]
    assert len(names) == len(set(names))
    root = locate.cases_folder()
    assert root is not None
    held = {path.parent.name for path in root.glob("*/reference*.csv")}
    assert held <= set(names)


def test_missing_libraries_leave_visible_rows_that_pass_nothing(monkeypatch):
    from hygro.proof import step, twins

    monkeypatch.setattr("importlib.util.find_spec", lambda _name: None)
    for rows in (step.step_sundials(), twins.twins()):
        assert rows.checks
        assert all(row.status == "not run" for row in rows.checks)
        assert all("not installed" in row.note for row in rows.checks)
