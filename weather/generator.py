"""Makes hourly years from monthly normals, marked as generated; reads no files.

Day-to-day persistence comes from first-order autoregressive processes that share one driver
("unsettled"): unsettled days are cloudy, humid, windy, of small temperature range, and they are the
rain days. The strengths of these ties are common practice, no source; the monthly normals are met.
"""

from __future__ import annotations

from itertools import accumulate
from typing import NamedTuple

import numpy as np
import xarray as xr

from weather.arrays import Array, Flags, Whole
from weather.canonical import Origin, build
from weather.constants import YEAR_HOURS
from weather.course import Calendar, calendar, match_mean, monthly_mean, scale_to_mean, smooth
from weather.errors import fault
from weather.moistair import saturation_pressure, standard_pressure
from weather.normals import RAIN_DAY, MonthlyNormals
from weather.plane import Sun, erbs_split, sun_of

_CLEAREST = 0.80
"""Largest hourly clearness index that is generated; common practice, no source. [1]"""
_HUMIDITY_ROUNDS = 12
"""Corrections of vapour pressure until the mean relative humidity fits; see `_humidity`."""


class _Ties(NamedTuple):
    """Day-to-day persistence and ties to the unsettled driver; common practice, no source. [1]"""

    persistence: float = 0.45
    temperature_persistence: float = 0.70
    humidity: float = 0.55
    wind: float = 0.35
    clearness: float = 0.85
    winter_warmth: float = 0.25
    summer_warmth: float = -0.30


_TIES = _Ties()


class _Days(NamedTuple):
    """Daily standard-normal processes, one value per day."""

    unsettled: Array
    warmth: Array
    moisture: Array
    breeze: Array


def generate(normals: MonthlyNormals, *, years: int = 1, seed: int) -> xr.Dataset:
    """Generate hourly years whose monthly means over all years meet the normals.

    Over the generated years together each month meets: temperature within 0.01 K, relative humidity
    within 0.005, wind speed within 1 %, global radiation within 0.5 %, precipitation within 0.1 %,
    rain days to the nearest whole number of days over all years. Single years differ as the
    day-to-day spread and persistence make them; trends and extremes beyond that are not made.

    Parameters
    ----------
    normals : MonthlyNormals
        What to reproduce, and the place.
    years : int
        Number of years, each 8760 hours, one after another.
    seed : int
        Seed of numpy's PCG64; the same seed gives the same years.

    Returns
    -------
    Dataset
        Canonical weather with `generated` and `kind` marked so, and no `longwave_down`: sky
        longwave follows from `cloud_cover` and `dew_point`.

    Raises
    ------
    WeatherError
        When the years are below 1 or the radiation exceeds what the sun can give at the place.
    """
    if years < 1:
        raise fault("generate", f"years = {years}: must be 1 or more")
    random = np.random.Generator(np.random.PCG64(seed))
    axis = calendar(years)
    days = _daily_processes(random, axis)
    sun = _sun(axis, normals)
    total = _radiation(random, axis, normals, days, sun)
    direct, diffuse = erbs_split(total, sun)
    clearness = _daily_clearness(total, sun, axis)
    temperature = _temperature(axis, normals, days, clearness)
    wet_hours, rain = _precipitation(random, axis, normals, days)
    columns = {
        "temperature": temperature,
        "relative_humidity": _humidity(axis, normals, days, temperature, wet_hours),
        "pressure": _pressure(random, axis, normals),
        "wind_speed": _wind_speed(random, axis, normals, days),
        "wind_direction": _wind_direction(random, axis, normals),
        "global_horizontal": total,
        "direct_normal": direct,
        "diffuse_horizontal": diffuse,
        "cloud_cover": _cloud(axis, clearness, wet_hours),
        "precipitation": rain,
    }
    text = f"yes: {years} years from monthly normals, seed {seed}"
    origin = Origin("generated from monthly normals", "", "generated", text)
    result = build(columns, axis.time, normals.place, origin, [f"generated, {text[5:]}"])
    return _with_calendar(result, axis) if years > 1 else result


def _with_calendar(dataset: xr.Dataset, axis: Calendar) -> xr.Dataset:
    first = calendar(1).time
    stamps = np.tile(first, axis.years)
    return dataset.assign_coords(
        calendar_time=("time", stamps, {"long_name": "stamp that gives season and sun"})
    )


def _persistent(random: np.random.Generator, length: int, persistence: float) -> Array:
    """First-order autoregressive standard normal process."""
    noise = random.standard_normal(length) * np.sqrt(1.0 - persistence**2)
    noise[0] /= np.sqrt(1.0 - persistence**2)
    return np.fromiter(accumulate(noise, lambda past, new: new + persistence * past), float, length)


def _mix(driver: Array, own: Array, share: float | Array) -> Array:
    """Standard normal process with correlation `share` to the driver."""
    return share * driver + np.sqrt(1.0 - np.square(share)) * own


