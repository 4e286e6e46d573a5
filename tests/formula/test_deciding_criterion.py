"""Which criterion decides a run of a study: by hand, service before closing in as in a verdict."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from hygro.assess.verdict import OUTCOMES
from hygro.decide.point import SLIGHT, deciding, point_result
from hygro.decide.rate import Row


def row(margin: float | None, **criteria: tuple[bool, float | None]) -> Row:
    told = {k: {"hard": True, "passed": ok, "margin": m} for k, (ok, m) in criteria.items()}
    return Row("", "done", margin=margin, criteria=told)


@pytest.mark.parametrize(
    ("found", "key"),
    [
        # service fails by less than closing in does; its margin is that of the verdict
        (row(-0.2, closing=(False, -0.4), service=(False, -0.2), other=(False, -0.1)), "service"),
        (row(-0.4, closing=(False, -0.4), service=(True, 0.1)), "closing"),
        (row(0.1, closing=(True, 0.4), service=(True, 0.1)), "service"),
        (row(None, service=(False, None), closing=(True, 0.4)), "service"),
    ],
)
def test_the_criterion_of_the_margin_decides(found: Row, key: str) -> None:
    assert deciding(found) == key


@pytest.mark.parametrize(
    ("scenarios", "margin", "least"),
    [
        # service is nearer to its limit than the first year; a soft criterion fails by most
        (
            {"both": [(False, -0.01), (False, -0.14)], "none": [(True, 0.3), (True, 0.2)]},
            -0.01, -0.14,
        ),
        ({"both": [(True, 0.2), (True, 0.1)], "none": [(True, 0.3), (True, 0.05)]}, 0.2, 0.05),
        ({"both": [(False, None), (True, 0.4)]}, -SLIGHT, -SLIGHT),
    ],
)  # fmt: skip
def test_the_least_margin_of_a_point_is_of_all_hard_criteria_and_scenarios(
    scenarios: dict[str, list[tuple[bool, float | None]]], margin: float, least: float
) -> None:
    runs: list[Any] = []
    rows = {}
    for name, found in scenarios.items():
        (service, reserve), closing = found
        told = row(reserve, service=(service, reserve), closing=closing)
        soft = {"hard": False, "passed": False, "margin": -9.0}
        rows[name] = replace(
            told, outcome=OUTCOMES[0 if service else -1], passed=service and closing[0],
            criteria={**told.criteria, "soft": soft}, margin=reserve,
        )  # fmt: skip
        runs.append(SimpleNamespace(point=0, sha256=name, scenario=name))
    plan: Any = SimpleNamespace(coordinates=lambda _: {})
    result = point_result(plan, runs, rows)
    assert (result.margin, result.least) == (margin, least)
