"""Metal: humidity and hours of wetness at the sheathing and at the attachments of the wall."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from hygro.assess.corrosivity import AGGRESSIVE, category, number_of
from hygro.assess.criteria.criterion import Criterion, Finding
from hygro.assess.criteria.rated import Rated
from hygro.assess.humidity import corrosion, surface_humidity
from hygro.assess.metal import MetalRating
from hygro.assess.select import HOURS_PER_YEAR
from hygro.assess.series import MONTH, Exceedance, Peak
from hygro.constants import ZERO_CELSIUS
from hygro.material.model import NOT_STATED


def _month(rated: Rated, row: Criterion) -> Iterator[Finding]:
    for face in ("outer", "inner"):
        hours = corrosion(rated.hourly, rated.sheathing.name, face)
        month = surface_humidity(rated.hourly, rated.sheathing.name, face).month
        note = f"{hours.above_80.hours} h above 80 %, {hours.above_95.hours} h above 95 % over 0 °C"
        hard = row.hard and face == "inner" and bool(rated.steel)
        if not np.isfinite(month.value) and rated.hours >= MONTH:
            note, hard = "no 30 days at 5-40 °C, outside of which the rule asks nothing", False
        yield row.finding(hours.surface, *month, hard=hard, note=note)
    for item in rated.metal:
        note = _which(item)
        yield row.finding(item.place, *item.rated.month, hard=False, note=note)


def _hours(rated: Rated, row: Criterion) -> Iterator[Finding]:
    if rated.hours < HOURS_PER_YEAR:
        yield row.finding(rated.sheathing.name, None, note="the run is shorter than a year")
        return
    for face in ("outer", "inner"):
        found = corrosion(rated.hourly, rated.sheathing.name, face)
        yield row.finding(found.surface, *_per_year(rated, found.above_80))
    for item in rated.metal:
        found_hours = _per_year(rated, item.rated.above_80)
        yield row.finding(item.place, *found_hours, note=_which(item))


def _dew(rated: Rated, row: Criterion) -> Iterator[Finding]:
    for item in rated.metal:
        metal = item.rated
        note = (
            f"{_which(item)}, lowest {metal.lowest - ZERO_CELSIUS:.1f} °C; "
            f"{metal.below_cavity_dew_point.hours} h at the dew point of the air behind the next "
            f"layer, {metal.below_indoor_dew_point.hours} h at that of room air"
        )
        hours = metal.below_dew_point
        yield row.finding(item.place, hours.hours, hours.began, note=note)


def _class(rated: Rated, row: Criterion) -> Iterator[Finding]:
    """Category at steel studs and at every attachment against what the metal there bears."""
    for place, hours, bears, touches in _metal(rated):
        if rated.hours < HOURS_PER_YEAR:
            yield row.finding(place, None, hard=False, note="the run is shorter than a year")
            continue
        found = category(_per_year(rated, hours).value, touches)
        told = f"{hours.hours} h above 80 % RH and 0 °C"
        if AGGRESSIVE in touches:
            told += "; a material there is aggressive to metal when damp"
        if NOT_STATED in touches:
            told += "; a material there states nothing of metal in contact"
        if bears is None:
            told = f"C{found} there ({told}); the wall states no corrosion_class of the metal"
            yield row.finding(place, None, hard=False, note=told)
        else:
            limit = float(number_of(bears))
            yield row.finding(place, float(found), limit=limit, note=told)


def _metal(rated: Rated) -> Iterator[tuple[str, Exceedance, str | None, tuple[str, ...]]]:
    """Where metal is: place, hours of wetness, what it bears, what it touches."""
    if rated.steel:
        hours = corrosion(rated.hourly, rated.sheathing.name, "inner")
        touched = rated.contact(rated.sheathing.index)
        yield hours.surface, hours.above_80, rated.steel_bears, (touched,)
    for item in rated.metal:
        yield item.place, item.rated.above_80, item.bears, item.touches


def _which(item: MetalRating) -> str:
    return "shank as a fin" if item.estimate else "cold bound, parallel path"


def _per_year(rated: Rated, hours: Exceedance) -> Peak:
    return Peak(hours.hours * HOURS_PER_YEAR / rated.hours, hours.began)


CORROSION = Criterion(
    key="corrosion",
    short="RH at metal",
    quantity="30-day mean relative humidity at metal (30-day mean temperature 5-40 °C)",
    limit=0.80,
    percent=True,
    sense="below",
    source="ANSI/ASHRAE 160, corrosion",
    origin="from memory",
    note="hard at the inner face of a sheathing board that is not wood-based, and of any sheathing "
    "before steel framing; soft at other faces and at fasteners",
    judge=_month,
)

CORROSION_HOURS = Criterion(
    key="corrosion_hours",
    quantity="hours a year above 80 % RH and 0 °C at metal",
    limit=2500.0,
    unit="h",
    hard=False,
    source="ISO 9223, time of wetness: above 2500 h a year is class τ4 (outdoor air of damp "
    "climates)",
    origin="from memory",
    note="soft: at the faces of the sheathing, where metal may touch it, and at every attachment "
    "that the wall names",
    judge=_hours,
)

CORROSION_CLASS = Criterion(
    key="corrosion_class",
    short="corrosivity",
    quantity="corrosivity category (1 for C1 to 5 for C5) at metal",
    limit=5.0,
    source="ISO 9223, from the time of wetness for carbon steel in clean air; one more where a "
    "material in contact is aggressive when damp (our choice)",
    origin="from memory",
    note="judged against the corrosion_class that the wall states for attachments and steel "
    "framing; told, not judged, where it states none; salt and fumes are left out",
    judge=_class,
)

METAL_DEW_HOURS = Criterion(
    key="metal_dew_hours",
    quantity="hours with metal at the dew point of the air it meets",
    limit=0.0,
    unit="h",
    hard=False,
    source="common practice",
    origin="common practice, no source",
    note="at the inner end of every attachment that the wall names",
    judge=_dew,
)
