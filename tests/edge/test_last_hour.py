"""Every hour may be the last of a run: wherever it ends, T and u go with heat and water."""

from __future__ import annotations

import pytest

from hygro.solve import turn
from hygro.solve.march import chunks
from hygro.solve.setup import balance, prepare
from tests.fuzz.random_wall import drawn, random_surroundings
from tests.fuzz.walls import OPEN

SEED, HOURS = 31, 744


@pytest.mark.parametrize("number", [6, 7, 64])
def test_balances_close_in_whatever_hour_a_random_wall_ends(
    number: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Cells were left to and fro across the bend of freezing: open by 1.2e-3, 7.0e-4, 2.4e-4."""
    monkeypatch.setattr(turn, "CHUNK", 1)
    wall, draw, _ = drawn(SEED, number)
    setup = prepare(wall, random_surroundings(wall, draw, HOURS))
    open_ = [max(balance(setup, point).values()) for _, point in chunks(setup)]
    assert len(open_) == HOURS
    assert max(open_) < OPEN
