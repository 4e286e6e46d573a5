"""What chance gives: one generator for each kind and number of a seed. A leaf."""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from typing import TypeVar

import numpy as np

Choice = TypeVar("Choice")


class Draw:
    """Random values of one item; the same for the same seed, kind and number."""

    def __init__(self, seed: int, kind: str, number: int, turn: int = 0) -> None:
        self.rng = np.random.default_rng([seed, zlib.crc32(kind.encode()), number, turn])

    def of(self, things: Sequence[Choice]) -> Choice:
        """One of some things."""
        return things[int(self.rng.integers(len(things)))]

    def within(self, low: float, high: float) -> float:
        """A number of a range."""
        return float(self.rng.uniform(low, high))

    def count(self, low: int, high: int) -> int:
        """A whole number of a range, both ends in it."""
        return int(self.rng.integers(low, high + 1))

    def chance(self, share: float) -> bool:
        """Whether something happens that does in this share of cases."""
        return bool(self.rng.random() < share)
