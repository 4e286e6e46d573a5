"""What a sample says of itself: criteria in words, and what too few draws cannot tell."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from hygro.assess.criteria import in_words, word_of
from hygro.decide.point import PointResult
from hygro.decide.sample import SampleResult, Stage, probability
from hygro.decide.sample_files import sample_lines
from hygro.decide.sensitivity import Sensitivity


def sample(draws: int) -> SampleResult:
    results = [
        PointResult(k, {}, k > 1, 0.1, "tight", "x", "closing_mould", "fails",
                    {"mc_30d_max": 0.01 * (k + 1), "mould_index_max": 1.0}, "")
        for k in range(draws)
    ]  # fmt: skip
    failing = probability(2, draws)
    plan: Any = SimpleNamespace(base=SimpleNamespace(wall=SimpleNamespace(name="w")))
    stage = Stage(draws, failing, {})
    return SampleResult((), results, failing, {"closing_mould": failing}, {}, [stage], True, plan)


@pytest.mark.parametrize(
    ("draws", "tails", "told"),
    [(8, False, True), (19, False, True), (20, True, True), (31, True, True), (32, True, False)],
)
def test_few_draws_do_not_tell_what_they_cannot(draws: int, tails: bool, told: bool) -> None:
    lines = sample_lines(sample(draws))
    assert any("95 %" in line and "peak moisture content" in line for line in lines) is tails
    assert any("too few for the 5 and 95 %" in line for line in lines) is not tails
    assert any(f"on; here are {draws}" in line for line in lines) is told


def test_no_direction_is_told_that_the_interval_does_not_bear_out() -> None:
    # by hand, Fisher's z at 40 draws: half width 1.96 sqrt(1.06/37) = 0.332, so 0.19 ends at 0 and
    # 0.50, z = 0.549, at tanh(0.218) = 0.21
    rows = [Sensitivity(name, None, None, None, r) for name, r in (("a", -0.5), ("b", -0.19))]
    found = replace(sample(40), ranked={"mc_30d_max": rows})
    sure, unsure = [line for line in sample_lines(found) if "rank correlation" in line]
    assert "lowers moisture content, rank correlation 0.50 (0.21 to" in sure
    assert "which way it moves is not told, rank correlation 0.19 (0.00 to" in unsure


def test_a_criterion_stands_in_words() -> None:
    lines = sample_lines(sample(40))
    assert not any("closing_mould" in line for line in lines)
    assert any(line.strip().startswith("mould, year 1: 5.0 %") for line in lines)  # 2 of 40
    assert word_of("my_own") == "my_own"
    assert in_words("mc_30d at osb, rain") == "MC 30 d at osb, rain"
    assert in_words("not computed, rain") == "not computed, rain"
