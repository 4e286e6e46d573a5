"""Monotone piecewise cubics through points. Owns the interpolation, knows no curve.

Fritsch and Butland's slopes: the weighted harmonic mean of the slopes on both sides, zero where
they differ in sign, so that the curve rises where the points rise and has no humps of its own.
Written out here because the general library for it takes longer to import (0.3 s) than a wall takes
to run for a year; that counts where weather, whose library imports it too, is not needed.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


class Cubic(NamedTuple):
    """A cubic for every interval between n points.

    Attributes
    ----------
    x : (n,) rising
    coefficients : (n-1, 4) over x less the start of the interval, lowest power first
    """

    x: Array
    coefficients: Array

    def value(self, x: ArrayLike) -> Array:
        """Value at x, the shape of x; the end cubics go on beyond the ends."""
        c, t = self._at(x)
        return ((c[3] * t + c[2]) * t + c[1]) * t + c[0]

    def slope(self, x: ArrayLike) -> Array:
        """Slope at x, the shape of x."""
        c, t = self._at(x)
        return (3.0 * c[3] * t + 2.0 * c[2]) * t + c[1]

    def _at(self, x: ArrayLike) -> tuple[Array, Array]:
        x = np.asarray(x, dtype=float)
        j = np.searchsorted(self.x[1:-1], x, side="right")
        return np.moveaxis(self.coefficients[j], -1, 0), x - self.x[j]


def monotone_cubic(x: ArrayLike, y: ArrayLike) -> Cubic:
    """Shape-preserving cubic through points.

    F. N. Fritsch, J. Butland: A method for constructing local monotone piecewise cubic
    interpolants, SIAM J. Sci. Stat. Comput. 5 (1984), from memory; end slopes of three points,
    limited to keep the shape.

    Parameters
    ----------
    x, y : (n,) arrays
        At least two points, x rising.
    """
    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    h = np.diff(x)
    m = np.diff(y) / h
    d = np.empty_like(y)
    if len(x) == 2:
        d[:] = m[0]
    else:
        d[1:-1] = _inner(h, m)
        d[0] = _end(h[0], h[1], m[0], m[1])
        d[-1] = _end(h[-1], h[-2], m[-1], m[-2])
    bend = 3.0 * m - 2.0 * d[:-1] - d[1:]
    twist = d[:-1] + d[1:] - 2.0 * m
    return Cubic(x, np.stack([y[:-1], d[:-1], bend / h, twist / h**2], axis=-1))


def _inner(h: Array, m: Array) -> Array:
    before, after = m[:-1], m[1:]
    w1, w2 = 2.0 * h[1:] + h[:-1], h[1:] + 2.0 * h[:-1]
    product = before * after
    total = w1 * after + w2 * before
    same = product > 0.0
    return np.where(same, (w1 + w2) * product / np.where(same, total, 1.0), 0.0)


def _end(h0: float, h1: float, m0: float, m1: float) -> float:
    d = ((2.0 * h0 + h1) * m0 - h0 * m1) / (h0 + h1)
    if d * m0 <= 0.0:
        return 0.0
    if m0 * m1 <= 0.0 and abs(d) > 3.0 * abs(m0):
        return 3.0 * m0
    return d
