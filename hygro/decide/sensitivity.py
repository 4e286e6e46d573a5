"""What an output depends on most: sensitivities from given draws. Owns the choice of measures."""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from hygro.decide.boundary import Array

RESAMPLES = 100
"""Bootstrap samples of a confidence interval."""
SLICES = 8
"""Parts of the range of an input between which distributions are compared."""


ByVariance = tuple[float | None, float | None, float | None]


class Sensitivity(NamedTuple):
    """How much an output depends on one input.

    Attributes
    ----------
    name : str
        Of the input.
    first : float or None
        Share of the variance of the output that goes with this input alone (first-order Sobol
        index, from the draws as they are). None without the package SALib, as the next two. [1]
    first_error : float or None
        Half the width of its 95 % interval. [1]
    shift : float or None
        How far the distribution of the output moves as this input goes through its range: median
        Kolmogorov-Smirnov distance, interactions counted (PAWN); 0 none, 1 all. [1]
    direction : float
        Spearman's rank correlation with the output: positive raises it; by its size inputs are
        ranked, because it settles with the fewest draws. [1]
    """

    name: str
    first: float | None
    first_error: float | None
    shift: float | None
    direction: float

    def interval(self, draws: int) -> tuple[float, float]:
        """95 % interval of the size of the rank correlation (Fisher's z, 1.06/(n - 3))."""
        if draws <= 3:
            return 0.0, 1.0
        half = 1.96 * np.sqrt(1.06 / (draws - 3))
        z = np.arctanh(min(abs(self.direction), 0.999999))
        return float(max(np.tanh(z - half), 0.0)), float(np.tanh(z + half))


def sensitivities(names: Sequence[str], inputs: Array, output: Array) -> list[Sensitivity]:
    """Rank inputs by what the output depends on, strongest first.

    Parameters
    ----------
    names : sequence of str
        Of the inputs.
    inputs : (draws, inputs) array
        Drawn values.
    output : (draws,) array
        Of each draw.

    Notes
    -----
    Tarantola, Gatelli, Mara 2006 (RBD-FAST) with the bias correction of Tissot, Prieur 2012, and
    Pianosi, Wagener 2015 (PAWN), as SALib computes them from given draws.
    """
    by_variance = _by_variance(names, inputs, output)
    rows = [
        Sensitivity(name, *by_variance[k], _rank_correlation(inputs[:, k], output))
        for k, name in enumerate(names)
    ]
    return sorted(rows, key=lambda row: -abs(row.direction))


def _by_variance(names: Sequence[str], inputs: Array, output: Array) -> list[ByVariance]:
    """First-order index, its error and PAWN of each input; none without the package SALib."""
    try:
        from SALib.analyze import pawn, rbd_fast
    except ImportError:
        return [(None, None, None)] * len(names)
    ends = [[float(x.min()), float(x.max())] for x in inputs.T]
    problem = {"num_vars": len(names), "names": list(names), "bounds": ends}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of an input that does not vary
        found = rbd_fast.analyze(problem, inputs, output, num_resamples=RESAMPLES, seed=1)
        moved = pawn.analyze(problem, inputs, output, S=SLICES, seed=1)
    return [
        (float(max(first, 0.0)), float(error), float(shift))
        for first, error, shift in zip(found["S1"], found["S1_conf"], moved["median"], strict=True)
    ]


def _rank_correlation(x: Array, y: Array) -> float:
    from scipy.stats import spearmanr

    if np.ptp(x) == 0.0 or np.ptp(y) == 0.0:
        return 0.0
    return float(spearmanr(x, y).statistic)
