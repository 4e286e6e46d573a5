"""Hour-ending stamps: from date fields of a file to one strictly hourly axis; knows no variables.

Hour h of a day (1..24) becomes the stamp day + h hours, so hour 24 is 00:00 of the next day.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from weather.arrays import Times, Whole
from weather.constants import HOUR_SECONDS, NOMINAL_YEAR, YEAR_HOURS
from weather.errors import fault

LeapDay = Literal["keep", "drop"]

_FIRST_YEAR, _LAST_YEAR = 1678, 2261

HOUR = np.timedelta64(round(HOUR_SECONDS), "s")
"""The step of every canonical dataset. [s]"""


def hour_of_day(time: Times) -> Whole:
    """The hour in which each stamp lies. (0-23)

    As whole hours: the calendar of xarray looks for packages for arrays in pieces first, 0.2 s.
    """
    return time.astype("datetime64[h]").astype(np.int64) % 24


class Stamps(NamedTuple):
    """Settled time axis of a file."""

    time: np.ndarray
    """Hour-ending stamps, datetime64[ns]."""
    keep: np.ndarray
    """Which rows of the file they belong to, boolean."""
    typical: bool
    """True when months of different years were put together."""
    notes: list[str]
    """What was changed, for the dataset's history."""


def settle(
    year: ArrayLike,
    month: ArrayLike,
    day: ArrayLike,
    hour: ArrayLike,
    *,
    place: str,
    leap_day: LeapDay,
) -> Stamps:
    """Turn the date columns of a yearly file into one hourly axis.

    Parameters
    ----------
    year, month, day, hour : array of int
        Date fields as the file gives them, hour 1..24 meaning the hour that ends then.
    place : str
        File name for messages.
    leap_day : {"keep", "drop"}
        What to do with 29 February; dropping restamps the year to `NOMINAL_YEAR`.

    Raises
    ------
    WeatherError
        On hours outside 1..24, impossible dates, duplicates, gaps, or a wrong number of rows.
    """
    given = [np.asarray(values) for values in (year, month, day, hour)]
    _check_bounds(*given, place=place)
    fields = [values.astype(int) for values in given]
    _check_days(*fields[:3], place=place)
    years, months, days, hours = fields
    notes: list[str] = []
    # The last hour of December may be dated 1 January 00:00 of another year: hour 24 avoids that.
    typical = len(np.unique(years)) > 1 and not _continuous(_stamp(years, months, days, hours))
    leap = (months == 2) & (days == 29)
    keep = ~leap if leap_day == "drop" else np.ones(len(leap), dtype=bool)
    if leap.any() and not keep.all():
        notes.append(f"29 February left out ({int(leap.sum())} hours)")
    nominal = typical or (leap.any() and leap_day == "drop") or _lost_leap_day(years, leap)
    if nominal:
        if leap.any() and leap_day == "keep":
            raise fault(
                place,
                f"{len(leap)} rows with 29 February in a year put together from several years",
                "read it with leap_day='drop'",
            )
        notes.append(f"years {_span(years)} restamped to the nominal year {NOMINAL_YEAR}")
        years = np.full_like(years, NOMINAL_YEAR)
    time = _stamp(years[keep], months[keep], days[keep], hours[keep])
    check_hourly(time, place=place)
    if nominal and len(time) != YEAR_HOURS:
        raise fault(
            place, f"{len(time)} hours, a typical year has {YEAR_HOURS}", "is the file truncated?"
        )
    return Stamps(time, keep, typical, notes)


def nanoseconds(time: Times, *, place: str) -> Times:
    """Return stamps in nanoseconds, which hold the years 1678 to 2261 only."""
    years = time.astype("datetime64[Y]").astype(int) + 1970
    bad = np.flatnonzero(np.isnat(time) | (years < _FIRST_YEAR) | (years > _LAST_YEAR))
    if len(bad):
        text = str(time[bad[0]])
        bound = f"must be {_FIRST_YEAR} to {_LAST_YEAR}"
        raise fault(f"{place}, row {bad[0] + 1}", f"stamp {text}: year {bound}", "a wrong year?")
    return time.astype("datetime64[ns]")


def check_hourly(time: Times, *, place: str, lines: Sequence[int] | None = None) -> None:
    """Refuse an axis that is not strictly hourly; names the first fault, by `lines` of the file."""
    if len(time) == 0:
        raise fault(place, "no hours", "is the file empty?")
    step = np.diff(time)
    wrong = np.flatnonzero(step != HOUR)
    if len(wrong) == 0:
        return
    first = int(wrong[0])
    if lines is not None:
        place = f"{place}, line {lines[first + 1]}"
    where, gap = time[first + 1].astype("datetime64[m]"), float(step[first] / HOUR)
    if gap == 0.0:
        raise fault(place, f"hour {where} appears twice", "delete the duplicate row")
    if gap < 0.0:
        raise fault(place, f"hour {where} is out of order", "rows must run forward in time")
    raise fault(
        place,
        f"step of {gap:g} h before {where}, must be 1 h",
        "rows are missing; a gap in time is not filled",
    )


def _check_bounds(
    year: ArrayLike, month: ArrayLike, day: ArrayLike, hour: ArrayLike, *, place: str
) -> None:
    for name, values, low, high in (
        ("year", year, _FIRST_YEAR, _LAST_YEAR),
        ("month", month, 1, 12),
        ("day", day, 1, 31),
        ("hour", hour, 1, 24),
    ):
        numbers = np.asarray(values)
        bad = np.flatnonzero(~((numbers >= low) & (numbers <= high)))
        if len(bad):
            row = int(bad[0])
            found = f"{name} = {numbers[row]:g}: must be {low}..{high}"
            raise fault(f"{place}, row {row + 1}", found)


def _check_days(year: Whole, month: Whole, day: Whole, *, place: str) -> None:
    wrong = np.flatnonzero(
        _stamp(year, month, day, 0 * day).astype("datetime64[M]") != _month(year, month)
    )
    if len(wrong):
        row = int(wrong[0])
        raise fault(
            f"{place}, row {row + 1}",
            f"there is no day {year[row]}-{month[row]:02d}-{day[row]:02d}",
            "a leap day in a year that has none?",
        )


def _month(year: Whole, month: Whole) -> Times:
    january: Times = (year - 1970).astype("datetime64[Y]").astype("datetime64[M]")
    first: Times = january + (month - 1).astype("timedelta64[M]")
    return first


def _stamp(year: Whole, month: Whole, day: Whole, hour: Whole) -> Times:
    stamps = _month(year, month).astype("datetime64[D]") + (day - 1)
    return (stamps.astype("datetime64[h]") + hour).astype("datetime64[ns]")


def _continuous(time: np.ndarray) -> bool:
    return bool(np.all(np.diff(time) == HOUR))


def _lost_leap_day(years: np.ndarray, leap: np.ndarray) -> bool:
    """Whether a single leap year of 8760 rows lacks its 29 February."""
    first = int(years[0])
    is_leap = first % 4 == 0 and (first % 100 != 0 or first % 400 == 0)
    return bool(is_leap and len(years) == YEAR_HOURS and not leap.any())


def _span(years: np.ndarray) -> str:
    low, high = int(years.min()), int(years.max())
    return str(low) if low == high else f"{low} to {high}"
