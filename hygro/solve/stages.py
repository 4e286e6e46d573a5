"""Stage methods for stiff equations: tableaux with source, order and error weights."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray


class StageMethod(NamedTuple):
    """A diagonally implicit, stiffly accurate, L-stable method.

    `error` holds b - b_hat; `order` the order of the error estimate; `explicit` a first stage that
    is the state itself.
    """

    A: NDArray[np.float64]
    c: NDArray[np.float64]
    error: NDArray[np.float64]
    order: float
    explicit: bool


def _two_stage() -> StageMethod:
    """SDIRK of order 2, gamma = 1 - 1/sqrt(2) (Alexander 1977, from memory); embedded order 1."""
    g = 1.0 - np.sqrt(0.5)
    A = np.array([[g, 0.0], [1.0 - g, g]])
    return StageMethod(A, A.sum(axis=1), A[-1] - np.array([1.0, 0.0]), 2.0, False)


def _trapezoid_bdf() -> StageMethod:
    """TR-BDF2 as a one-step method (Hosea & Shampine 1996, from memory); embedded order 3."""
    d = 1.0 - np.sqrt(0.5)
    w = np.sqrt(2.0) / 4.0
    A = np.array([[0.0, 0.0, 0.0], [d, d, 0.0], [w, w, d]])
    b_hat = np.array([(1.0 - w) / 3.0, (3.0 * w + 1.0) / 3.0, d / 3.0])
    return StageMethod(A, A.sum(axis=1), A[-1] - b_hat, 3.0, True)


STAGES = {"two_stage": _two_stage(), "trapezoid_bdf": _trapezoid_bdf()}
