"""Relative humidity at the faces of the sheathing: the rules of ASHRAE 160-2009."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

import numpy as np

from hygro.assess.criteria.criterion import Criterion, Finding
from hygro.assess.criteria.rated import Rated
from hygro.assess.humidity import surface_humidity


def _rule(
    rated: Rated, row: Criterion, window: Literal["month", "week", "day"]
) -> Iterator[Finding]:
    for face in ("outer", "inner"):
        found = surface_humidity(rated.hourly, rated.sheathing.name, face)
        peak = getattr(found, window)
        note = "" if np.isfinite(peak.value) else "no window at 5-40 °C"
        yield row.finding(found.surface, *peak, note=note)


def _month(rated: Rated, row: Criterion) -> Iterator[Finding]:
    return _rule(rated, row, "month")


def _week(rated: Rated, row: Criterion) -> Iterator[Finding]:
    return _rule(rated, row, "week")


def _day(rated: Rated, row: Criterion) -> Iterator[Finding]:
    return _rule(rated, row, "day")


RH_30D = Criterion(
    key="rh_30d",
    quantity="30-day mean relative humidity (30-day mean temperature 5-40 °C)",
    limit=0.80,
    percent=True,
    sense="below",
    hard=False,
    source="ANSI/ASHRAE 160-2009",
    origin="published",
    note="superseded by the mould index because walls known to work failed it",
    judge=_month,
)

RH_7D = Criterion(
    key="rh_7d",
    quantity="7-day mean relative humidity (mean temperature 5-40 °C)",
    limit=0.98,
    percent=True,
    sense="below",
    hard=False,
    source="ANSI/ASHRAE 160-2009",
    origin="from memory",
    note="superseded together with the 30-day rule",
    judge=_week,
)

RH_24H = Criterion(
    key="rh_24h",
    quantity="24-h mean relative humidity (mean temperature 5-40 °C)",
    limit=1.0,
    percent=True,
    sense="below",
    hard=False,
    source="ANSI/ASHRAE 160-2009",
    origin="from memory",
    note="superseded together with the 30-day rule",
    judge=_day,
)
