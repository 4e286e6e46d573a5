"""What the runs of a point of a study add up to. Owns the step from scenarios to one answer."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from hygro.assess.verdict import OUTCOMES
from hygro.decide.plan import Plan, PlannedRun
from hygro.decide.rate import Row
from hygro.types import Data

SLIGHT = 1e-6
"""A margin with the sign of its verdict where the number has another, or is none. [1]"""


class PointResult(NamedTuple):
    """The answer at a point: the worst of its scenarios.

    Attributes
    ----------
    point : int
        Place in the study.
    at : dict
        Values by the name of what varies.
    passed : bool or None
        All scenarios pass; None where one was not judged, failed to run or is not finished.
    margin : float
        Signed distance to the limit that decides, positive where all pass; NaN where there is no
        answer. [1]
    scenario, decides, criterion : str
        Which leaks decide, the place and criterion in words, and the key of the criterion.
    numbers : dict
        The greatest over the scenarios.
    error : str
        Why a run could not be done.
    least : float
        Least margin of all hard criteria and scenarios, with the sign of the verdict: it does not
        jump where another question or criterion comes to decide. NaN where there is no answer. [1]
    """

    point: int
    at: Data
    passed: bool | None
    margin: float
    scenario: str
    decides: str
    criterion: str
    outcome: str
    numbers: dict[str, float]
    error: str
    least: float = math.nan


def point_results(plan: Plan, rows: Mapping[str, Row]) -> list[PointResult]:
    """Return the answers at all points, in their order."""
    found: list[list[PlannedRun]] = [[] for _ in range(len(plan.points))]
    for run in plan.runs:
        found[run.point].append(run)
    return [point_result(plan, runs, rows) for runs in found]


def point_result(plan: Plan, runs: list[PlannedRun], rows: Mapping[str, Row]) -> PointResult:
    """Return the answer at one point from the rows of its runs."""
    point, made = runs[0].point, [(run, rows.get(run.sha256)) for run in runs]
    at = plan.coordinates(point)
    done = [(run, row) for run, row in made if row is not None and row.state == "done"]
    if len(done) < len(runs):
        told = [row.error for _, row in made if row is not None and row.state == "failed"]
        state = "not computed" if told else "not finished"
        error = "; ".join(dict.fromkeys(told))
        return PointResult(point, at, None, math.nan, "", "", "", state, {}, error)
    run, row = min(done, key=lambda pair: (-OUTCOMES.index(pair[1].outcome), margin_of(pair[1])))
    passed = _together(row.passed for _, row in done)
    least = min(_least(row) for _, row in done)
    return PointResult(
        point,
        at,
        passed,
        margin_of(row) if passed is not None else math.nan,
        run.scenario,
        row.decides,
        deciding(row),
        row.outcome,
        _greatest(row for _, row in done),
        "",
        _signed(least, passed) if passed is not None else math.nan,
    )


def _together(results: Iterable[bool | None]) -> bool | None:
    found = list(results)
    return False if False in found else None if None in found else True


def margin_of(row: Row) -> float:
    """Margin of a run with the sign of its verdict; some criteria have no share of their limit."""
    return _signed(0.0 if row.margin is None else row.margin, row.passed)


def _signed(margin: float, passed: bool | None) -> float:
    return max(margin, SLIGHT) if passed else min(margin, -SLIGHT)


def _least(row: Row) -> float:
    """Least margin of the hard criteria; 0 where none has a share of its limit."""
    hard = (c["margin"] for c in row.criteria.values() if c["hard"])
    return min((float(m) for m in hard if m is not None), default=0.0)


def deciding(row: Row) -> str:
    """Key of the hard criterion that decides a run: the one whose margin is that of its verdict."""
    hard = {k: c for k, c in row.criteria.items() if c["hard"] and c["passed"] is not None}
    wrong = {k: c for k, c in hard.items() if c["passed"] is False} or hard

    def apart(key: str) -> float:
        margin = wrong[key]["margin"]
        return math.inf if margin is None or row.margin is None else abs(margin - row.margin)

    return min(wrong, key=apart) if wrong else ""


def _greatest(rows: Iterable[Row]) -> dict[str, float]:
    """The greatest of each number over the scenarios, condensate among them."""
    found: dict[str, float] = {}
    for row in rows:
        for key, value in {**row.numbers, "condensate": _value(row, "condensate")}.items():
            if isinstance(value, int | float) and not isinstance(value, bool):
                found[key] = max(found.get(key, -math.inf), float(value))
    return found


def _value(row: Row, criterion: str) -> float | None:
    found = row.criteria.get(criterion)
    return None if found is None else found["value"]
