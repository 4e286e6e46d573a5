"""What grows through rounds of the same hours, against the same hours put end to end."""

from __future__ import annotations

import numpy as np
import pytest

from hygro.assess.course import Course, course, once
from hygro.assess.decay import brown_rot, rot_of
from hygro.assess.mould import MODELS, Model, mould_index

RNG = np.random.default_rng(11)
ROUND, TOLD = 400, 300
LED = 100
"""Instants before the rounds, which are not met."""


def rounds(count: int) -> Course:
    """Rounds of the last hours of a record, of which only a part of the last is told."""
    order = LED + (np.arange(count * ROUND + 1) + 37) % ROUND
    return course(order, TOLD, ROUND)


def weather(damp: float) -> tuple[np.ndarray, np.ndarray]:
    """Four places; damper in the first half of the round, and the places one after the other."""
    hours = np.arange(LED + ROUND)[:, None]
    kelvin = 292.0 + 6.0 * RNG.normal(size=(len(hours), 4))
    wet = (hours - LED) % ROUND < 200 - 66 * np.arange(4)
    rh = np.where(wet, damp, 0.6) + 0.02 * RNG.normal(size=wet.shape)
    return kelvin, np.clip(rh, 0.0, 1.0)


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("count", [1, 2, 7, 40])
@pytest.mark.parametrize(("damp", "decline"), [(0.7, 0.1), (0.86, 1.0), (0.97, 0.1), (0.97, 1.0)])
def test_mould(damp: float, decline: float, count: int, model: Model) -> None:
    kelvin, rh = weather(damp)
    way = rounds(count)
    kinds = ["very sensitive", "sensitive", "medium resistant", "resistant"]
    found = mould_index(kelvin, rh, course=way, sensitivity=kinds, model=model, decline=decline)
    expected = mould_index(
        kelvin[way.order], rh[way.order], sensitivity=kinds, model=model, decline=decline
    )
    assert (found == expected[-TOLD:]).all()


def test_an_index_that_rests_in_its_first_dry_day_has_not_come_back() -> None:
    kelvin, rh = np.full(72, 293.0), np.full(72, 0.5)
    found = mould_index(kelvin, rh, course=course(np.arange(72) % 8, 9, 8), start=2.0, decline=1.0)
    expected = mould_index(kelvin, rh, start=2.0, decline=1.0)[-9:]
    assert (found == expected).all()
    assert found[-1] < found[0]


@pytest.mark.parametrize("count", [1, 2, 7, 40, 200])
@pytest.mark.parametrize("damp", [0.7, 0.955, 0.97, 0.99])
def test_rot(damp: float, count: int) -> None:
    kelvin, rh = weather(damp)
    way = rounds(count)
    found, rotten = rot_of(kelvin, rh, way, slice(1, 4))
    alone = brown_rot(kelvin[way.order, 1:], rh[way.order, 1:])
    assert (found.activation == alone.activation.max(axis=1)[-TOLD:]).all()
    assert (found.mass_loss == alone.mass_loss.max(axis=1)[-TOLD:]).all()
    assert (rotten == alone.mass_loss[-1] + alone.activation.max(axis=0)).all()


def test_an_order_that_is_gone_through_once_is_all_of_it() -> None:
    assert once(5).order.tolist() == [0, 1, 2, 3, 4]
    assert (once(5).told, once(5).again, once(5).lowest) == (5, 0, 0)
    with pytest.raises(ValueError, match="read-only"):
        once(5).order[0] = 3
