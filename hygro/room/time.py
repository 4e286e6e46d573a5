"""The clock of indoor climate: outdoor hours, averages of them, weekly schedules.

Owns hourly time arithmetic for rooms; knows nothing of any rule that uses it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt
from pydantic import BeforeValidator, WithJsonSchema

from hygro.declare import declared
from hygro.errors import InputError
from hygro.fields import Number, read, schema
from hygro.variable import when

Array = npt.NDArray[np.float64]
Averaging = Literal["calendar_day", "running_24h", "month", "none"]


@dataclass(frozen=True, eq=False)
class Outdoor:
    """Hourly outdoor air, as a room needs it.

    Attributes
    ----------
    time : array of datetime64
        Start of each hour in local standard time; consecutive hours.
    temperature : array
        [K]
    vapour_pressure : array
        [Pa]

    Raises
    ------
    InputError
        Lengths that differ, a gap in time, or values out of bounds.
    """

    time: npt.NDArray[np.datetime64]
    temperature: Array
    vapour_pressure: Array

    def __post_init__(self) -> None:
        _check_time(self.time)
        for key, low, high, cause in (
            ("temperature", 180.0, 350.0, "is it in °C?"),
            ("vapour_pressure", 0.0, 12000.0, "is it in hPa or a missing-value code?"),
        ):
            values = getattr(self, key)
            if np.shape(values) != np.shape(self.time):
                raise InputError(f"outdoor: {key} has another length than time")
            check_range(f"outdoor.{key}", values, low, high, cause, time=self.time)


class IndoorClimate(NamedTuple):
    """Hourly state of the indoor air and what had to be assumed for it."""

    temperature: Array
    """[K]"""
    vapour_pressure: Array
    """[Pa]"""
    assumptions: list[str]


def check_range(
    place: str,
    values: npt.ArrayLike,
    low: float,
    high: float,
    cause: str,
    *,
    time: npt.NDArray[np.datetime64] | None = None,
) -> None:
    """Raise `InputError` naming the first value outside [low, high] or missing, and its hour."""
    x = np.asarray(values, dtype=float)
    bad = ~((x >= low) & (x <= high))
    if not np.any(bad):
        return
    k, found = int(np.argmax(bad)), x[bad].flat[0]
    where = "" if not x.ndim else f"[{k}]" if time is None else f" at {when(time[k])}"
    why = "a value is missing there" if np.isnan(found) else cause
    raise InputError(f"{place}{where} = {found:g}: must be {low:g}–{high:g}; {why}")


def check_kelvin(place: str, values: npt.ArrayLike) -> None:
    """Raise `InputError` unless all values are plausible indoor temperatures in kelvin."""
    check_range(place, values, 223.15, 343.15, "is it in °C? kelvin is needed")


def _check_time(time: npt.NDArray[np.datetime64]) -> None:
    if not np.issubdtype(np.asarray(time).dtype, np.datetime64) or np.ndim(time) != 1:
        raise InputError("outdoor: time must be a one-dimensional datetime64 array")
    if len(time) == 0:
        raise InputError("outdoor: time is empty")
    steps = np.diff(time.astype("datetime64[s]")).astype(int)
    if np.any(steps != 3600):
        k = int(np.argmax(steps != 3600))
        raise InputError(
            f"outdoor: time[{k + 1}] = {when(time[k + 1])} does not follow by one hour"
        )


def averaged(values: Array, time: npt.NDArray[np.datetime64], averaging: Averaging) -> Array:
    """Mean of the calendar day or month of each hour, or of the 24 hours that end with it.

    Days and months that the series holds in part use the hours there are; the running mean of the
    first 23 hours uses the hours so far.
    """
    if averaging == "none":
        return np.asarray(values, dtype=float)
    if averaging == "running_24h":
        return _running(values, 24)
    unit = {"calendar_day": "datetime64[D]", "month": "datetime64[M]"}[averaging]
    _, group = np.unique(time.astype(unit), return_inverse=True)
    return (np.bincount(group, weights=values) / np.bincount(group))[group]


def _running(values: Array, n: int) -> Array:
    total = np.concatenate(([0.0], np.cumsum(values)))
    end = np.arange(1, len(values) + 1)
    start = np.maximum(0, end - n)
    return (total[end] - total[start]) / (end - start)


AVERAGING_TEXT = {
    "calendar_day": "calendar-day means of the outdoor air (part days: the hours there are)",
    "running_24h": "means of the 24 h that end with the hour (first 23 h: the hours so far)",
    "month": "calendar-month means of the outdoor air (part months: the hours there are)",
    "none": "hourly outdoor values",
}


@declared
class Schedule:
    """A value for each hour of a week, Monday 0 h first, in local standard time.

    Parameters
    ----------
    week : list of float
        168 values, not negative.
    """

    week: tuple[Number, ...]

    def __repr__(self) -> str:
        """Its range, not its 168 values."""
        low, high = min(self.week), max(self.week)
        return f"Schedule({low:g})" if low == high else f"Schedule({low:g} to {high:g} over a week)"

    def __post_init__(self) -> None:
        """Refuse another length and negative values."""
        if len(self.week) != 168:
            raise InputError(f"week has {len(self.week)} values: must be 168 (7 × 24)")
        check_range("week", self.week, 0.0, np.inf, "negative")

    def values(self, time: npt.NDArray[np.datetime64]) -> Array:
        """Value of the schedule in each hour."""
        hours = time.astype("datetime64[h]").astype(int)
        # 1970-01-01 was a Thursday, 72 h after Monday 0 h.
        return np.array(self.week, dtype=float)[(hours + 72) % 168]


def always(value: float) -> Schedule:
    """Schedule of one value."""
    return Schedule((float(value),) * 168)


def weekly(workday: tuple[float, ...], weekend: tuple[float, ...] | None = None) -> Schedule:
    """Schedule from 24 values for Monday–Friday and 24 for the weekend (default: the same)."""
    rest = workday if weekend is None else weekend
    if len(workday) != 24 or len(rest) != 24:
        raise InputError("schedule: a day needs 24 values, one for each hour from 0 to 23")
    return Schedule(tuple(workday) * 5 + tuple(rest) * 2)


def hourly(
    kind: str, low: float, high: float, *, likely: str = ""
) -> tuple[BeforeValidator, WithJsonSchema]:
    """Return the field type of a schedule: one value, 24 of every day, or 168 of a week."""

    def read_schedule(value: object) -> object:
        if isinstance(value, Schedule | Mapping):
            return value
        if not isinstance(value, list | tuple):
            return always(read(value, kind, low, high, likely=likely))
        if len(value) not in (24, 168):
            raise InputError(f"has {len(value)} values: must have 1, 24 or 168")
        found = tuple(read(item, kind, low, high, likely=likely) for item in value)
        return weekly(found) if len(found) == 24 else Schedule(found)

    one = schema(kind, low, high, f"{kind}, one value, 24 or 168")
    many = {"type": "array", "items": one, "minItems": 24, "maxItems": 168}
    return BeforeValidator(read_schedule), WithJsonSchema({"anyOf": [one, many]})


def scaled(schedule: Schedule, factor: float) -> Schedule:
    """Schedule multiplied by a factor."""
    return Schedule(tuple(factor * value for value in schedule.week))
