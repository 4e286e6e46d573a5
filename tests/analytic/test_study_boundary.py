"""The line where a verdict turns, against lines known in closed form; sensitivities likewise."""

from __future__ import annotations

import sys
from collections.abc import Callable

import numpy as np
import pytest
from scipy import stats

from hygro.decide.boundary import sharpened
from hygro.decide.draw import shares
from hygro.decide.sample import probability
from hygro.decide.sensitivity import sensitivities

Field = Callable[[np.ndarray], np.ndarray]

LINES: dict[str, tuple[Field, Field]] = {
    # margin, and the distance of points from the line where it is zero
    "straight": (
        lambda p: p[:, 0] - 0.43 - 0.2 * p[:, 1],
        lambda p: (p[:, 0] - 0.43 - 0.2 * p[:, 1]) / np.hypot(1.0, 0.2),
    ),
    "circle": (
        lambda p: np.hypot(p[:, 0] - 0.5, p[:, 1] - 0.5) - 0.3,
        lambda p: np.hypot(p[:, 0] - 0.5, p[:, 1] - 0.5) - 0.3,
    ),
    "steep beyond": (
        lambda p: 1.0 - np.exp(4.0 * (p[:, 1] - p[:, 0] - 0.2)),
        lambda p: (p[:, 1] - p[:, 0] - 0.2) / np.sqrt(2.0),
    ),
    "two criteria": (
        lambda p: np.minimum(p[:, 0] - 0.3, 0.6 - p[:, 1]),
        lambda p: np.minimum(p[:, 0] - 0.3, 0.6 - p[:, 1]),
    ),
}


@pytest.mark.parametrize("name", LINES)
def test_the_line_is_sharp_to_one_per_cent_at_a_quarter_of_the_cost(name: str) -> None:
    margin, distance = LINES[name]
    tried: list[np.ndarray] = []

    def ask(points: np.ndarray) -> np.ndarray:
        tried.append(points)
        return margin(points)

    found = sharpened(ask)
    assert found.open == 0
    assert max(np.abs(distance(line)).max() for line in found.lines) <= 0.01
    assert sum(map(len, tried)) <= 100  # of 400 points of a full grid of 20 by 20
    assert all(((points >= 0.0) & (points <= 1.0)).all() for points in tried)


def test_no_line_is_drawn_where_the_verdict_does_not_turn() -> None:
    found = sharpened(lambda p: np.full(len(p), 0.3))
    assert (found.lines, len(found.points)) == ([], 36)


def test_points_without_an_answer_are_left_out() -> None:
    def ask(p: np.ndarray) -> np.ndarray:
        return np.where(p[:, 1] > 0.85, np.nan, p[:, 0] - 0.5)

    found = sharpened(ask)
    line = np.concatenate(found.lines)
    below = line[line[:, 1] < 0.8]
    assert np.abs(below[:, 0] - 0.5).max() <= 0.01


def test_sensitivities_of_a_sum_are_the_shares_of_its_variance() -> None:
    # y = 3 a + b with a, b uniform on 0-1: variances 9/12 and 1/12, shares 0.9 and 0.1; c does
    # nothing
    x = shares(3, 1024, "sobol", 2)
    found = sensitivities(["a", "b", "c"], x, 3.0 * x[:, 0] - x[:, 1])
    assert [row.name for row in found] == ["a", "b", "c"]
    assert found[0].first == pytest.approx(0.9, abs=0.05)
    assert found[1].first == pytest.approx(0.1, abs=0.05)
    assert found[2].first == pytest.approx(0.0, abs=0.05)
    assert found[0].direction > 0.9
    assert found[1].direction < -0.1
    assert found[2].shift < 0.2 < found[0].shift


def test_without_its_package_inputs_are_ranked_all_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(sys.modules, "SALib.analyze", None)
    x = shares(3, 64, "sobol", 2)
    found = sensitivities(["a", "b", "c"], x, 3.0 * x[:, 0] - x[:, 1])
    assert [row.name for row in found][:2] == ["a", "b"]
    assert all(row.first is row.first_error is row.shift is None for row in found)


def test_the_interval_is_wilsons_and_holds_the_truth_as_often_as_it_says() -> None:
    # Wilson 1927, score interval: (p + z²/2n ± z √(p(1-p)/n + z²/4n²)) / (1 + z²/n)
    z, n, k = 1.959963984540054, 200, 14
    p = k / n
    half = z * np.sqrt(p * (1 - p) / n + z**2 / (4 * n**2)) / (1 + z**2 / n)
    middle = (p + z**2 / (2 * n)) / (1 + z**2 / n)
    found = probability(k, n)
    assert (found.low, found.high) == pytest.approx((middle - half, middle + half))
    assert probability(0, 50).low == 0.0
    assert probability(0, 50).high == pytest.approx(z**2 / (50 + z**2))
    rng = np.random.default_rng(7)
    held = [
        low <= 0.1 <= high
        for _, _, _, low, high in (probability(int(c), 256) for c in rng.binomial(256, 0.1, 400))
    ]
    # 95 % of 400: within three deviations of the binomial
    assert abs(np.mean(held) - 0.95) < 3 * stats.binom.std(400, 0.95) / 400
