"""Mould index and brown rot written a second time, plainly. Owns no calendar and no wall.

The engine's rating code has its own copies of every constant, and counts dry hours; here the hour
at which drying began is kept and rates are per day, as the papers print them, so that a slip in
either shows as a difference. Hukka & Viitanen 1999; Ojanen et al. 2010; Viitanen et al. 2010.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from hygro.proof.references.physics import Array


class Sensitivity(NamedTuple):
    """Growth rates below and above index 1, ceiling A + B q - C q², least humidity [%]."""

    early: float
    late: float
    a: float
    b: float
    c: float
    least: float


SENSITIVITIES = {
    "very sensitive": Sensitivity(1.0, 2.0, 1.0, 7.0, 2.0, 80.0),
    "sensitive": Sensitivity(0.578, 0.386, 0.3, 6.0, 1.0, 80.0),
    "medium resistant": Sensitivity(0.072, 0.097, 0.0, 5.0, 1.5, 85.0),
    "resistant": Sensitivity(0.033, 0.014, 0.0, 3.0, 1.0, 85.0),
}
"""Ojanen et al. 2010, seen in a transcription."""


def critical_humidity(celsius: float, least: float) -> float:
    """Lowest humidity for growth. [%]"""
    if celsius > 20.0:
        return least
    return max(-0.00267 * celsius**3 + 0.160 * celsius**2 - 3.13 * celsius + 100.0, least)


def growth_per_day(index: float, celsius: float, percent: float, kind: Sensitivity) -> float:
    """Growth at conditions that let mould grow. [1/d]"""
    limit = critical_humidity(celsius, kind.least)
    q = (percent - limit) / (100.0 - limit)
    ceiling = max(0.0, kind.a + kind.b * q - kind.c * q * q)
    weeks = math.exp(66.02 - 0.68 * math.log(celsius) - 13.9 * math.log(percent))
    speed = kind.early if index < 1.0 else kind.late
    return speed * max(0.0, 1.0 - math.exp(2.3 * (index - ceiling))) / (7.0 * weeks)


def mould_history(celsius: Array, percent: Array, kind: Sensitivity, decline: float) -> Array:
    """Index at each hour, from 0. The hour that ends at an instant has its conditions. [1]"""
    index, began = 0.0, -1
    found = [index]
    for hour in range(1, len(celsius)):
        T, rh = float(celsius[hour]), min(float(percent[hour]), 100.0)
        if 0.0 < T < 50.0 and rh >= critical_humidity(T, kind.least):
            began = -1
            index += growth_per_day(index, T, rh, kind) / 24.0
        else:
            began = hour - 1 if began < 0 else began
            dry = hour - began
            per_day = 0.032 if dry <= 6 else 0.0 if dry <= 24 else 0.016
            index = max(0.0, index - decline * per_day / 24.0)
        found.append(index)
    return np.array(found)
