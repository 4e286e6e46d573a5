"""Water gained from year to year."""

from __future__ import annotations

from collections.abc import Iterator

from hygro.assess.balance import yearly_gain
from hygro.assess.criteria.criterion import Criterion, Finding
from hygro.assess.criteria.rated import Rated
from hygro.assess.hourly import hourly
from hygro.assess.select import HOURS_PER_YEAR, times

SHARE = 0.01
"""Yearly increase tolerated as a share of the water in the wall (our choice). [1]"""


def _gain(rated: Rated, row: Criterion) -> Iterator[Finding]:
    ds = hourly(rated.whole)
    if "periodic_rounds" in ds.attrs:
        rounds = int(ds.attrs["periodic_rounds"])
        note = f"largest change of a layer in round {rounds} of the weather"
        yield row.finding("the wall", float(ds.attrs["periodic_drift"]), note=note)
        return
    stamps = times(ds)
    years = (len(stamps) - 1) // HOURS_PER_YEAR
    if years < 2:
        note = f"the run covers {years} whole year(s), two are needed"
        yield row.finding("the wall", None, hard=False, note=note)
        return
    # What stands in front of a gap is wetted and dried by the weather of the day.
    first = rated.behind_gap
    gain, before = yearly_gain(ds, first)
    yield row.finding(
        "the wall behind the cladding gap" if first else "the wall",
        gain,
        stamps[years * HOURS_PER_YEAR],
        limit=max(row.limit, SHARE * before),
        note="mean of the last 30 days against the same days a year before",
    )


ACCUMULATION = Criterion(
    key="accumulation",
    short="gain",
    quantity="increase of water in the last year",
    limit=0.05,
    unit="kg m-2",
    share=False,
    source="a wall must reach a yearly equilibrium (EN 15026, ISO 13788); the tolerance for the "
    "difference between weather years is our choice",
    origin="common practice, no source",
    note="means of the last 30 days of the last two years, behind the cladding gap; the limit "
    "is 1 % of the water there where that is more; needs two years",
    judge=_gain,
)
