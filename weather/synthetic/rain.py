"""Rain of generated weather: on the most unsettled days, in one spell of hours."""

from __future__ import annotations

import numpy as np

from weather.arrays import Array
from weather.course import Calendar
from weather.normals import RAIN_DAY, MonthlyNormals


def precipitation(
    random: np.random.Generator, axis: Calendar, normals: MonthlyNormals, unsettled: Array
) -> Array:
    """Amount of each hour; the sums and numbers of rain days are the normals. [kg/m²]"""
    hourly = np.zeros((axis.days, 24))
    month = axis.month[::24]
    for number in range(12):
        rows = np.flatnonzero(month == number)
        count = round(normals.rain_days[number] * axis.years)
        if count == 0:
            continue
        wet = rows[np.argsort(unsettled[rows])[-count:]]
        amounts = _day_amounts(random, unsettled[wet], normals.precipitation[number] * axis.years)
        for day, amount in zip(wet, amounts, strict=True):
            hourly[day] = _spell(random, amount)
    return hourly.ravel()


def _day_amounts(random: np.random.Generator, unsettled: Array, total: float) -> Array:
    """Amounts above the rain-day limit, exponential, larger on more unsettled days. [kg/m²]"""
    count = len(unsettled)
    excess = np.sort(random.exponential(size=count))
    noisy = unsettled + 0.7 * random.standard_normal(count)
    excess = excess[np.argsort(np.argsort(noisy))]
    return np.asarray(RAIN_DAY + excess * (total - RAIN_DAY * count) / excess.sum())


def _spell(random: np.random.Generator, amount: float) -> Array:
    """Spread a day's rain over one spell of hours, longer for larger amounts. [kg/m²]"""
    length = int(np.clip(1 + random.geometric(1.0 / (2.5 + 0.35 * amount)), 1, 24))
    start = int(random.integers(0, 25 - length))
    share = random.exponential(size=length) + 0.1
    hours = np.zeros(24)
    hours[start : start + length] = amount * share / share.sum()
    return hours
