"""Mould on surfaces."""

from __future__ import annotations

from collections.abc import Iterator

from hygro.assess.criteria.criterion import Criterion, Finding
from hygro.assess.criteria.rated import Rated
from hygro.assess.growth import judged_surfaces
from hygro.assess.mould import DEFAULT_DECLINE, Model, decline_factor
from hygro.assess.select import text
from hygro.assess.series import peak
from hygro.material.model import NOT_STATED

ROOM_LIMIT = 1.0
"""Limit on the surface that faces the room, which is seen (practice, from memory). [1]"""
MODEL_WORDS = {
    "ojanen2010": "Ojanen et al. 2010",
    "hukka1999": "Hukka & Viitanen 1999",
    "ashrae160e": "ASHRAE 160 addendum e",
}


def _index(
    rated: Rated, row: Criterion, model: Model, room_limit: float | None = None
) -> Iterator[Finding]:
    index = rated.mould(model, rated.decline)
    judged = judged_surfaces(rated.hourly)
    if not any(rated.decides(place.layer) for place, _ in judged):
        note = "no layer from the sheathing inward has a mould class"
        yield row.finding("the wall", None, note=note)
    room = len(text(rated.hourly, "interface_name")) - 1
    stated = text(rated.hourly, "layer_mould_class")
    for column, (place, kind) in enumerate(judged):
        assumed = " (taken: the material states none)" if stated[place.layer] == NOT_STATED else ""
        value, when = peak(index[:, column], rated.times)
        facing_room = room_limit is not None and place.interface == room and rated.faces_room
        yield row.finding(
            place.name,
            value,
            when,
            service_year=rated.year_of(when),
            limit=min(row.limit, room_limit or row.limit) if facing_room else None,
            hard=row.hard and rated.decides(place.layer),
            note=f"class {kind}{assumed}, {_told(model, rated.decline)}",
        )


def _told(model: Model, decline: float | str | None) -> str:
    """Name the model that was computed, with its decline."""
    default = 1.0 if model == "hukka1999" else DEFAULT_DECLINE
    return (
        f"{MODEL_WORDS[model]}, decline {decline_factor(default if decline is None else decline):g}"
    )


def _chosen(rated: Rated, row: Criterion) -> Iterator[Finding]:
    return _index(rated, row, rated.mould_model, ROOM_LIMIT)


def _ashrae(rated: Rated, row: Criterion) -> Iterator[Finding]:
    return _index(rated, row, "ashrae160e")


def _first_year(rated: Rated, row: Criterion) -> Iterator[Finding]:
    judged = any(rated.decides(place.layer) for place, _ in judged_surfaces(rated.hourly))
    # Together with service it would be the same index again.
    if judged and rated.apart:
        yield from _chosen(rated, row)


MOULD_INDEX = Criterion(
    key="mould_index",
    short="mould",
    quantity="mould index",
    limit=3.0,
    sense="below",
    source="practice for sheltered surfaces; 1 on the surface that faces the room",
    origin="from memory",
    note="hard for every sheltered surface from the sheathing inward and for wood behind the "
    "cladding; soft on what else stands outside the sheathing, which rain and outdoor air wet "
    "anyway; the model and its decline stand in the reason",
    judge=_chosen,
)

MOULD_160 = Criterion(
    key="mould_160",
    short="mould, ASHRAE 160",
    quantity="mould index of ASHRAE 160",
    limit=3.0,
    sense="below",
    hard=False,
    source="ANSI/ASHRAE 160-2016, which holds addendum e of the 2009 edition",
    origin="from memory",
    note="the index of the standard beside the model chosen",
    judge=_ashrae,
)

CLOSING_MOULD = Criterion(
    key="closing_mould",
    short="mould, year 1",
    quantity="mould index of the first year",
    limit=3.0,
    sense="below",
    question="closing in",
    source="as the mould index in service",
    origin="from memory",
    note="from the state at the start, on the faces where the mould index of service is hard",
    judge=_first_year,
)
