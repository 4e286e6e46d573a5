"""Points of a study: the grid of all values, or points drawn from distributions.

Owns the order of points. Dimensions with values make a grid; those with distributions are drawn
together, and the same draws are used at every point of the grid.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc

from hygro.decide.dimension import Dimension, settle_many
from hygro.errors import InputError
from hygro.types import Plain

Array = NDArray[np.float64]
Method = Literal["sobol", "latin hypercube"]


class Points(NamedTuple):
    """Values along every dimension, and which of them each point has.

    Attributes
    ----------
    values : list of lists
        As written, by dimension: of an axis its values, of a distribution its draws.
    settled : list of lists
        What they settle.
    place : (points, dimensions) int array
        Place of a point's value in these lists.
    shape : tuple of int
        Lengths of the axes, and of the draws at the end where there are any.
    """

    values: list[list[Plain]]
    settled: list[list[Plain]]
    place: NDArray[np.int64]
    shape: tuple[int, ...]

    def __len__(self) -> int:
        return len(self.place)

    def at(self, point: int) -> list[Plain]:
        """Values of a point as written."""
        return [row[k] for row, k in zip(self.values, self.place[point], strict=True)]


MOST = 1_000_000
"""Points of a study; ten times the largest plan that was timed (our choice)."""


def points(dimensions: Sequence[Dimension], *, samples: int, method: Method, seed: int) -> Points:
    """Lay out the points of a study.

    Parameters
    ----------
    dimensions : sequence of Dimension
        In their order, the first varies slowest.
    samples : int
        Draws, where there are distributions.
    method : {"sobol", "latin hypercube"}
        How shares of the distributions are drawn.
    seed : int
        Of the draws.

    Raises
    ------
    InputError
        There are more than `MOST` points.
    """
    _check_count(dimensions, samples)
    drawn = [d for d in dimensions if d.distribution is not None]
    table = shares(len(drawn), samples, method, seed) if drawn else np.zeros((1, 0))
    columns = {d.name: d.at(table[:, k]).tolist() for k, d in enumerate(drawn)}
    values = [columns[d.name] if d.name in columns else list(d.values) for d in dimensions]
    settled = [settle_many(d, row) for d, row in zip(dimensions, values, strict=True)]
    axes = [len(d.values) for d in dimensions if d.distribution is None]
    shape = (*axes, len(table)) if drawn else tuple(axes)
    rows = itertools.product(*(range(n) for n in shape))
    grid = np.array(list(rows), dtype=np.int64).reshape(-1, len(shape))
    places = itertools.count()
    which = [len(axes) if d.distribution is not None else next(places) for d in dimensions]
    return Points(values, settled, grid[:, which], shape)


def _check_count(dimensions: Sequence[Dimension], samples: int) -> None:
    """Before any of them is laid out, which would take all memory."""
    counts = {d.name: len(d.values) for d in dimensions if d.distribution is None}
    if len(counts) < len(dimensions):
        counts["samples"] = samples
    if (count := math.prod(counts.values())) > MOST:
        told = " × ".join(f"{n} of {name}" for name, n in counts.items())
        raise InputError(
            f"study: {count:.3g} points ({told}): must be at most {MOST}; take fewer steps, or "
            "draw samples of what varies"
        )


def shares(count: int, samples: int, method: Method, seed: int) -> Array:
    """Draw shares of distributions, spread evenly over the unit cube. (samples, count) [1]

    Sobol points are scrambled (Owen); the first n of them are those of a smaller sample, so that a
    sample can be made longer.
    """
    if method == "sobol":
        engine = qmc.Sobol(count, scramble=True, seed=seed)
        drawn = engine.random_base2(max(int(np.ceil(np.log2(samples))), 1))[:samples]
    else:
        drawn = qmc.LatinHypercube(count, seed=seed).random(samples)
    # scrambled points may lie at 0, where an untruncated distribution has no value
    return np.asarray(np.clip(drawn, 1e-12, 1.0 - 1e-12))
