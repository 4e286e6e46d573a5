"""Mould on surfaces."""

from __future__ import annotations

from collections.abc import Iterator

from hygro.assess.criteria.criterion import Criterion, Finding
from hygro.assess.criteria.rated import Rated
from hygro.assess.growth import judged_surfaces, mould
from hygro.assess.series import peak


def _index(rated: Rated, row: Criterion) -> Iterator[Finding]:
    index = mould(rated.record, model=rated.mould_model, decline=rated.decline)
    judged = judged_surfaces(rated.record)
    if not any(rated.decides(place.layer) for place, _ in judged):
        note = "no layer from the sheathing inward has a mould class"
        yield row.finding("the wall", None, note=note)
    for column, (place, kind) in enumerate(judged):
        found = peak(index.values[:, column], rated.times)
        hard = row.hard and rated.decides(place.layer)
        yield row.finding(place.name, *found, hard=hard, note=f"class {kind}")


def _first_year(rated: Rated, row: Criterion) -> Iterator[Finding]:
    judged = any(rated.decides(place.layer) for place, _ in judged_surfaces(rated.record))
    # Together with service it would be the same index again.
    if judged and rated.apart:
        yield from _index(rated, row)


MOULD_INDEX = Criterion(
    key="mould_index",
    short="mould index",
    quantity="mould index",
    limit=3.0,
    sense="below",
    source="ANSI/ASHRAE 160-2016 addendum e",
    origin="from memory",
    note="current criterion of the standard, hard for every sheltered surface from the sheathing "
    "inward and for wood behind the cladding; soft on what else stands outside the sheathing, "
    "which rain and outdoor air wet anyway",
    judge=_index,
)

CLOSING_MOULD = Criterion(
    key="closing_mould",
    short="mould, first year",
    quantity="mould index of the first year",
    limit=3.0,
    sense="below",
    question="closing in",
    source="as the mould index in service",
    origin="from memory",
    note="from the state at the start, on the faces where the mould index of service is hard",
    judge=_first_year,
)
