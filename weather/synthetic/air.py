"""Temperature, humidity and pressure of generated weather."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from weather.arrays import Array, Flags
from weather.course import Calendar, between_months, match_mean, monthly_mean, smooth
from weather.moistair import saturation_pressure, standard_pressure
from weather.normals import MonthlyNormals
from weather.synthetic.draws import Days, between_noons, persistent

_ROUNDS = 16
"""Corrections until spread, range and humidity fit their normals; each leaves a tenth or less."""
_COLDEST, _WARMEST = 5.0, 15.0
"""Hours of the day's lowest and highest temperature: 4 to 6 and 14 to 15 in six typical years."""


class _Moisture(NamedTuple):
    """How vapour varies: fitted to hours above 90 % and to the mean day of four typical years. [1]

    docs/weather-generator.md shows what they give there, and at two places that were not fitted.
    """

    daily: float = 0.28
    """Standard deviation of the logarithm of a day's vapour pressure, times −ln of mean RH."""
    hourly: float = 0.06
    """The same within the day."""
    drying: float = 0.02
    """Half the loss by mixing with drier air aloft from the coldest to the warmest hour."""
    dew: float = 26.0
    """Exponent with which RH bends off below its limit: the larger, the sharper."""
    stirring: float = 0.07
    """Lowering of that limit by wind, which mixes the cool air at the ground away. [s/m]"""
    still: float = 2.5
    """Wind speed up to which nothing is mixed. [m/s]"""
    lively: float = 6.5
    """Wind speed from which nothing more is mixed. [m/s]"""
    frost: float = 0.55
    """Share of the step from saturation over water to that over ice taken below 0 °C."""
    rain: tuple[float, float] = (0.70, 0.95)
    """Least RH in the hours of rain, even between these from day to day."""


_MOISTURE = _Moisture()


def temperature(
    random: np.random.Generator,
    axis: Calendar,
    normals: MonthlyNormals,
    warmth: Array,
    clearness: Array,
) -> Array:
    """Annual course, persistent daily anomaly, daily wave that is larger under clear skies. [K]

    Anomaly and wave are scaled as hourly series: what is lost between the noons is made good.
    """
    course = smooth(normals.temperature, axis)
    anomaly = between_noons(warmth, axis)
    swing = 0.4 + clearness / max(float(clearness.mean()), 0.05)
    uneven = np.exp(0.3 * random.standard_normal(axis.days))
    wave = between_noons(swing * uneven, axis) * _wave(axis.hour)
    spread, span = np.asarray(normals.temperature_spread), np.asarray(normals.daily_range)
    wide, high = spread, 0.5 * span
    result = course
    for _ in range(_ROUNDS):
        result = course + between_months(wide, axis) * anomaly + between_months(high, axis) * wave
        result = match_mean(result, normals.temperature, axis)
        days = result.reshape(axis.days, 24)
        apart = days.mean(axis=1) - course.reshape(axis.days, 24).mean(axis=1)
        wide = wide * _ratio(spread, np.sqrt(_by_month(apart**2, axis)))
        high = high * _ratio(span, _by_month(days.max(axis=1) - days.min(axis=1), axis))
    return result


def humidity(
    random: np.random.Generator,
    axis: Calendar,
    normals: MonthlyNormals,
    days: Days,
    air: Array,
    speed: Array,
    wet: Flags,
) -> Array:
    """Relative humidity from a vapour pressure that varies from day to day and within the day.

    The day's vapour follows its mean temperature and the process of moisture. Where the air cools
    to its dew point, vapour is lost to dew and frost: relative humidity bends off below a limit.

    Parameters
    ----------
    days : Days
        Daily processes.
    air, speed : array
        Temperature [K] and wind speed [m/s] of the hours.
    wet : array of bool
        Hours of rain.
    """
    target = np.asarray(normals.relative_humidity, dtype=float)
    free = _free_vapour(random, axis, target, days.moisture, air) / saturation_pressure(air)
    floor = np.where(wet, np.repeat(random.uniform(*_MOISTURE.rain, axis.days), 24), 0.0)
    limit = np.maximum(_limit(air, speed, wet), target[axis.month] + 0.1)
    factor = target.copy()
    result = free
    for _ in range(_ROUNDS):
        met = np.maximum(factor[axis.month] * free, floor) / limit
        result = limit * met / (1.0 + met**_MOISTURE.dew) ** (1.0 / _MOISTURE.dew)
        factor = factor * target / monthly_mean(result, axis)
    return np.clip(result, 0.02, 1.0)


def pressure(random: np.random.Generator, axis: Calendar, normals: MonthlyNormals) -> Array:
    """Standard pressure of the altitude with persistent swings of 700 Pa (common practice). [Pa]"""
    daily = standard_pressure(normals.place.altitude) + 700.0 * persistent(random, axis.days, 0.6)
    return between_noons(daily, axis)


def _free_vapour(
    random: np.random.Generator, axis: Calendar, target: Array, moisture: Array, air: Array
) -> Array:
    """Vapour pressure before dew and rain, up to a factor of the month. [Pa]"""
    mean = air.reshape(axis.days, 24).mean(axis=1)
    spread = (-_MOISTURE.daily * np.log(target))[axis.month[::24]]
    daily = np.log(saturation_pressure(mean)) + spread * moisture
    hourly = _MOISTURE.hourly * persistent(random, axis.hours, 0.9)
    hourly = hourly - _MOISTURE.drying * _wave(axis.hour)
    return np.exp(between_noons(daily, axis) + hourly)


def _limit(air: Array, speed: Array, wet: Flags) -> Array:
    """Relative humidity that air near the ground does not pass: frost, and stirring by the wind."""
    over_ice = saturation_pressure(air, over="iso13788") / saturation_pressure(air)
    frost = 1.0 - _MOISTURE.frost * (1.0 - over_ice)
    felt = np.clip(speed, _MOISTURE.still, _MOISTURE.lively) - _MOISTURE.still
    stirred = 1.0 - _MOISTURE.stirring * felt
    return np.where(wet, frost, frost * stirred)


def _wave(hour: Array) -> Array:
    """Daily course from −1 to 1: up from the coldest hour to the warmest, slower down again."""
    up = _WARMEST - _COLDEST
    since = (hour - _COLDEST) % 24.0
    rising = -np.cos(np.pi * since / up)
    falling = np.cos(np.pi * (since - up) / (24.0 - up))
    return np.where(since < up, rising, falling)


def _by_month(daily: Array, axis: Calendar) -> Array:
    month = axis.month[::24]
    return np.bincount(month, daily, 12) / np.bincount(month, minlength=12)


def _ratio(target: Array, got: Array) -> Array:
    return np.where(got > 1e-9, target / np.maximum(got, 1e-9), 1.0)