def _daily_processes(random: np.random.Generator, axis: Calendar) -> _Days:
    count = axis.days
    unsettled = _persistent(random, count, _TIES.persistence)
    season = np.cos(2.0 * np.pi * (np.arange(count) % 365 - 15.0) / 365.0)
    middle = 0.5 * (_TIES.winter_warmth + _TIES.summer_warmth)
    half = 0.5 * (_TIES.winter_warmth - _TIES.summer_warmth)
    warmth_own = _persistent(random, count, _TIES.temperature_persistence)
    return _Days(
        unsettled,
        _mix(unsettled, warmth_own, middle + half * season),
        _mix(unsettled, _persistent(random, count, _TIES.persistence), _TIES.humidity),
        _mix(unsettled, _persistent(random, count, _TIES.persistence), _TIES.wind),
    )


def _sun(axis: Calendar, normals: MonthlyNormals) -> Sun:
    """Sun of one year, repeated."""
    sun = sun_of(calendar(1).time, normals.place)
    rows = np.tile(np.arange(YEAR_HOURS), axis.years)
    return Sun(sun.zenith[rows], sun.azimuth[rows], sun.extraterrestrial[rows], sun.moment[rows])


def _outside(sun: Sun) -> Array:
    """Horizontal irradiance outside the atmosphere. [W/m²]"""
    return sun.extraterrestrial * np.maximum(np.cos(np.radians(sun.zenith)), 0.0)


def _radiation(
    random: np.random.Generator, axis: Calendar, normals: MonthlyNormals, days: _Days, sun: Sun
) -> Array:
    """Hourly global radiation: daily clearness from the driver, hourly clouds about it."""
    outside = _outside(sun)
    target = np.asarray(normals.global_horizontal, dtype=float)
    ceiling = monthly_mean(outside, axis)
    for month in np.flatnonzero(target > 0.75 * ceiling):
        raise fault(
            f"global_horizontal, month {month + 1}",
            f"{target[month]:g} W/m²: at most {0.75 * ceiling[month]:.0f} is possible here",
            "it is the mean over day and night",
        )
    own = random.standard_normal(axis.days)
    daily = _mix(-days.unsettled, own, _TIES.clearness)
    hourly = _persistent(random, axis.hours, 0.7)
    shape = np.exp(0.35 * np.repeat(daily, 24) + 0.10 * hourly)
    return scale_to_mean(outside * shape, target, axis, upper=_CLEAREST * outside)


def _daily_clearness(total: Array, sun: Sun, axis: Calendar) -> Array:
    """Daily clearness index; the middle value where the sun stays down. [1]"""
    got = total.reshape(axis.days, 24).sum(axis=1)
    outside = _outside(sun).reshape(axis.days, 24).sum(axis=1)
    # Sunless days have no clearness: 0.4 is a middling sky, common practice.
    return np.where(outside > 24.0, got / np.maximum(outside, 24.0), 0.4)


def _temperature(axis: Calendar, normals: MonthlyNormals, days: _Days, clearness: Array) -> Array:
    """Annual course, persistent daily anomaly, daily wave with its top at 15 h."""
    spread = smooth(normals.temperature_spread, axis)[::24]
    anomaly = np.interp(axis.day_position, np.arange(axis.days), spread * days.warmth)
    swing = 0.4 + clearness / max(float(clearness.mean()), 0.05)
    wave = np.cos(2.0 * np.pi * (axis.hour - 15.0) / 24.0)
    daily = np.repeat(swing, 24)
    daily = scale_to_mean(daily, np.asarray(normals.daily_range, dtype=float), axis)
    course = smooth(normals.temperature, axis)
    return match_mean(course + anomaly + 0.5 * daily * wave, normals.temperature, axis)


def _humidity(
    axis: Calendar,
    normals: MonthlyNormals,
    days: _Days,
    temperature: Array,
    wet: Flags,
) -> Array:
    """Vapour pressure about constant over the day, near saturation while it rains.

    Air of warm spells is taken drier than that of their temperature: it follows 60 % of a positive
    anomaly (common practice, no source).
    """
    target = np.asarray(normals.relative_humidity, dtype=float)
    saturation = saturation_pressure(temperature)
    mean = temperature.reshape(axis.days, 24).mean(axis=1)
    warm = np.maximum(mean - smooth(normals.temperature, axis)[12::24], 0.0)
    daily = saturation_pressure(mean - 0.4 * warm) * np.exp(0.15 * days.moisture)
    vapour = np.interp(axis.day_position, np.arange(axis.days), daily)
    # Rain brings the air near to saturation, but no more vapour than the mean day can hold; the
    # floor of 0.85 is common practice, no source.
    floor = np.minimum(0.85, np.repeat(saturation_pressure(mean), 24) / saturation)
    factor = target.copy()
    for _ in range(_HUMIDITY_ROUNDS):
        humidity = np.minimum(factor[axis.month] * vapour / saturation, 1.0)
        humidity = np.where(wet, np.maximum(humidity, floor), humidity)
        factor = factor * target / monthly_mean(humidity, axis)
    return np.asarray(np.maximum(humidity, 0.02))


