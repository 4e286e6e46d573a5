"""The monthly method of ISO 13788 on the wall and the months of a record.

Steady, month by month: no storage, no rain, no sun. Clauses from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from hygro.assess.criteria.criterion import Criterion, Finding
from hygro.assess.criteria.rated import Rated
from hygro.assess.hourly import Hourly
from hygro.assess.select import HOURS_PER_YEAR, array, times
from hygro.wall.hand_wall import layer_rows, steady_wall
from hygro.wall.monthly import (
    DAYS,
    MonthClimate,
    MonthlyBalance,
    monthly_balance,
    needed_temperature_factor,
    temperature_factor,
)
from hygro.wall.steady import SteadyWall

MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
LEFT = 1e-9
"""Water below this is round-off. [kg/m²]"""


class _Hand(NamedTuple):
    wall: SteadyWall
    months: tuple[MonthClimate, ...]


def _hand(rated: Rated) -> _Hand | str:
    """The wall and its months, or why there are none."""
    if rated.wall is None:
        return "the record does not hold its wall"
    if rated.hours < HOURS_PER_YEAR:
        return "the record is shorter than a year"
    return _Hand(steady_wall(rated.wall, layer_rows(rated.wall)), _months(rated.hourly))


def _months(ds: Hourly) -> tuple[MonthClimate, ...]:
    """Means of the calendar months of whole years, January first."""
    last = (len(times(ds)) - 1) // HOURS_PER_YEAR * HOURS_PER_YEAR
    stamps = times(ds)[1 : last + 1] - np.timedelta64(1, "h")
    month = stamps.astype("datetime64[M]").astype(int) % 12
    names = ("outdoor_temperature", "outdoor_vapour_pressure",
             "indoor_temperature", "indoor_vapour_pressure")  # fmt: skip
    T_o, p_o, T_i, p_i = (array(ds, name)[1 : last + 1] for name in names)

    def mean(values: np.ndarray, m: int) -> float:
        return float(values[month == m].mean())

    return tuple(
        MonthClimate(mean(T_o, m), mean(p_o, m), mean(T_i, m), mean(p_i, m), 86400.0 * DAYS[m])
        for m in range(12)
    )


def _surface(rated: Rated, row: Criterion) -> Iterator[Finding]:
    hand, place = _hand(rated), "indoor surface"
    if isinstance(hand, str):
        yield row.finding(place, None, note=hand)
        return
    needed = {
        name: needed_temperature_factor(month)
        for name, month in zip(MONTHS, hand.months, strict=True)
        if month.T_o < month.T_i
    }
    worst = max(needed, key=lambda name: needed[name], default=None)
    note = "no month is colder outdoors" if worst is None else f"asked for in {worst}"
    limit = temperature_factor(hand.wall)
    yield row.finding(place, 0.0 if worst is None else needed[worst], limit=limit, note=note)


def _condensate(rated: Rated, row: Criterion) -> Iterator[Finding]:
    hand = _hand(rated)
    if isinstance(hand, str):
        yield row.finding("the interfaces", None, note=hand)
        return
    year = _balance(hand)
    total = year.accumulated.sum(axis=1)
    plane = year.planes[int(year.accumulated.max(axis=0).argmax())]
    month = MONTHS[int(total.argmax())]
    where = (
        f"most at {plane} at the end of {month}" if year.greatest > 0.0 else "no month condenses"
    )
    yield row.finding("the interfaces", year.greatest, note=where)


def _left(rated: Rated, row: Criterion) -> Iterator[Finding]:
    hand = _hand(rated)
    if isinstance(hand, str):
        yield row.finding("the interfaces", None, note=hand)
        return
    year = _balance(hand)
    left = 0.0 if year.start is None else float(year.accumulated[year.start - 1].sum())
    yield row.finding("the interfaces", left if left > LEFT else 0.0)


@lru_cache(maxsize=4)
def _balance(hand: _Hand) -> MonthlyBalance:
    return monthly_balance(hand.wall, hand.months)


SURFACE_FACTOR = Criterion(
    key="f_rsi",
    short="f_Rsi",
    quantity="temperature factor f_Rsi that 80 % RH at the surface asks for",
    limit=1.0,
    source="ISO 13788:2012, clause 5, surface humidity month by month; the limit is the factor of "
    "the plane wall with R_si 0.25 m²·K/W",
    origin="from memory",
    note="the plane wall alone: corners and frames are colder",
    judge=_surface,
)

MONTHLY_CONDENSATE = Criterion(
    key="monthly_condensate",
    short="condensate, monthly",
    quantity="most condensate of the monthly method",
    limit=0.2,
    unit="kg m-2",
    source="ISO 13788:2012, clause 6; run-off is to be feared above 200 g/m²",
    origin="from memory",
    note="vapour alone, steady months: no storage, rain, sun or leak",
    judge=_condensate,
)

MONTHLY_LEFT = Criterion(
    key="monthly_left",
    short="water left, monthly",
    quantity="condensate that the monthly year leaves",
    limit=0.0,
    unit="kg m-2",
    source="ISO 13788:2012, clause 6: what condenses must evaporate within the year",
    origin="from memory",
    note="see the condensate of the monthly method",
    judge=_left,
)
