"""Annual courses that keep monthly means, and the calendar of generated years; draws nothing."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

import numpy as np

from weather.arrays import Array, Times, Whole
from weather.constants import MONTH_DAYS, NOMINAL_YEAR, YEAR_DAYS, YEAR_HOURS
from weather.errors import fault
from weather.stamps import HOUR


class Calendar(NamedTuple):
    """Hours of whole years without leap days."""

    time: Times
    """Hour-ending stamps."""
    month: Whole
    """Month 0..11 of each hour."""
    hour: Array
    """Hour 1..24 at the stamp. [h]"""
    day_position: Array
    """Time counted in days, 0 at the first noon: where a daily mean stands. [d]"""
    years: int

    @property
    def hours(self) -> int:
        """Number of hours."""
        return len(self.time)

    @property
    def days(self) -> int:
        """Number of days."""
        return len(self.time) // 24


def calendar(years: int) -> Calendar:
    """Make the calendar of a number of years that begin at the nominal year."""
    hours = YEAR_HOURS * years
    start = np.datetime64(f"{NOMINAL_YEAR}-01-01T01", "ns")
    time = start + np.arange(hours) * HOUR.astype("timedelta64[ns]")
    month = np.tile(np.repeat(np.arange(12), np.array(MONTH_DAYS) * 24), years)
    hour = np.tile(np.arange(1.0, 25.0), hours // 24)
    return Calendar(time, month, hour, (np.arange(1.0, hours + 1.0) - 12.0) / 24.0, years)


def monthly_mean(values: Array, axis: Calendar) -> Array:
    """Mean of each of the twelve months over all years."""
    return np.bincount(axis.month, values, 12) / np.bincount(axis.month, minlength=12)


def smooth(monthly: Sequence[float] | Array, axis: Calendar) -> Array:
    """Hourly course, linear between mid-months, whose monthly means are the given ones.

    The values at mid-month follow from twelve linear equations: plain interpolation would cut
    the peaks.
    """
    weights = _weights()
    means = np.array([weights[number == _MONTH].mean(axis=0) for number in range(12)])
    nodes = np.linalg.solve(means, np.asarray(monthly, dtype=float))
    return np.tile(weights @ nodes, axis.years)


def between_months(monthly: Array, axis: Calendar) -> Array:
    """Hourly course through the values at mid-month; its monthly means are not quite those."""
    return np.tile(_weights() @ monthly, axis.years)


def match_mean(values: Array, monthly: Sequence[float] | Array, axis: Calendar) -> Array:
    """Shift a series smoothly so that its monthly means over all years are the given ones."""
    lack = np.asarray(monthly, dtype=float) - monthly_mean(values, axis)
    return values + smooth(lack, axis)


def scale_to_mean(
    values: Array, target: Array, axis: Calendar, *, upper: Array | None = None
) -> Array:
    """Scale month by month to the given means, no value above `upper`.

    Raises
    ------
    WeatherError
        When the bound does not leave room for the mean.
    """
    scaled = values
    for _ in range(60):
        mean = monthly_mean(scaled, axis)
        factor = np.where(target > 0.0, target / np.maximum(mean, 1e-12), 0.0)
        scaled = scaled * factor[axis.month]
        if upper is None:
            return np.asarray(scaled)
        scaled = np.minimum(scaled, upper)
        if np.all(np.abs(monthly_mean(scaled, axis) - target) <= 1e-3 * target):
            return np.asarray(scaled)
    raise fault("generate", "global radiation cannot be reached below the clearest sky")


@cache
def _weights() -> Array:
    """Weights of the twelve mid-month values at each hour of one year."""
    edges = np.concatenate([[0.0], np.cumsum(MONTH_DAYS)])
    middles = 0.5 * (edges[1:] + edges[:-1])
    position = (np.arange(YEAR_HOURS) + 0.5) / 24.0
    weights = np.zeros((YEAR_HOURS, 12))
    for number in range(12):
        unit = np.zeros(12)
        unit[number] = 1.0
        weights[:, number] = np.interp(position, middles, unit, period=YEAR_DAYS)
    return weights


_MONTH = np.repeat(np.arange(12), np.array(MONTH_DAYS) * 24)
