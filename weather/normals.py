"""Monthly normals that a generated climate must reproduce, with their bounds; generates nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from weather.arrays import Array
from weather.canonical import Place
from weather.constants import MONTH_DAYS
from weather.errors import fault

RAIN_DAY = 1.0
"""Least precipitation of a rain day, the usual climatological definition (memory). [kg/m²]"""
CALM = 0.5
"""Speed below which an hour is calm: stations report such hours as 0. [m/s]"""

# name: (lower, upper, likely cause)
_BOUNDS: dict[str, tuple[float, float, str]] = {
    "temperature": (200.0, 320.0, "is it in °C?"),
    "daily_range": (0.0, 30.0, "is it a difference of daily maximum and minimum?"),
    "temperature_spread": (0.0, 15.0, "is it the standard deviation of daily means?"),
    "relative_humidity": (0.05, 0.98, "is it in percent?"),
    "wind_speed": (0.2, 20.0, "is it in km/h?"),
    "global_horizontal": (0.0, 450.0, "it is the mean over day and night"),
    "rain_days": (0.0, 31.0, "days of the month with at least 1 mm"),
    "precipitation": (0.0, 1500.0, "sum of the month in mm"),
    "calm_share": (0.0, 0.95, "is it in percent?"),
}


@dataclass(frozen=True, kw_only=True)
class MonthlyNormals:
    """Twelve values each, January to December.

    Raises
    ------
    WeatherError
        On series that are not twelve long, or values out of bounds or at odds with each other.
    """

    place: Place
    """Where, with its altitude and time zone."""
    temperature: Sequence[float]
    """Mean. [K]"""
    daily_range: Sequence[float]
    """Mean of daily maximum minus daily minimum. [K]"""
    temperature_spread: Sequence[float]
    """Standard deviation of daily means about the mean annual course. [K]"""
    relative_humidity: Sequence[float]
    """Mean. [1]"""
    wind_speed: Sequence[float]
    """Mean at 10 m. [m/s]"""
    wind_rose: Sequence[Sequence[float]]
    """Share of hours by sector clockwise from north, one row for the year or twelve rows. [1]"""
    global_horizontal: Sequence[float]
    """Mean over day and night. [W/m²]"""
    rain_days: Sequence[float]
    """Mean number of days with at least `RAIN_DAY`."""
    precipitation: Sequence[float]
    """Mean sum of the month. [kg/m²]"""
    calm_share: Sequence[float] | None = None
    """Share of hours below `CALM`; from the mean speed where not given, see `calms`. [1]"""

    def __post_init__(self) -> None:
        """Check lengths, bounds and that amounts suit the number of rain days."""
        for name, (low, high, cause) in _BOUNDS.items():
            if getattr(self, name) is not None:
                _check_series(name, getattr(self, name), low, high, cause)
        _check_rose(self.wind_rose)
        for month in range(12):
            days, amount = self.rain_days[month], self.precipitation[month]
            if days > MONTH_DAYS[month]:
                raise fault(f"rain_days, month {month + 1}", f"{days:g}: more than the month has")
            if amount < 1.5 * RAIN_DAY * days or (amount > 0.0) != (days > 0.0):
                raise fault(
                    f"precipitation, month {month + 1}",
                    f"{amount:g} mm on {days:g} rain days: too little for days of 1 mm and more, "
                    "or one of them is zero",
                )

    def calms(self) -> Array:
        """Share of calm hours by month: as given, or exp(−(v/1.7)^1.3) of the mean speed v.

        Fitted to the months of four typical years: 3, 33 and 13 % a year where 3.5, 33 and 12 %
        were counted, but 4 % where 2 % were.
        """
        if self.calm_share is not None:
            return np.asarray(self.calm_share, dtype=float)
        return np.exp(-((np.asarray(self.wind_speed, dtype=float) / 1.7) ** 1.3))

    def rose(self) -> Array:
        """Wind rose as twelve rows, each of sum 1."""
        rows = np.atleast_2d(np.asarray(self.wind_rose, dtype=float))
        rows = np.repeat(rows, 12, axis=0) if len(rows) == 1 else rows
        return np.asarray(rows / rows.sum(axis=1, keepdims=True))


def _check_series(name: str, values: Sequence[float], low: float, high: float, cause: str) -> None:
    array = np.asarray(values, dtype=float)
    if array.shape != (12,):
        raise fault(name, f"{array.size} values, must be 12")
    for month, value in enumerate(array, start=1):
        if not low <= value <= high:
            raise fault(f"{name}, month {month}", f"{value:g}: must be {low:g}–{high:g}", cause)


def _check_rose(rose: Sequence[Sequence[float]]) -> None:
    rows = np.atleast_2d(np.asarray(rose, dtype=float))
    if len(rows) not in (1, 12) or rows.shape[1] < 4:
        raise fault("wind_rose", f"shape {rows.shape}: must be 1 or 12 rows of 4 or more sectors")
    if rows.min() < 0.0 or np.any(np.abs(rows.sum(axis=1) - 1.0) > 0.02):
        raise fault("wind_rose", "shares must not be negative and sum to 1", "in percent?")
