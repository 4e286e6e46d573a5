"""Points of a map that could not be computed: said, and not drawn as a wall that passes."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np

from hygro.decide.map_figure import counted_points, unknown
from hygro.decide.map_files import answers
from hygro.room.climate import _advice

CORNERS = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [1.0, 1.0]])


def tried(errors: list[str], lines: list[Any] | None = None) -> Any:
    """A map of four corners; no error means that the wall passes there."""
    results = [SimpleNamespace(error=e, passed=None if e else True, decides="") for e in errors]
    return SimpleNamespace(where=CORNERS, results=results, lines=lines or [], open=0)


BESIDE: Any = SimpleNamespace(own=None, code_words="")


def test_the_place_of_a_point_that_failed_is_unknown() -> None:
    found = tried(["", "", "too humid", "too humid"])
    at = np.array([[0.5, 0.1], [0.5, 0.4], [0.5, 0.6], [0.9, 0.9]])
    assert unknown(found, at).tolist() == [False, False, True, True]
    assert not unknown(tried([""] * 4), at).any()


def test_the_verdict_is_the_same_only_where_it_is_known() -> None:
    assert "4 points" not in " ".join(answers(tried([""] * 4), BESIDE))
    assert "the verdict is the same everywhere" in " ".join(answers(tried([""] * 4), BESIDE))
    some = " ".join(answers(tried(["", "", "", "too humid"]), BESIDE))
    assert "1 point could not be computed; the verdict is the same at all 3 that were" in some
    assert "everywhere" not in some
    none = " ".join(answers(tried(["too humid"] * 4), BESIDE))
    assert "no point could be computed" in none
    assert "the same" not in none


def test_points_are_counted_with_those_that_failed() -> None:
    assert counted_points(36, 6) == "36 points tried, 6 not computed"
    assert counted_points(36, 0) == "36 points tried"


def test_a_room_brought_to_a_winter_humidity_says_what_is_multiplied() -> None:
    wrapped: Any = SimpleNamespace(room=SimpleNamespace(rule="x"))
    assert "multiplied to reach the winter humidity" in _advice(wrapped)
