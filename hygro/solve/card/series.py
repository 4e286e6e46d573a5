"""Hourly loads that walls have in common, kept once."""

from __future__ import annotations

import hashlib
from typing import Any

import numpy as np
from numpy.typing import NDArray

from hygro.solve.kernels.arrays import HourlyLoads


class Series:
    """Arrays of loads by what is in them."""

    def __init__(self) -> None:
        self._kept: dict[tuple[str, bytes], NDArray[Any]] = {}

    def shared(self, hourly: HourlyLoads) -> HourlyLoads:
        """The same loads; an array that was seen before is that one."""
        return HourlyLoads(*(self.one(name, x) for name, x in hourly._asdict().items()))

    def one(self, name: str, array: NDArray[Any]) -> NDArray[Any]:
        """An array, or the one with the same values that was seen before."""
        key = name, hashlib.sha256(np.ascontiguousarray(array).data).digest()
        return self._kept.setdefault(key, array)
