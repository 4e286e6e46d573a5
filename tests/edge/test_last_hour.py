"""Every hour may be the last of a run: wherever it ends, T and u go with heat and water.

In the hours before, as far as a step of Newton leaves them.
"""

from __future__ import annotations

import numpy as np
import pytest

from hygro.solve import turn
from hygro.solve.march import chunks, run
from hygro.solve.setup import balance, conserved, prepare
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


@pytest.mark.parametrize("number", [6, 7, 64, 70])
def test_cells_that_come_to_freeze_hold_their_heat_in_every_hour(number: int) -> None:
    """Closed on a straight line from above, some held 12 to 91 kJ/m² less than had left them.

    An update may leave as much heat out as warms a cell by its tolerance, 0.16 K: 4.2 kJ/(m²·K)
    are a litre of water in a cell, or 3 mm of stone.
    """
    wall, draw, _ = drawn(SEED, number)
    loads = random_surroundings(wall, draw, HOURS)
    setup, found = prepare(wall, loads), run(wall, loads)
    held = [conserved(setup, *state)[:, 0].sum() for state in zip(found.T, found.u, strict=True)]
    ledger = found.ledger
    brought = ledger.energy_outside + ledger.energy_inside
    brought = brought + ledger.energy_source.sum(axis=1) - ledger.energy_gap.sum(axis=1)
    assert np.abs(np.diff(held) - brought).max() < 0.16 * 4.2e3
