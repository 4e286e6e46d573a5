"""Leaks that had nothing to leak: a wall is not passed by what was not tried."""

from __future__ import annotations

from collections.abc import Iterator

from hygro.assess.condensation import hourly_mass
from hygro.assess.criteria.criterion import Criterion, Finding
from hygro.assess.criteria.rated import Rated


def _tried(rated: Rated, row: Criterion) -> Iterator[Finding]:
    if rated.wall is None or not rated.wall.leaks.rain:
        return
    if not hourly_mass(rated.whole, "rain_incident").any():
        yield row.finding("the rain leak", None, note="no rain met the wall, so it was not tried")


RAIN_TRIED = Criterion(
    key="rain_tried",
    short="rain leak not tried",
    quantity="rain that leaks",
    limit=0.0,
    unit="kg m-2",
    source="a leak that had nothing to leak says nothing",
    origin="common practice, no source",
    note="hard: a wall with a rain leak is not passed by weather without rain",
    judge=_tried,
)
