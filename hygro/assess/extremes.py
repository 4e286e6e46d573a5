"""The extremes of each cell over a record: most water and highest humidity.

Owns the one pass over all cells and hours from which ratings see that a place was never wet.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from hygro.assess.hourly import Hourly, kept
from hygro.assess.select import array
from hygro.solve.kernels.compiler import entry

Array = NDArray[np.float64]


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
