"""A benchmark that is stopped goes on where it was; what changed is measured anew."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchmarks import kept_points
from benchmarks.kept_points import KeptPoints, state
from hygro.errors import SolveError


def stopped() -> list[float]:
    raise SolveError("gave up")


def test_a_point_is_measured_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept_points, "FOLDER", tmp_path)
    first = KeptPoints("b", "a wall", "state")
    assert first.of("p", lambda: [1.0, 2.0]) == [1.0, 2.0]
    assert first.of("q", stopped) is None
    again = KeptPoints("b", "a wall", "state")
    for key, value in (("p", [1.0, 2.0]), ("q", None)):
        assert again.of(key, lambda: pytest.fail("measured again")) == value
    other = KeptPoints("b", "a wall", "another state")
    assert other.of("p", lambda: [3.0]) == [3.0]


def test_options_are_part_of_the_state() -> None:
    assert state(240, 1) == state(240, 1)
    assert state(240, 1) != state(240, 3)