def _pressure(random: np.random.Generator, axis: Calendar, normals: MonthlyNormals) -> Array:
    """Standard pressure of the altitude with persistent swings of 700 Pa (common practice)."""
    daily = standard_pressure(normals.place.altitude) + 700.0 * _persistent(random, axis.days, 0.6)
    return np.interp(axis.day_position, np.arange(axis.days), daily)


def _ranks(process: Array, month: Whole) -> Array:
    """Uniform scores 0..1 by rank within each month, so that distributions are met exactly."""
    score = np.empty(len(process))
    for number in range(12):
        rows = np.flatnonzero(month == number)
        order = np.argsort(np.argsort(process[rows]))
        score[rows] = (order + 0.5) / len(rows)
    return score


def _wind_speed(
    random: np.random.Generator, axis: Calendar, normals: MonthlyNormals, days: _Days
) -> Array:
    """Rayleigh-distributed speed, persistent, stronger in the afternoon and on unsettled days."""
    slow = np.interp(axis.day_position, np.arange(axis.days), days.breeze)
    process = _mix(slow, _persistent(random, axis.hours, 0.9), 0.7)
    process = process + 0.35 * np.cos(2.0 * np.pi * (axis.hour - 15.0) / 24.0)
    speed = np.sqrt(-2.0 * np.log1p(-_ranks(process, axis.month)))
    target = np.asarray(normals.wind_speed, dtype=float)
    return speed * (target / monthly_mean(speed, axis))[axis.month]


def _wind_direction(random: np.random.Generator, axis: Calendar, normals: MonthlyNormals) -> Array:
    """Persistent direction whose hours meet the rose; even within each sector."""
    rose = normals.rose()
    sectors = rose.shape[1]
    score = _ranks(_persistent(random, axis.hours, 0.93), axis.month)
    direction = np.empty(axis.hours)
    for number in range(12):
        rows = axis.month == number
        edges = np.concatenate([[0.0], np.cumsum(rose[number])])
        bounds = (np.arange(sectors + 1) - 0.5) * 360.0 / sectors
        direction[rows] = np.interp(score[rows], edges, bounds)
    return direction % 360.0


def _cloud(axis: Calendar, clearness: Array, wet: Flags) -> Array:
    """Cloud cover from clearness after Kasten & Czeplak 1980 (memory): G/G_clear = 1 − 0.75 n^3.4.

    A clear sky is taken at a daily clearness of 0.75 (common practice, no source).
    """
    lack = np.clip((1.0 - clearness / 0.75) / 0.75, 0.0, 1.0)
    cover = np.interp(axis.day_position, np.arange(axis.days), lack ** (1.0 / 3.4))
    return np.where(wet, np.maximum(cover, 0.9), cover)


def _precipitation(
    random: np.random.Generator, axis: Calendar, normals: MonthlyNormals, days: _Days
) -> tuple[Flags, Array]:
    """Rain on the most unsettled days of each month; returns wet hours and amounts. [kg/m²]"""
    hourly = np.zeros((axis.days, 24))
    month = axis.month[::24]
    for number in range(12):
        rows = np.flatnonzero(month == number)
        count = round(normals.rain_days[number] * axis.years)
        if count == 0:
            continue
        wet = rows[np.argsort(days.unsettled[rows])[-count:]]
        amounts = _day_amounts(random, days.unsettled[wet], normals.precipitation[number], axis)
        for day, amount in zip(wet, amounts, strict=True):
            hourly[day] = _spell(random, amount)
    flat = hourly.ravel()
    return flat > 0.0, flat


def _day_amounts(
    random: np.random.Generator, unsettled: Array, monthly: float, axis: Calendar
) -> Array:
    """Amounts above the rain-day limit, exponential, larger on more unsettled days. [kg/m²]"""
    count = len(unsettled)
    excess = np.sort(random.exponential(size=count))
    noisy = unsettled + 0.7 * random.standard_normal(count)
    excess = excess[np.argsort(np.argsort(noisy))]
    spare = monthly * axis.years - RAIN_DAY * count
    return np.asarray(RAIN_DAY + excess * spare / excess.sum())


def _spell(random: np.random.Generator, amount: float) -> Array:
    """Spread a day's rain over one spell of hours, longer for larger amounts. [kg/m²]"""
    length = int(np.clip(1 + random.geometric(1.0 / (2.5 + 0.35 * amount)), 1, 24))
    start = int(random.integers(0, 25 - length))
    share = random.exponential(size=length) + 0.1
    hours = np.zeros(24)
    hours[start : start + length] = amount * share / share.sum()
    return hours
