"""Water gained from year to year."""

from __future__ import annotations

from collections.abc import Iterator

from hygro.assess.balance import yearly_gain
from hygro.assess.criteria.criterion import Criterion, Finding
from hygro.assess.criteria.rated import Rated
from hygro.assess.data import HOURS_PER_YEAR

SHARE = 0.01
"""Yearly increase tolerated as a share of the water in the wall (our choice). [1]"""


def _gain(rated: Rated, row: Criterion) -> Iterator[Finding]:
    years = rated.hours // HOURS_PER_YEAR
    if years < 2:
        note = f"the run covers {years} whole year(s), two are needed"
        yield row.finding("the wall", None, hard=False, note=note)
        return
    # What stands in front of a gap is wetted and dried by the weather of the day.
    first = rated.behind_gap
    gain, before = yearly_gain(rated.record, first)
    yield row.finding(
        "the wall behind the cladding gap" if first else "the wall",
        gain,
        rated.times[years * HOURS_PER_YEAR],
        limit=max(row.limit, SHARE * before),
        note="mean of the last 30 days against the same days a year before",
    )


ACCUMULATION = Criterion(
    key="accumulation",
    quantity="increase of water in the last year",
    limit=0.05,
    unit="kg m-2",
    source="a wall must reach a yearly equilibrium (EN 15026, ISO 13788); the tolerance for the "
    "difference between weather years is ours",
    origin="common practice, no source",
    note="means of the last 30 days of the last two years, behind the cladding gap; the limit "
    "is 1 % of the water there where that is more; needs two years",
    judge=_gain,
)
