"""Moisture content of wood by mass, and the time it takes to dry."""

from __future__ import annotations

from collections.abc import Iterator

from hygro.assess.criteria.criterion import Criterion, Finding
from hygro.assess.criteria.rated import Rated
from hygro.assess.moisture import content, days_to_dry
from hygro.assess.places import Part, layer_span, part_name
from hygro.assess.select import HOURS_PER_DAY
from hygro.assess.series import DAY, MONTH, peak, running_mean

THICK = 0.020
"""A wood-based layer thicker than this is judged by its outer and inner `SKIN`. [m]"""
SKIN = 0.010
"""Depth of wood judged at each face of a thick layer; the wettest 10 mm is common practice (from
memory). [m]"""
FIBRE_SATURATION = 0.28
"""Water beyond this stands in the pores; the run knows it less well than it writes it. [kg/kg]"""
WET = 0.20
"""Moisture content above which wood counts as wet, as in the criterion "mc_30d". [kg/kg]"""


def _parts(rated: Rated, layer: int) -> tuple[Part | None, ...]:
    start, end = layer_span(rated.hourly, layer)
    return (None,) if end - start <= THICK else (("outer", SKIN), ("inner", SKIN))


def _content(rated: Rated, row: Criterion, window: int) -> Iterator[Finding]:
    for index in rated.wood:
        name, hard = rated.layers[index], row.hard and rated.decides(index)
        for part in _parts(rated, index):
            mean = running_mean(content(rated.hourly, name, part), window)
            yield row.finding(part_name(name, part), *peak(mean, rated.times), hard=hard)


def _month(rated: Rated, row: Criterion) -> Iterator[Finding]:
    return _content(rated, row, MONTH)


def _day(rated: Rated, row: Criterion) -> Iterator[Finding]:
    return _content(rated, row, DAY)


def _drying(rated: Rated, row: Criterion) -> Iterator[Finding]:
    for index in filter(rated.decides, rated.wood):
        name, whole = rated.layers[index], rated.hours / HOURS_PER_DAY
        days = days_to_dry(rated.hourly, name, WET)
        wet = bool(content(rated.hourly, name)[0] >= WET)
        note = _dried(days, wet, f"wet at the end, after {whole:.0f} days")
        if days is None and whole >= row.limit:
            days = whole
        yield row.finding(name, days, note=note)


def _dried(days: float | None, wet: bool, not_yet: str) -> str:
    """What is to be known of the days to dry of wood that starts wet, or with nothing to dry."""
    if days is None:
        return f"still {not_yet}" if wet else f"{not_yet}, with nothing to dry at the start"
    if days == 0.0:
        return "nothing to dry, wood starts and stays below 20 %"
    return "" if wet else "wetted later, with nothing to dry at the start"


MC_30D = Criterion(
    key="mc_30d",
    short="MC 30 d",
    quantity="30-day mean moisture content by mass",
    limit=0.20,
    percent=True,
    known_to=FIBRE_SATURATION,
    source="trade practice for wood-based sheathing; most moulds need more than 20 %",
    origin="common practice, no source",
    note="hard for wood-based layers behind the cladding; no temperature gate, so a cold wet "
    "winter fails it too",
    judge=_month,
)

MC_24H = Criterion(
    key="mc_24h",
    short="MC 24 h",
    quantity="24-h mean moisture content by mass",
    limit=0.28,
    percent=True,
    known_to=FIBRE_SATURATION,
    sense="below",
    source="fibre saturation is 28-30 %; decay does not begin below about 29 % (wood literature)",
    origin="common practice, no source",
    note="hard for wood-based layers behind the cladding, at any temperature",
    judge=_day,
)

DRYING = Criterion(
    key="drying",
    short="drying",
    quantity="days until wood stays below 20 % by mass",
    limit=365.0,
    unit="d",
    sense="below",
    question="closing in",
    source="a wall that was closed wet should meet its second winter dry",
    origin="common practice, no source",
    note="hard for wood-based layers behind the cladding; counted from the state at the start, "
    "within the first year",
    judge=_drying,
)
