"""Cloud and radiation of generated weather: hourly cover, two-peaked, and the sun through it."""

from __future__ import annotations

import numpy as np

from weather.arrays import Array, Flags
from weather.constants import YEAR_HOURS
from weather.course import Calendar, calendar, monthly_mean, scale_to_mean
from weather.errors import fault
from weather.moistair import saturation_pressure
from weather.normals import MonthlyNormals
from weather.plane import Sun, sun_of
from weather.synthetic.draws import between_noons, mix, persistent, ranks

CLEAREST = 0.80
"""Largest hourly clearness index that is generated; common practice, no source. [1]"""
_BRIGHTEST = 0.75
"""Largest monthly one that normals may ask for; common practice, no source. [1]"""
_DARK = 0.4
"""Clearness index taken where the sun stays down: a middling sky, common practice. [1]"""


def sun_of_years(axis: Calendar, normals: MonthlyNormals) -> Sun:
    """Sun of one year, repeated."""
    sun = sun_of(calendar(1).time, normals.place)
    rows = np.tile(np.arange(YEAR_HOURS), axis.years)
    return Sun(sun.zenith[rows], sun.azimuth[rows], sun.extraterrestrial[rows], sun.moment[rows])


def cloud(
    random: np.random.Generator,
    axis: Calendar,
    normals: MonthlyNormals,
    sun: Sun,
    unsettled: Array,
    wet: Flags,
) -> Array:
    """Hourly opaque cover: clear or overcast more often than in between, most of all when it rains.

    Its hours keep together as in the six typical years at hand (correlation 0.90, 0.57 and 0.16
    after 1, 6 and 24 h); each month meets the distribution of `_shape`.
    """
    from scipy.special import betaincinv

    slow = between_noons(unsettled, axis)
    process = mix(slow, persistent(random, axis.hours, 0.83), 0.63)
    # Hours of rain are the cloudiest of their month.
    score = ranks(np.where(wet, process + 10.0, process), axis.month)
    mean, total = _shape(_clearness(axis, normals, sun), normals)
    alpha, beta = (mean * total)[axis.month], ((1.0 - mean) * total)[axis.month]
    return np.asarray(betaincinv(alpha, beta, score))


def radiation(
    random: np.random.Generator, axis: Calendar, normals: MonthlyNormals, sun: Sun, cover: Array
) -> Array:
    """Hourly global radiation: clear sky 1098 cos z·exp(−0.057/cos z), dimmed by the cover. [W/m²]

    The clear sky is that of Haurwitz 1945 (numbers as in pvlib).

    Opaque cover leaves 1 − 0.62 n^2.2 of it: means of the six typical years at hand, within 0.05.
    """
    outside = _outside(sun)
    height = np.maximum(np.cos(np.radians(sun.zenith)), 1e-3)
    clear = np.where(sun.zenith < 90.0, 1098.0 * height * np.exp(-0.057 / height), 0.0)
    through = clear * (1.0 - 0.62 * cover**2.2)
    uneven = np.exp(0.12 * persistent(random, axis.hours, 0.5))
    target = np.asarray(normals.global_horizontal, dtype=float)
    return scale_to_mean(through * uneven, target, axis, upper=CLEAREST * outside)


def daily_clearness(total: Array, sun: Sun, axis: Calendar) -> Array:
    """Daily clearness index; a middling one where the sun stays down. [1]"""
    got = total.reshape(axis.days, 24).sum(axis=1)
    outside = _outside(sun).reshape(axis.days, 24).sum(axis=1)
    return np.where(outside > 24.0, got / np.maximum(outside, 24.0), _DARK)


def _outside(sun: Sun) -> Array:
    """Horizontal irradiance outside the atmosphere. [W/m²]"""
    return np.asarray(sun.extraterrestrial * np.maximum(np.cos(np.radians(sun.zenith)), 0.0))


def _clearness(axis: Calendar, normals: MonthlyNormals, sun: Sun) -> Array:
    """Clearness index of the months; refuses more radiation than the sun gives."""
    target = np.asarray(normals.global_horizontal, dtype=float)
    ceiling = monthly_mean(_outside(sun), axis)
    for month in np.flatnonzero(target > _BRIGHTEST * ceiling):
        raise fault(
            f"global_horizontal, month {month + 1}",
            f"{target[month]:g} W/m²: at most {_BRIGHTEST * ceiling[month]:.0f} is possible here",
            "it is the mean over day and night",
        )
    return np.where(ceiling > 5.0, target / np.maximum(ceiling, 5.0), _DARK)


def _shape(clearness: Array, normals: MonthlyNormals) -> tuple[Array, Array]:
    """Mean of the cover and sum of the two exponents of its beta distribution, by month.

    Fitted to the months of typical years: the mean 1.18 − 1.33 K to six, ±0.07, the sum to five;
    the smaller it is, the more two-peaked. In moist warm air broken clouds fill the middle.
    """
    mean = np.clip(1.18 - 1.33 * clearness, 0.08, 0.92)
    temperature = np.asarray(normals.temperature, dtype=float)
    vapour = np.asarray(normals.relative_humidity) * saturation_pressure(temperature)
    return mean, 0.2 + 3.4 * np.maximum(mean - 0.5, 0.0) + 1.2 * (vapour / 2000.0) ** 4.4
