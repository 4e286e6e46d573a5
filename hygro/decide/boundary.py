"""The line where a wall just passes, sharpened along itself only. Owns the search; runs nothing.

A coarse grid over the unit square comes first. The signed margin between what was tried is a
radial interpolant; where its zero line runs, pairs of points are tried close on both sides of it,
until the verdict turns within every pair, or one of its points lies at the limit itself.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Annotated, NamedTuple

import numpy as np
from contourpy import contour_generator
from numpy.typing import NDArray
from pydantic import PlainValidator
from scipy.interpolate import RBFInterpolator

from hygro.types import Plain

Array = NDArray[np.float64]
Numbers = Annotated[Array, PlainValidator(lambda values: np.asarray(values, dtype=float))]
"""An array that is read from lists of numbers too."""
Margins = Callable[[Array], Array]
"""Signed margins at points (n, 2) of the unit square; NaN where there is no answer."""
COARSE = 6
"""Points along each side of the grid that comes first (our choice)."""
SHARP = 0.01
"""Distance of the two points of a pair, as a share of the range. [1]"""
SPACING = 0.08
"""Distance of pairs along the line. [1]"""
LEVEL = 0.01
"""A margin as small as that is taken to lie on the line: the limit itself, to 1 %. [1]"""
SMOOTH = 1e-4
"""How far the interpolant may pass by single margins, which have a numerical error. [1]"""
FINE = 161
"""Points along a side on which the interpolant is drawn."""
GUESSES = 3
"""Rounds in which both sides of the line are tried; after them brackets are halved."""
ROUNDS = 10
"""How often the line is drawn anew."""


class Boundary(NamedTuple):
    """The line and what it rests on.

    Attributes
    ----------
    lines : list of (n, 2) arrays
        Pieces of the line in the unit square.
    points : (n, 2) array
        All points that were tried.
    margins : (n,) array
        Their signed margins. [1]
    pairs : (m, 2) array
        Middles of the pairs between whose points the verdict turns, and points at the limit.
    open : int
        Places on the line where no pair was found by the last round; 0: sharp everywhere.
    """

    lines: list[Array]
    points: Array
    margins: Array
    pairs: Array
    open: int


def sharpened(margins: Margins, *, coarse: int = COARSE, sharp: float = SHARP) -> Boundary:
    """Find the zero line of a margin over the unit square.

    Parameters
    ----------
    margins : callable
        Tries points, many at a time.
    coarse : int
        Points along each side of the first grid: what lies between them can be missed.
    sharp : float
        Width within which the line is known where a pair stands. [1]
    """
    points = grid(coarse)
    found = margins(points)
    pairs = np.empty((0, 2))
    for number in range(ROUNDS):
        places = _unpaired(zero_lines(points, found, sharp), pairs)
        if len(places) == 0:
            break
        wanted = _both_sides(places, sharp) if number < GUESSES else _halves(places, points, found)
        wanted = np.clip(wanted, 0.0, 1.0)
        points, found = np.concatenate([points, wanted]), np.concatenate([found, margins(wanted)])
        pairs = _pairs(points, found, sharp)
    lines = zero_lines(points, found, sharp)
    return Boundary(lines, points, found, pairs, len(_unpaired(lines, pairs)))


def grid(steps: int) -> Array:
    """Points of a grid over the unit square, the first coordinate slowest. (steps², 2)"""
    side = np.linspace(0.0, 1.0, steps)
    return np.stack(np.meshgrid(side, side, indexing="ij"), axis=-1).reshape(-1, 2)


def surface(points: Array, values: Array, at: Array, smooth: float = SMOOTH) -> Array:
    """Values between scattered points, by a thin-plate interpolant. Points without one are left."""
    known = np.isfinite(values)
    if known.sum() < 4:
        return np.full(len(at), np.nan)
    unique, first = np.unique(np.round(points[known], 9), axis=0, return_index=True)
    fit = RBFInterpolator(
        unique, values[known][first], kernel="thin_plate_spline", degree=1, smoothing=smooth
    )
    return np.asarray(fit(at))


def tamed(margins: Array) -> Array:
    """Margins drawn in to -1 to 1, so that far ones do not sway the line: m / (1/4 + |m|)."""
    return margins / (0.25 + np.abs(margins))


def zero_lines(points: Array, margins: Array, sharp: float = SHARP) -> list[Array]:
    """Pieces of the zero line between scattered margins.

    Where the verdict turns within `sharp`, the line runs through the middle, whatever the margins
    on both sides: they may jump.
    """
    signs = np.sign(margins[np.isfinite(margins)])
    if len(np.unique(signs)) < 2:
        return []
    side = np.linspace(0.0, 1.0, FINE)
    values = signed_surface(points, margins, grid(FINE), sharp).reshape(FINE, FINE)
    made = contour_generator(side, side, values.T).lines(0.0)
    return [np.asarray(line) for line in made if len(line) > 1]


def signed_surface(points: Array, margins: Array, at: Array, sharp: float = SHARP) -> Array:
    """Tamed margins between scattered ones; 0 in the middle of every pair."""
    passes, fails = np.flatnonzero(margins > 0.0), np.flatnonzero(margins < 0.0)
    i, j = _near(points[passes], points[fails], sharp)
    middles = 0.5 * (points[passes[i]] + points[fails[j]])
    apart = np.setdiff1d(np.arange(len(points)), np.concatenate([passes[i], fails[j]]))
    places = np.concatenate([points[apart], _thinned(middles, 0.5 * sharp)])
    values = np.concatenate([tamed(margins[apart]), np.zeros(len(places) - len(apart))])
    return surface(places, values, at)


def _unpaired(lines: Sequence[Array], pairs: Array) -> Array:
    """Places along the line far from every pair, with the direction across it. (n, 4)"""
    found: list[Array] = []
    taken = pairs
    for line in lines:
        for place, across in _stations(line):
            far = len(taken) == 0 or np.hypot(*(taken - place).T).min() > 0.6 * SPACING
            if far:
                found.append(np.concatenate([place, across]))
                taken = np.concatenate([taken, place[None, :]])
    return np.array(found).reshape(-1, 4)


def _stations(line: Array) -> list[tuple[Array, Array]]:
    """Places at even distances along a line, with the unit vector across it."""
    steps = np.hypot(*np.diff(line, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    if along[-1] <= 0.0:
        return []
    count = max(int(np.ceil(along[-1] / (0.5 * SPACING))), 1)
    found = []
    for s in (np.arange(count) + 0.5) * along[-1] / count:
        place = np.array([np.interp(s, along, line[:, k]) for k in (0, 1)])
        ends = [
            np.array([np.interp(np.clip(s + d, 0.0, along[-1]), along, line[:, k]) for k in (0, 1)])
            for d in (-0.02, 0.02)
        ]
        tangent = ends[1] - ends[0]
        length = float(np.hypot(*tangent))
        if length > 0.0:
            found.append((place, np.array([-tangent[1], tangent[0]]) / length))
    return found


def _both_sides(places: Array, sharp: float) -> Array:
    """Two points for each place, close on both sides of it. (2 n, 2)"""
    middle, across = places[:, None, :2], places[:, None, 2:]
    both = middle + np.array([-0.49, 0.49])[None, :, None] * sharp * across
    return np.asarray(both.reshape(-1, 2))


def _halves(places: Array, points: Array, margins: Array) -> Array:
    """The middle between the nearest points of either verdict, for each place. (n, 2)"""
    passes, fails = points[margins > 0.0], points[margins < 0.0]
    return np.array([0.5 * (_nearest(p, passes) + _nearest(p, fails)) for p in places[:, :2]])


def _nearest(place: Array, points: Array) -> Array:
    return np.asarray(points[np.hypot(*(points - place).T).argmin()])


def _pairs(points: Array, margins: Array, sharp: float) -> Array:
    """Middles of points of either verdict that lie as close as that; points at the limit."""
    passes, fails = points[margins > 0.0], points[margins < 0.0]
    i, j = _near(passes, fails, sharp)
    return np.concatenate([0.5 * (passes[i] + fails[j]), points[np.abs(margins) <= LEVEL]])


def _near(a: Array, b: Array, distance: float) -> tuple[Plain, Plain]:
    """Numbers of the points of two sets that lie as close as that."""
    apart = np.hypot(*np.moveaxis(a[:, None, :] - b[None, :, :], -1, 0))
    i, j = np.nonzero(apart <= distance)
    return i, j


def _thinned(points: Array, distance: float) -> Array:
    """Points of which none lies closer to another than that."""
    kept: list[Array] = []
    for point in points:
        if all(np.hypot(*(point - other)) > distance for other in kept):
            kept.append(point)
    return np.array(kept).reshape(-1, 2)
