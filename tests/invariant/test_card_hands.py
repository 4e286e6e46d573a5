"""Copies by several threads: every value once, whatever the shapes and however many threads."""

from __future__ import annotations

import numpy as np
import pytest

from hygro.solve.card import hands


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
