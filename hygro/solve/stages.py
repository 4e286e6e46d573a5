"""The stage method of the march: tableau with source and error weights."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray


class StageMethod(NamedTuple):
    """A diagonally implicit, stiffly accurate, L-stable method; `error` holds b - b_hat."""

    A: NDArray[np.float64]
    c: NDArray[np.float64]
    error: NDArray[np.float64]


def _two_stage() -> StageMethod:
    """SDIRK of order 2, gamma = 1 - 1/sqrt(2) (Alexander 1977, from memory); embedded order 1."""
    g = 1.0 - np.sqrt(0.5)
    A = np.array([[g, 0.0], [1.0 - g, g]])
    return StageMethod(A, A.sum(axis=1), A[-1] - np.array([1.0, 0.0]))


TWO_STAGE = _two_stage()
