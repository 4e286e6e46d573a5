"""A study that would take all memory is refused before it is laid out."""

from __future__ import annotations

import pytest

from hygro.decide.study import Study
from hygro.errors import InputError
from hygro.study.varied import Range


def test_more_points_than_a_study_has_are_refused() -> None:
    """1001 by 1000 points are 1000 more than the bound of a million."""
    vary = {"winter_rh": Range("20 %", "60 %", 1001), "outboard_share": Range("5 %", "95 %", 1000)}
    with pytest.raises(InputError, match=r"1e\+06 points \(1001 of winter_rh × 1000 of outboard"):
        Study("demonstration", wall="two thirds outboard", vary=vary)
