"""`limit` and `compare` give one verdict on both sides of an edge; more pairs by the script.

Slow: one pair of small walls is in `test_limit.py` and one of humidities in `test_reserve.py`.
"""

from __future__ import annotations

import pytest

from benchmarks.limit_compare import Verdicts, asked, pair, searched


@pytest.mark.slow
@pytest.mark.parametrize("number", [3, 5, 203])
def test_limit_and_compare_agree(number: int) -> None:
    given = pair(number)
    found = searched(given)
    both = list(asked(given, found))
    assert any(w.low or w.high for w in found.windows), "no edge: nothing to agree on"
    assert all(item.agree for item in both), both
    assert {item.compare for item in both} == {True, False}


def test_a_verdict_that_differs_is_seen() -> None:
    assert not Verdicts(1.0, limit=True, compare=False).agree
    assert Verdicts(1.0, limit=False, compare=False).agree
