"""A case looked through without a run. Owns the rules on climate, settings and criteria."""

from __future__ import annotations

from typing import NamedTuple

import xarray as xr

import weather
from hygro.assess.choose import name_of
from hygro.assess.criteria import CRITERIA, Criterion
from hygro.case.model import Case
from hygro.study.hand import HandNumbers, hand_numbers, judged_layer
from hygro.study.remarks import Remark, Sheet, Situation, Told, remarks, sheets

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


class Review(NamedTuple):
    """What can be said of a case without running it."""

    remarks: tuple[Remark, ...]
    hands: dict[str, HandNumbers]
    sheets: tuple[Sheet, ...]
    zone: str


def review(case: Case, climate: xr.Dataset) -> Review:
    """Look through a case and its climate, as `prepare` returns them.

    Raises
    ------
    InputError
        A wall without a layer to judge, or a room that gives no air (both stop a run too).
    """
    summary = weather.summarise(climate)
    zone = f"{summary.thermal_zone}{summary.moisture_regime or ''}"
    found = [Remark(level, "", text) for level, text in _of_case(case, climate)]
    hands, shown = {}, []
    for item in case.walls:
        hand = hand_numbers(item.wall, climate, item.room, judged_layer(item.wall))
        hours = climate.sizes["time"]
        there = Situation(item.wall, item.room, hand, zone, summary.driving_rain, hours)
        hands[item.name] = hand
        shown += sheets(there)
        found += remarks(there)
    return Review(tuple(found), hands, tuple(shown), zone)


def _of_case(case: Case, climate: xr.Dataset) -> Told:
    yield from _years(case, climate)
    if not weather.has_rain(climate):
        yield "unusual", "the weather has no credible rain: nothing wets these walls from outside"
    if case.settings.accuracy == "draft" or case.settings.tolerance > 1.0:
        text = (
            f"coarse run: accuracy {case.settings.accuracy}, tolerance "
            f"{case.settings.tolerance:g}; fine for a first look"
        )
        yield "unusual", text
    if not case.settings.freezing:
        yield "unusual", "water does not freeze in this run"
    if case.skip_days:
        yield "note", f"the first {case.skip_days:g} days are left out of service"
    hours = climate.sizes["time"]
    if 24.0 * (case.skip_days or 0.0) > hours - 24 * 30:
        yield "wrong", f"skip_days = {case.skip_days:g}: too little of {hours} hours is left"
    yield from _criteria(case)


def _years(case: Case, climate: xr.Dataset) -> Told:
    kind = str(climate.attrs.get("kind", ""))
    if kind == "typical year":
        yield "note", "a typical, average year: no year of extreme moisture load is looked at"
    if case.repeat == "until periodic":
        return
    if case.repeat == "once" and climate.sizes["time"] < 2 * 8760:
        text = (
            "one year, run once: service and closing in are judged together, and whether water "
            "accumulates from year to year is not judged"
        )
        yield "unusual", text
    start = (climate["time"].values[0].astype("datetime64[M]").astype(int)) % 12
    north = float(climate.attrs.get("latitude", 1.0)) >= 0.0
    autumn = (8, 9, 10) if north else (2, 3, 4)
    if start not in autumn:
        text = (
            f"the run starts in {MONTHS[start]}; a start in autumn shows the first winter whole "
            "(common practice, no source)"
        )
        yield "note", text


def _criteria(case: Case) -> Told:
    if isinstance(case.criteria, str):
        yield "note", f"judged by the rule set {case.criteria}"
        return
    default = {row.key: row for row in CRITERIA}
    for row in case.criteria:
        if not isinstance(row, Criterion) or row.key not in default:
            yield "note", f"criterion {name_of(row)}: your own"
        elif row != default[row.key]:
            old = default[row.key]
            weight = "" if row.hard is old.hard else f", {'decides' if row.hard else 'advisory'}"
            text = (
                f"criterion {row.key}: limit {row.worded(row.limit)} instead of "
                f"{old.worded(old.limit)}{weight}"
            )
            yield "note", text
