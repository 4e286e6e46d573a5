"""Several threads: they copy every value once, whatever its shape; one at a time lays walls out."""

from __future__ import annotations

import time
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from card_stand_in import StandIn
from feature_walls import features

from hygro.solve.card import batch, hands
from hygro.solve.problem import build_problem
from hygro.solve.setup import prepare


@pytest.mark.parametrize("handful", [1, 1000, 1 << 30])
@pytest.mark.parametrize("walls", [1, 3, 50])
def test_every_value_is_copied_to_its_place(
    walls: int, handful: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From and to a part of longer arrays, as chunks are; the rest is left alone."""
    monkeypatch.setattr(hands, "HANDFUL", handful)
    new = [np.random.default_rng(k).random((walls, 9, *tail)) for k, tail in enumerate([(4,), ()])]
    rooms = [np.full((walls, 20, *x.shape[2:]), np.nan) for x in new]
    hands.copied([(room[:, 5:13], x[:, 1:]) for room, x in zip(rooms, new, strict=True)])
    for room, x in zip(rooms, new, strict=True):
        assert np.array_equal(room[:, 5:13], x[:, 1:])
        assert np.isnan(room[:, :5]).all()
        assert np.isnan(room[:, 13:]).all()


def test_one_thread_at_a_time_lays_walls_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Side by side they would make tables of materials anew, of which only some are kept."""
    inside, seen = list[str](), list[int]()

    def slowly(*given: object) -> object:
        inside.append("one more")
        seen.append(len(inside))
        time.sleep(0.1)
        made = build_problem(*given)
        inside.pop()
        return made

    monkeypatch.setattr(batch, "build_problem", slowly)
    setups = [prepare(*features()[name]) for name in ("no gap", "open gap", "rain leak")]
    with ThreadPoolExecutor(len(setups)) as pool:
        list(pool.map(lambda setup: batch.make_batch([setup], StandIn(), bare=True), setups))
    assert seen == [1, 1, 1]
