"""Relative humidity of air at faces, from the formula of `weather.moistair` as compiled code."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from hygro.constants import ZERO_CELSIUS
from hygro.solve.kernels.compiler import compiled, entry
from weather import moistair

Array = NDArray[np.float64]
WATER, ICE = moistair.WATER, moistair.ICE


def humidity(temperature: Array, vapour_pressure: Array) -> Array:
    """Over water, below 0 °C over ice (ISO 13788:2012, E.7 and E.8). [1]

    temperature : any shape [K]
    vapour_pressure : of the same shape [Pa]
    """
    found = np.empty(temperature.shape)
    flat = (np.ascontiguousarray(x).reshape(-1) for x in (temperature, vapour_pressure))
    _humidity(*flat, found.reshape(-1))
    return found


_saturation = compiled(moistair.magnus)


@entry
def _humidity(temperature: Array, vapour_pressure: Array, found: Array) -> None:
    for k in range(len(temperature)):
        theta = temperature[k] - ZERO_CELSIUS
        form = WATER if theta >= 0.0 else ICE
        found[k] = vapour_pressure[k] / _saturation(theta, form)
