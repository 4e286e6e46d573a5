"""The two questions a run answers, and which part of its record answers each.

Owns the windows: *service*, how the wall fares year after year, and *closing in*, how it dries from
the state at its start. Rates nothing.
"""

from __future__ import annotations

from typing import NamedTuple

from hygro.assess.hourly import Record, cut
from hygro.assess.select import HOURS_PER_YEAR, after, times
from hygro.record.provenance import Question as Question

WARM_UP = 365.0
"""Days left out of service at the start of a run of two years or more. [d]"""
TOGETHER = (
    "service and closing in are judged together: one record from the state at its start, with no "
    "year left out; what fails may be the start, and what does not may fail in later years"
)
YEARS = "service: all after the first year; closing in: the first year"


class Windows(NamedTuple):
    """The parts of a record that answer the questions; None where one is not asked.

    Attributes
    ----------
    skip_days : float
        Left out of service at the start. [d]
    note : str
        Said beside the verdict.
    """

    service: Record | None
    closing: Record | None
    skip_days: float
    note: str

    @property
    def apart(self) -> bool:
        """Whether closing in has a year of its own."""
        return self.service is None or self.skip_days >= WARM_UP


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
        If `skip_days` is negative or leaves no hour.
    """
    hours = len(times(ds)) - 1
    first = cut(ds, slice(0, HOURS_PER_YEAR + 1))
    if ds.attrs.get("question") == "closing in":
        return Windows(None, first, 0.0, "closing in: the first year from the state at the start")
    if "periodic_rounds" in ds.attrs:
        skip = skip_days or 0.0
        note = f"service: the year after {int(ds.attrs['periodic_rounds'])} rounds of the weather"
        return Windows(after(ds, skip), None, skip, note)
    if skip_days is None:
        skip_days = WARM_UP if hours >= 2 * HOURS_PER_YEAR else 0.0
    note = YEARS if skip_days >= WARM_UP else TOGETHER
    return Windows(after(ds, skip_days), first, skip_days, note)
