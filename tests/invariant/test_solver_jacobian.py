"""The Jacobian of the equations against central differences, on every feature of the engine."""

from __future__ import annotations

import numpy as np
import pytest
from feature_walls import features
from numba import njit

from hygro.solve.kernels import equations
from hygro.solve.kernels.arrays import WallArrays, Work
from hygro.solve.lanes import LaneArray
from hygro.solve.setup import begin, prepare
from hygro.solve.turn import advance, make_batch
from hygro.wall.loads import loads_between

NAMES = tuple(features())
HOURS = (1, 24, 70, 162)
STEPS = (1e-4, 1e-6)
"""Differences in T [K] and u [1]."""

_equations = equations.evaluate


@njit(error_model="numpy")
def evaluate(problem, work, jacobian):
    _equations(problem, work, work.T, work.u, jacobian, None)


def rates(problem: WallArrays, work: Work) -> np.ndarray:
    evaluate(problem, work, None)
    return work.F.array[..., 0].copy()


def by_differences(problem: WallArrays, work: Work) -> np.ndarray:
    n = len(work.T)
    found = np.zeros((n, 12))
    for j in range(n):
        for v, (array, h) in enumerate(zip((work.T.array, work.u.array), STEPS, strict=True)):
            kept = array[j, 0]
            array[j, 0] = kept + h
            after = rates(problem, work)
            array[j, 0] = kept - h
            slope = (after - rates(problem, work)) / (2 * h)
            array[j, 0] = kept
            for i in range(max(j - 1, 0), min(j + 2, n)):
                block = 4 * (j - i + 1)
                found[i, block + v], found[i, block + 2 + v] = slope[i]
    return found


@pytest.mark.parametrize("name", NAMES)
def test_jacobian_is_that_of_the_equations(name: str) -> None:
    """Within 1 % of the entry and 1e-5 of the largest of its kind.

    Differences across the knots of the tables are off by the bend there; the share of the largest
    is what differences lose to round-off.
    """
    wall, loads = features()[name].wall, features()[name].loads
    for hours in HOURS:
        setup = prepare(wall, loads_between(loads, 0, min(hours, loads.hours)))
        batch = make_batch((setup,))
        (turn,) = advance(batch, [begin(setup)])
        assert not isinstance(turn, Exception)
        end = turn[1]
        work = batch.work
        work.T.array[:, 0], work.u.array[:, 0] = end.T, end.u
        jacobian = LaneArray(np.zeros((len(work.T), 12, 1)))
        evaluate(batch.problem, work, jacobian)
        ours = jacobian.array[..., 0]
        theirs = by_differences(batch.problem, work)
        largest = np.abs(theirs).max(axis=0)
        assert np.all(np.abs(ours - theirs) <= 0.01 * np.abs(theirs) + 1e-5 * largest)
