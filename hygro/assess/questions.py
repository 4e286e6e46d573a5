"""The two questions a run answers, and which part of its record answers each.

Owns the windows: *service*, how the wall fares year after year, and *closing in*, how it dries from
the state at its start. Rates nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache
from math import isfinite
from numbers import Real
from typing import NamedTuple

import numpy as np

from hygro.assess.course import Course, course
from hygro.assess.hourly import Record, cut
from hygro.assess.select import HOURS_PER_YEAR, after, in_hours, times
from hygro.errors import InputError, brief
from hygro.record.provenance import Question as Question

WARM_UP = 365.0
"""Days left out of service at the start of a run of two years or more. [d]"""
SERVICE_YEARS = 10
"""Years of service that mould and rot grow through, however long the weather is (our choice)."""
TOGETHER = (
    "service and closing in are judged together: one record from the state at its start, with no "
    "year left out; what fails may be the start, and what does not may fail in later years"
)
YEARS = "service: all after the first year; closing in: the first year"
_ROUNDS = re.compile(r"\b(\d+) rounds of the weather")
GROWN = f"mould grows through {SERVICE_YEARS} years of service, those of the record again and again"


class Way(NamedTuple):
    """The hours of a record that what grows goes through, which ends with the record.

    Attributes
    ----------
    begin : int
        Hours left out at the start of the record; growth is told from there. [h]
    again : int
        Hours at the end of the record, whole years, that come again and again before that until
        `SERVICE_YEARS` are full; 0: once through. [h]
    """

    begin: int = 0
    again: int = 0

    def course(self, end: int) -> Course:
        """The instants up to `end` as they are met; those from `begin` on are told."""
        return _course(self, end)

    def years(self, end: int) -> float:
        """Years that are gone through, those before what is told among them."""
        return (len(self.course(end).order) - 1) / HOURS_PER_YEAR

    def year(self, instant: int, end: int) -> int | None:
        """Year of service, from 1, in which an instant that is told is met; None: once through."""
        if not self.again:
            return None
        return self.before(end) + max(1, -(-(instant - self.begin) // HOURS_PER_YEAR))

    def before(self, end: int) -> int:
        """Whole years that come before what is told."""
        missing = SERVICE_YEARS * HOURS_PER_YEAR - (end - self.begin)
        return max(0, -(-missing // HOURS_PER_YEAR))


@lru_cache(maxsize=8)
def _course(way: Way, end: int) -> Course:
    begin, again = way
    told = np.arange(begin, end + 1)
    if again:
        led = np.arange(begin - way.before(end) * HOURS_PER_YEAR, begin + 1)
        order = np.concatenate([end - (end - led) % again, told[1:]])
    else:
        order = told
    return course(order, len(told), again)


class Windows(NamedTuple):
    """The parts of a record that answer the questions; None where one is not asked.

    Attributes
    ----------
    skip_days : float
        Left out of service at the start. [d]
    note : str
        Said beside the verdict.
    way : Way or None
        How service is gone through by what grows.
    """

    service: Record | None
    closing: Record | None
    skip_days: float
    note: str
    way: Way | None

    @property
    def apart(self) -> bool:
        """Whether closing in has a year of its own."""
        return self.service is None or self.skip_days >= WARM_UP


def check_days(skip_days: object) -> None:
    """Refuse what is no number of days; raises `InputError`."""
    if skip_days is None:
        return
    if isinstance(skip_days, bool) or not (isinstance(skip_days, Real) and isfinite(skip_days)):
        raise InputError(
            f"skip_days = {brief(skip_days)}: must be a number of days, at least 0 and less than "
            "the run"
        )


def windows(ds: Record, skip_days: float | None = None) -> Windows:
    """Choose the parts of a record that answer the two questions.

    A periodic record knows no start, and one marked ``question = "closing in"`` has a periodic one
    beside it. Others answer both: closing in by their first year, service by what follows the days
    left out.

    Parameters
    ----------
    ds : Dataset
        A result.
    skip_days : float, optional
        Days left out of service. None: `WARM_UP` in a run of two years or more, else none.

    Raises
    ------
    InputError
        If `skip_days` is no number, negative or leaves no hour.
    """
    check_days(skip_days)
    hours = len(times(ds)) - 1
    first = cut(ds, slice(0, HOURS_PER_YEAR + 1))
    if ds.attrs.get("question") == "closing in":
        note = "closing in: the first year from the state at the start"
        return Windows(None, first, 0.0, note, None)
    if "periodic_rounds" in ds.attrs:
        skip = skip_days or 0.0
        rounds = int(ds.attrs["periodic_rounds"])
        way = _way(skip, hours, hours)
        note = _told(f"service: the year after {_rounds([rounds])}", way)
        return Windows(after(ds, skip), None, skip, note, way)
    long = hours >= 2 * HOURS_PER_YEAR
    if skip_days is None:
        skip_days = WARM_UP if long else 0.0
    apart = skip_days >= WARM_UP
    years = max(1, (hours - in_hours(skip_days)) // HOURS_PER_YEAR) if long and apart else 0
    way = _way(skip_days, hours, years * HOURS_PER_YEAR)
    note = _told(YEARS if apart else TOGETHER, way)
    return Windows(after(ds, skip_days), first, skip_days, note, way)


def once(notes: Iterable[str]) -> list[str]:
    """Return the notes of several verdicts, each once: what differs in its rounds alone is one."""
    alike: dict[str, list[str]] = {}
    for note in notes:
        alike.setdefault(_ROUNDS.sub("", note), []).append(note)
    return [_as_one(some) for some in alike.values()]


def _as_one(notes: Sequence[str]) -> str:
    found = [int(number) for note in notes for number in _ROUNDS.findall(note)]
    return _ROUNDS.sub(lambda _: _rounds(found), notes[0])


def _rounds(numbers: Sequence[int]) -> str:
    ends = dict.fromkeys((min(numbers), max(numbers)))
    return f"{' to '.join(map(str, ends))} rounds of the weather"


def _way(skip_days: float, hours: int, again: int) -> Way:
    """Go once through what is ten years or more."""
    begin = in_hours(skip_days)
    return Way(begin, again if hours - begin < SERVICE_YEARS * HOURS_PER_YEAR else 0)


def _told(note: str, way: Way) -> str:
    return f"{note}; {GROWN}" if way.again else note
