"""The extremes of each cell over a record: most water, highest humidity, states next to a humidity.

Owns the one pass over all cells and hours from which ratings see that a place was never wet.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.assess.hourly import Hourly, kept
from hygro.assess.select import array
from hygro.solve.kernels.compiler import entry

Array = NDArray[np.float64]
Places = NDArray[np.int64]


class NextTo(NamedTuple):
    """States of each cell next to a relative humidity, dims (cell).

    Attributes
    ----------
    below, above : array
        Highest humidity up to the limit, and lowest above it; infinite where there is none. [1]
    below_at, above_at : array
        First instant of each.
    """

    below: Array
    below_at: Places
    above: Array
    above_at: Places


@kept
def next_to(ds: Hourly, limit: float) -> NextTo:
    """Find the states of each cell next to a relative humidity. [1]"""
    rh = array(ds, "relative_humidity")
    cells = rh.shape[1]
    found = NextTo(
        np.full(cells, -np.inf),
        np.zeros(cells, dtype=np.int64),
        np.full(cells, np.inf),
        np.zeros(cells, dtype=np.int64),
    )
    _next_to(rh, limit, *found)
    return found


@entry
def _next_to(
    rh: Array, limit: float, below: Array, below_at: Places, above: Array, above_at: Places
) -> None:
    for i in range(rh.shape[0]):
        for k in range(rh.shape[1]):
            nearer = (rh[i, k] <= limit) & (rh[i, k] > below[k])
            below[k] = rh[i, k] if nearer else below[k]
            below_at[k] = i if nearer else below_at[k]
        for k in range(rh.shape[1]):
            nearer = (rh[i, k] > limit) & (rh[i, k] < above[k])
            above[k] = rh[i, k] if nearer else above[k]
            above_at[k] = i if nearer else above_at[k]


@kept
def most_water(ds: Hourly) -> Array:
    """Highest water content of each cell. (cell,) [kg/m³]"""
    return _most(array(ds, "water_content"))


@kept
def most_humid(ds: Hourly) -> Array:
    """Highest relative humidity of each cell. (cell,) [1]"""
    return _most(array(ds, "relative_humidity"))


def _most(values: Array) -> Array:
    found = np.full(values.shape[1], -np.inf)
    _highest(values, found)
    return found


@entry
def _highest(values: Array, found: Array) -> None:
    for i in range(values.shape[0]):
        for k in range(values.shape[1]):
            found[k] = values[i, k] if values[i, k] > found[k] else found[k]
