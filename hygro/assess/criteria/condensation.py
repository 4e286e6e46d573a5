"""Condensate at the sheathing, water that may run down, and hours at a dew point."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from hygro.assess.condensation import beyond_sorption, face_condensation, held_by_nothing
from hygro.assess.criteria.criterion import Criterion, Finding
from hygro.assess.criteria.rated import Rated
from hygro.assess.draining import ran_off
from hygro.assess.formed import formed_per_year, forming_hours, forms_at
from hygro.assess.places import surface
from hygro.assess.select import HOURS_PER_YEAR, flags, text
from hygro.assess.series import Exceedance, peak

ABSORBENT_LIMIT = 1.0
"""Limit where all layers at a face take up liquid (DIN 4108-3, from memory). [kg/m²]"""


def _condensate(rated: Rated, row: Criterion) -> Iterator[Finding]:
    index, layer = rated.sheathing.index, rated.sheathing.name
    yield row.finding(
        f"{layer}, inner face",
        *peak(beyond_sorption(rated.hourly, _inner(rated)), rated.times),
        limit=max(row.limit, ABSORBENT_LIMIT) if _absorbs(rated, index) else row.limit,
        hard=row.hard and index not in rated.wood,
    )


def _inner(rated: Rated) -> int:
    """Interface at the inner face of the sheathing."""
    return surface(rated.hourly, rated.sheathing.name, "inner").interface


def _absorbs(rated: Rated, index: int) -> bool:
    """Say whether all layers that touch at the inner face of a layer take up liquid."""
    absorbent = flags(rated.hourly, "layer_absorbent")
    face = text(rated.hourly, "interface_name")[index + 1]
    touching = [index]
    if index + 1 < len(absorbent) and not any(f" | {gap} | " in face for gap in rated.gaps):
        touching.append(index + 1)
    return bool(absorbent[touching].all())


def _run_off(rated: Rated, row: Criterion) -> Iterator[Finding]:
    names = text(rated.hourly, "interface_name")
    # Interface k stands between layers k-1 and k; the cladding's own faces are left out.
    inward = range(2, len(names) - 1)
    peaks = {names[k]: peak(held_by_nothing(rated.hourly, k), rated.times) for k in inward}
    if peaks:
        worst = max(peaks, key=lambda name: peaks[name].value)
        yield row.finding(worst, *peaks[worst])


def _drained(rated: Rated, row: Criterion) -> Iterator[Finding]:
    found = ran_off(rated.hourly)
    if found is None:
        return
    years = [_within_a_year(mass) for mass in found[:, rated.sheathing.index :].T]
    worst = int(np.argmax([year.max() for year in years]))
    name = rated.layers[rated.sheathing.index + worst]
    yield row.finding(name, *peak(years[worst], rated.times))


def _within_a_year(mass: np.ndarray) -> np.ndarray:
    """Sum of the hours of the year before, (N+1,), from what each hour brought, (N,). [kg/m²]"""
    so_far = np.zeros(len(mass) + 1)
    if mass.any():
        np.cumsum(mass, out=so_far[1:])
    year = so_far.copy()
    year[HOURS_PER_YEAR:] -= so_far[:-HOURS_PER_YEAR]
    return year


def _hours(rated: Rated, row: Criterion) -> Iterator[Finding]:
    found = forms_at(rated.hourly, _inner(rated))
    told = f"{formed_per_year(found):.2g} kg/m² a year"
    yield _at_inner_face(rated, row, forming_hours(found, rated.times), told)


def _dew_point(rated: Rated, row: Criterion) -> Iterator[Finding]:
    found = face_condensation(rated.hourly, rated.sheathing.name, "inner")
    yield _at_inner_face(rated, row, found.below_indoor_dew_point)


def _at_inner_face(rated: Rated, row: Criterion, hours: Exceedance, mass: str = "") -> Finding:
    said = [mass, f"longest run {hours.longest} h"] if hours.longest else []
    place = f"{rated.sheathing.name}, inner face"
    return row.finding(place, hours.hours, hours.began, note=", ".join(filter(None, said)))


CONDENSATE = Criterion(
    key="condensate",
    short="condensate",
    quantity="water beyond sorption",
    limit=0.5,
    unit="kg m-2",
    source="DIN 4108-3 and ISO 13788 practice: 0.5 at a face that takes up no liquid",
    origin="from memory",
    note="hard for a sheathing that is not wood-based; 1.0 where it and the layer behind take up "
    "liquid",
    judge=_condensate,
)

RUN_OFF = Criterion(
    key="run_off",
    quantity="water beyond sorption at a face that takes up no liquid",
    limit=0.2,
    unit="kg m-2",
    hard=False,
    source="EN ISO 13788: above 200 g/m² condensate may run off; BS 5250 names 30 to 50 g/m² on "
    "vertical faces",
    origin="from memory",
    note="soft: says that water may move to where the one-dimensional run does not look",
    judge=_run_off,
)

DRAINED = Criterion(
    key="drained_inside",
    short="run-off inside",
    quantity="water that ran off within a year, from the sheathing inward",
    limit=0.5,
    unit="kg m-2",
    source="as for condensate at a face that takes up no liquid (DIN 4108-3); that what ran off "
    "counts like what stays is our choice",
    origin="from memory",
    note="the run lets it leave; in a wall it wets the plate below, where no one-dimensional run "
    "looks",
    judge=_drained,
)

CONDENSATION_HOURS = Criterion(
    key="condensation_hours",
    quantity="hours in which condensate formed",
    limit=0.0,
    unit="h",
    hard=False,
    source="common practice",
    origin="common practice, no source",
    note="some hours do no harm where the layer can store and dry the water",
    judge=_hours,
)

DEW_POINT_HOURS = Criterion(
    key="dew_point_hours",
    quantity="hours at or below the indoor dew point",
    limit=0.0,
    unit="h",
    hard=False,
    source="common practice",
    origin="common practice, no source",
    note="what would condense if room air got there: safe only while the air barrier is tight",
    judge=_dew_point,
)
