"""Persistent random processes, and the daily ones that tie a generated climate together."""

from __future__ import annotations

from itertools import accumulate
from typing import NamedTuple

import numpy as np

from weather.arrays import Array, Whole
from weather.constants import YEAR_DAYS
from weather.course import Calendar


class _Ties(NamedTuple):
    """Day-to-day persistence and ties to the unsettled driver. [1]

    Persistence, humidity and warmth as in the six typical years at hand (correlations with daily
    cloud: humidity 0.35 to 0.68, temperature −0.6 to −0.2 in summer, 0.1 to 0.7 in winter); wind is
    common practice, no source.
    """

    persistence: float = 0.45
    temperature_persistence: float = 0.58
    humidity: float = 0.75
    wind: float = 0.35
    winter_warmth: float = 0.25
    summer_warmth: float = -0.30


_TIES = _Ties()


class Days(NamedTuple):
    """Daily standard-normal processes, one value per day."""

    unsettled: Array
    warmth: Array
    moisture: Array
    breeze: Array


def daily_processes(random: np.random.Generator, axis: Calendar) -> Days:
    """Draw the days: unsettled ones are cloudy, humid, windy, mild in winter and cool in summer."""
    count = axis.days
    unsettled = persistent(random, count, _TIES.persistence)
    season = np.cos(2.0 * np.pi * (np.arange(count) % YEAR_DAYS - 15.0) / YEAR_DAYS)
    middle = 0.5 * (_TIES.winter_warmth + _TIES.summer_warmth)
    half = 0.5 * (_TIES.winter_warmth - _TIES.summer_warmth)
    warmth_own = persistent(random, count, _TIES.temperature_persistence)
    return Days(
        unsettled,
        mix(unsettled, warmth_own, middle + half * season),
        mix(unsettled, persistent(random, count, _TIES.persistence), _TIES.humidity),
        mix(unsettled, persistent(random, count, _TIES.persistence), _TIES.wind),
    )


def persistent(random: np.random.Generator, length: int, persistence: float) -> Array:
    """First-order autoregressive standard normal process."""
    noise = random.standard_normal(length) * np.sqrt(1.0 - persistence**2)
    noise[0] /= np.sqrt(1.0 - persistence**2)
    return np.fromiter(accumulate(noise, lambda past, new: new + persistence * past), float, length)


def mix(driver: Array, own: Array, share: float | Array) -> Array:
    """Standard normal process with correlation `share` to the driver."""
    return np.asarray(share * driver + np.sqrt(1.0 - np.square(share)) * own)


def ranks(process: Array, month: Whole) -> Array:
    """Uniform scores 0..1 by rank within each month, so that distributions are met exactly."""
    score = np.empty(len(process))
    for number in range(12):
        rows = np.flatnonzero(month == number)
        order = np.argsort(np.argsort(process[rows]))
        score[rows] = (order + 0.5) / len(rows)
    return score


def between_noons(daily: Array, axis: Calendar) -> Array:
    """Hourly values, linear between the noons of the days."""
    return np.interp(axis.day_position, np.arange(axis.days), daily)
