"""The compiled loops of the mould index: what each hour lets grow, and the index through the hours.

Owns the formulas of Hukka & Viitanen 1999 by the hour; their constants come in rows, see `mould`.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from hygro.assess.course import Order
from hygro.constants import ZERO_CELSIUS
from hygro.solve.kernels.compiler import entry, inlined

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]


@entry
def weeks_start(t: float, h: float, shift: float) -> float:
    """Weeks until the index is 1 on wood at t [°C] and h [%]."""
    return math.exp(-0.68 * math.log(t) - 13.9 * math.log(h) + shift + 66.02)


@entry
def weeks_visible(t: float, h: float, shift: float) -> float:
    """Weeks until the index is 3 on wood at t [°C] and h [%]."""
    return math.exp(-0.74 * math.log(t) - 12.72 * math.log(h) + shift + 61.50)


@entry
def critical_percent(t: float, rh_min: float) -> float:
    """Lowest humidity that lets mould grow at t [°C]. [%]"""
    if t > 20.0:
        return rh_min
    return max(((-0.00267 * t + 0.160) * t - 3.13) * t + 100.0, rh_min)


@inlined
def _percent(rh: float) -> float:
    return min(100.0 * rh, 100.0)


@inlined
def _lets_grow(t: float, h: float, critical: float) -> bool:
    return 0.0 < t < 50.0 and h >= critical and critical < 100.0


@entry
def find_growing(temperature: Array, humidity: Array, rh_min: float, found: Flags) -> None:
    """Say of each surface whether any hour lets mould grow; dims (time, surface), [K], [1]."""
    for at in range(temperature.shape[0]):
        for s in range(temperature.shape[1]):
            t, h = temperature[at, s] - ZERO_CELSIUS, _percent(humidity[at, s])
            found[s] = found[s] or (h >= rh_min and _lets_grow(t, h, critical_percent(t, rh_min)))


@entry
def _fill(temperature: Array, humidity: Array, row: Array, first: int, hours: Array) -> None:
    """What each hour from the first on has for the index of a surface, whatever that is.

    Hours until it is 1 on wood, 0 where nothing grows; rate above 1; ceiling. Temperature in K,
    humidity 0-1; dims (time,), and (time, 3).
    """
    for at in range(first, len(temperature)):
        t, h = temperature[at] - ZERO_CELSIUS, _percent(humidity[at])
        critical = critical_percent(t, row[5])
        if not _lets_grow(t, h, critical):
            hours[at, 0] = 0.0
            continue
        start = weeks_start(t, h, row[6])
        k1 = row[1]
        if math.isnan(k1):
            k1 = 2.0 / (weeks_visible(t, h, row[7]) / start - 1.0)
        q = (critical - h) / (critical - 100.0)
        hours[at, 0], hours[at, 1] = 168.0 * start, k1
        hours[at, 2] = max(0.0, row[2] + row[3] * q - row[4] * q * q)


@entry
def _decline(dry: float, factor: float) -> float:
    """Decline in the hour that ends `dry` hours after growth became impossible."""
    if dry <= 6.0:
        return factor * 0.032 / 24.0
    if dry <= 24.0:
        return 0.0
    return factor * 0.016 / 24.0


@inlined
def _step(
    m: float, dry: float, start: float, k1: float, ceiling: float, row: Array
) -> tuple[float, float]:
    """Index, and hours since it could grow, after an hour of which `_fill` tells."""
    if start > 0.0:
        if m >= ceiling:
            return m, 0.0
        k2 = 1.0 - math.exp(2.3 * (m - ceiling))
        return m + (row[0] if m < 1.0 else k1) * k2 / start, 0.0
    dry += 1.0
    return max(0.0, m - _decline(dry, row[8])), dry


@entry
def march(
    temperature: Array,
    humidity: Array,
    order: Order,
    again: int,
    lowest: int,
    rows: Array,
    start: float,
    hours: Array,
    out: Array,
) -> None:
    """Index of every surface; temperature in K, humidity 0-1, one row of constants a surface.

    Dims (surface, time), and (surface, constant). What is met again and again is worked out once
    (room for it in `hours`), and an index that comes back after a round goes the same way through
    the next ones.
    """
    surfaces, told = out.shape
    steps, first = len(order), len(order) - told
    for s in range(surfaces):
        row = rows[s]
        _fill(temperature[s], humidity[s], row, lowest, hours)
        m, dry = start, 0.0
        before, dry_before, due = -1.0, 0.0, again
        if first == 0:
            out[s, 0] = m
        i = 1
        while i < steps:
            at = order[i]
            m, dry = _step(m, dry, hours[at, 0], hours[at, 1], hours[at, 2], row)
            if i == due and i < first:
                # beyond a day the hours count no more
                if m == before and min(dry, 24.0) == min(dry_before, 24.0):
                    i += (first - i) // again * again
                before, dry_before, due = m, dry, i + again
            if i >= first:
                out[s, i - first] = m
            i += 1
