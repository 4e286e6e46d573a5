"""Which criterion decides a run of a study: by hand, service before closing in as in a verdict."""

from __future__ import annotations

import pytest

from hygro.decide.point import deciding
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
