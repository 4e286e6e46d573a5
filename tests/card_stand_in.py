"""The processor in place of a graphics card: it calls the function of every thread in turn."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from functools import cache
from typing import Any

import numpy as np
from numba import njit

from hygro.solve.card import threads
from hygro.solve.card.tiles import by_wall


class StandIn:
    """A `hygro.solve.card.machine.Machine`; room is filled with what must not be read."""

    def __init__(self) -> None:
        self._given: dict[str, np.ndarray] = {}

    def put(self, array: np.ndarray) -> np.ndarray:
        """Copy."""
        return np.array(array, order="C")

    def empty(self, shape: tuple[int, ...]) -> np.ndarray:
        """Room."""
        return np.full(shape, np.nan)

    def by_wall(self, arrays: dict[str, np.ndarray], walls: int) -> dict[str, np.ndarray]:
        """Copies, wall by wall; those that were given by the same names are gone."""
        for name in arrays.keys() & self._given.keys():
            self._given[name][...] = np.nan
        found = {name: by_wall(array, walls).copy() for name, array in arrays.items()}
        self._given |= found
        return found

    def keeping(self) -> AbstractContextManager[None]:
        """Nothing is given back anyway."""
        return nullcontext()

    def free(self) -> int:
        """Room for many."""
        return 1 << 34

    def run(self, kernel: str, walls: int, *args: object) -> None:
        """One wall after the other."""
        _in_turn(kernel)(walls, *args)


@cache
def _in_turn(kernel: str) -> Callable[..., None]:
    of_wall: Any = getattr(threads, kernel)

    @njit(error_model="numpy", _nrt=False)
    def in_turn(walls, *args):
        for g in range(walls):
            of_wall(g, *args)

    return in_turn
