"""Annual courses that keep monthly means, and the calendar of generated years; draws nothing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from weather.errors import fault
from weather.normals import MONTH_DAYS
from weather.stamps import HOUR, NOMINAL_YEAR


class Calendar(NamedTuple):
    """Hours of whole years without leap days."""

    time: np.ndarray
    """Hour-ending stamps."""
    month: np.ndarray
    """Month 0..11 of each hour."""
    hour: np.ndarray
    """Hour 1..24 at the stamp. [h]"""
    day_position: np.ndarray
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
    hours = 8760 * years
    start = np.datetime64(f"{NOMINAL_YEAR}-01-01T01", "ns")
    time = start + np.arange(hours) * HOUR.astype("timedelta64[ns]")
    month = np.tile(np.repeat(np.arange(12), np.array(MONTH_DAYS) * 24), years)
    hour = np.tile(np.arange(1.0, 25.0), hours // 24)
    return Calendar(time, month, hour, (np.arange(1.0, hours + 1.0) - 12.0) / 24.0, years)


def monthly_mean(values: np.ndarray, axis: Calendar) -> np.ndarray:
    """Mean of each of the twelve months over all years."""
    return np.bincount(axis.month, values, 12) / np.bincount(axis.month, minlength=12)


def smooth(monthly: Sequence[float] | np.ndarray, axis: Calendar) -> np.ndarray:
    """Hourly course, linear between mid-months, whose monthly means are the given ones.

    The values at mid-month follow from twelve linear equations: plain interpolation would cut
    the peaks.
    """
    weights = _weights()
    means = np.array([weights[number == _MONTH].mean(axis=0) for number in range(12)])
    nodes = np.linalg.solve(means, np.asarray(monthly, dtype=float))
    return np.tile(weights @ nodes, axis.years)


def match_mean(
    values: np.ndarray, monthly: Sequence[float] | np.ndarray, axis: Calendar
) -> np.ndarray:
    """Shift a series smoothly so that its monthly means over all years are the given ones."""
    lack = np.asarray(monthly, dtype=float) - monthly_mean(values, axis)
    return values + smooth(lack, axis)


def scale_to_mean(
    values: np.ndarray, target: np.ndarray, axis: Calendar, *, upper: np.ndarray | None = None
) -> np.ndarray:
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
            return scaled
        scaled = np.minimum(scaled, upper)
        if np.all(np.abs(monthly_mean(scaled, axis) - target) <= 1e-3 * target):
            return scaled
    raise fault("generate", "global radiation cannot be reached below the clearest sky")


def _weights() -> np.ndarray:
    """Weights of the twelve mid-month values at each hour of one year."""
    edges = np.concatenate([[0.0], np.cumsum(MONTH_DAYS)])
    middles = 0.5 * (edges[1:] + edges[:-1])
    position = (np.arange(8760) + 0.5) / 24.0
    weights = np.zeros((8760, 12))
    for number in range(12):
        unit = np.zeros(12)
        unit[number] = 1.0
        weights[:, number] = np.interp(position, middles, unit, period=365.0)
    return weights


_MONTH = np.repeat(np.arange(12), np.array(MONTH_DAYS) * 24)
