"""Hour-ending stamps: from date fields of a file to one strictly hourly axis; knows no variables.

Hour h of a day (1..24) becomes the stamp day + h hours, so hour 24 is 00:00 of the next day.
"""

from __future__ import annotations

from typing import Any, Literal, NamedTuple

import numpy as np

from weather.errors import fault

LeapDay = Literal["keep", "drop"]

HOUR = np.timedelta64(3600, "s")
"""The step of every canonical dataset. [s]"""
NOMINAL_YEAR = 2001
"""Year that typical and leap-stripped years are stamped with; not a leap year."""
YEAR_HOURS = 8760
"""Hours of a year without leap day. [h]"""


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


def settle(year: Any, month: Any, day: Any, hour: Any, *, place: str, leap_day: LeapDay) -> Stamps:
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
    fields = [np.asarray(values).astype(int) for values in (year, month, day, hour)]
    _check_fields(*fields, place=place)
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


def check_hourly(time: np.ndarray, *, place: str) -> None:
    """Refuse an axis that is not strictly hourly; the message names the first fault."""
    if len(time) == 0:
        raise fault(place, "no hours", "is the file empty?")
    step = np.diff(time)
    wrong = np.flatnonzero(step != HOUR)
    if len(wrong) == 0:
        return
    first = int(wrong[0])
    where, gap = time[first + 1].astype("datetime64[m]"), float(step[first] / HOUR)
    if gap == 0.0:
        raise fault(place, f"hour {where} appears twice", "delete the duplicate row")
    if gap < 0.0:
        raise fault(place, f"hour {where} is out of order", "rows must run forward in time")
    raise fault(
        place,
        f"step of {gap:g} h before {where} at row {first + 2}, must be 1 h",
        "rows are missing; a gap in time is not filled",
    )


def _check_fields(year: Any, month: Any, day: Any, hour: Any, *, place: str) -> None:
    for name, values, low, high in (
        ("year", year, 1678, 2261),
        ("month", month, 1, 12),
        ("day", day, 1, 31),
        ("hour", hour, 1, 24),
    ):
        bad = np.flatnonzero((values < low) | (values > high))
        if len(bad):
            row = int(bad[0])
            raise fault(f"{place}, row {row + 1}", f"{name} = {values[row]}: must be {low}..{high}")
    wrong = np.flatnonzero(
        _stamp(year, month, day, 0 * hour).astype("datetime64[M]") != _month(year, month)
    )
    if len(wrong):
        row = int(wrong[0])
        raise fault(
            f"{place}, row {row + 1}",
            f"there is no day {year[row]}-{month[row]:02d}-{day[row]:02d}",
            "a leap day in a year that has none?",
        )


def _month(year: Any, month: Any) -> np.ndarray:
    return (year - 1970).astype("datetime64[Y]").astype("datetime64[M]") + (month - 1)


def _stamp(year: Any, month: Any, day: Any, hour: Any) -> np.ndarray:
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
