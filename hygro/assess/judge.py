"""From a run to its verdict: computes the value of every criterion and compares it.

Owns which layers and surfaces a criterion looks at; limits are in `criteria`, formulas in the
rating modules.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import xarray as xr

from hygro.assess.balance import yearly_gain
from hygro.assess.condensation import face_condensate, face_condensation, loose_condensate
from hygro.assess.criteria import CRITERIA, Criterion
from hygro.assess.data import (
    HOURS_PER_DAY,
    HOURS_PER_YEAR,
    after,
    array,
    flags,
    stamp,
    text,
    times,
)
from hygro.assess.frost import freeze_thaw
from hygro.assess.growth import decay, decay_dose, judged_surfaces, mould, wood_layers
from hygro.assess.humidity import corrosion, surface_humidity
from hygro.assess.metal import MetalRating, metal_ratings
from hygro.assess.moisture import days_to_dry, moisture_content
from hygro.assess.mould import Model
from hygro.assess.places import Part, Sheathing, find_sheathing, layer_span, part_name
from hygro.assess.series import DAY, MONTH, Exceedance, Peak, peak, running_mean
from hygro.assess.verdict import Finding, Verdict
from hygro.constants import ZERO_CELSIUS
from hygro.errors import InputError, near_matches

THICK = 0.020
"""A wood-based layer thicker than this is judged by its outer and inner `SKIN`. [m]"""
SKIN = 0.010
"""Depth of wood judged at each face of a thick layer; the wettest 10 mm is common practice (from
memory). [m]"""
ABSORBENT_LIMIT = 1.0
"""Limit of condensate where the face takes up liquid (DIN 4108-3, from memory). [kg/m²]"""
WET = 0.20
"""Moisture content above which wood counts as wet, as in the criterion "mc_30d". [kg/kg]"""
ACCUMULATION_SHARE = 0.01
"""Yearly increase tolerated as a share of the water in the wall (our choice). [1]"""


@dataclass(frozen=True)
class _Case:
    """What every judge sees: the rated part of the run and the choices made."""

    ds: xr.Dataset
    sheathing: Sheathing
    skip_days: float
    model: Model
    decline: float | str | None
    stamps: np.ndarray
    metal: tuple[MetalRating, ...]


def verdict(
    ds: xr.Dataset,
    *,
    sheathing: str | None = None,
    criteria: Sequence[Criterion] = CRITERIA,
    skip_days: float = 0.0,
    mould_model: Model = "ojanen2010",
    decline: float | str | None = None,
) -> Verdict:
    """Judge a run by a table of criteria.

    Parameters
    ----------
    ds : Dataset
        A result, fresh or reopened.
    sheathing : str, optional
        Layer to judge as sheathing; None chooses one and says why (`find_sheathing`).
    criteria : sequence of Criterion
        `CRITERIA`, or a changed copy (`with_changes`).
    skip_days : float
        Days at the start to leave out (drying of construction moisture); the mould index and
        decay then start from 0 at that day. The findings say so. [d]
    mould_model, decline
        See `mould_index`. The default form grows at least as fast as that of addendum e.

    Raises
    ------
    InputError
        For an unknown layer or criterion, or a Dataset that is not a complete result.
    """
    rated = after(ds, skip_days)
    layer = find_sheathing(ds, sheathing)
    metal = metal_ratings(rated)
    case = _Case(rated, layer, skip_days, mould_model, decline, times(rated), metal)
    findings: list[Finding] = []
    for row in criteria:
        if row.key not in _JUDGES:
            raise InputError(f"criterion '{row.key}': unknown ({near_matches(row.key, _JUDGES)})")
        findings.extend(_JUDGES[row.key](case, row))
    ends = stamp(case.stamps[0]), stamp(case.stamps[-1])
    return Verdict(tuple(findings), layer.name, layer.reason, skip_days, *ends)


def _finding(
    case: _Case,
    row: Criterion,
    place: str,
    found: Peak,
    *,
    hard: bool | None = None,
    note: str = "",
) -> Finding:
    """Compare one value with its limit and put it into words."""
    hard = row.hard if hard is None else hard
    if not np.isfinite(found.value):
        reason = f"{place}: {row.quantity} not judged, {note or 'the run is too short'}"
        return Finding(row, place, None, row.limit, None, None, hard, None, reason)
    when = None if found.when is None else stamp(found.when)
    passed = bool(row.holds(found.value))
    date = f" ({'from' if row.unit == 'h' else 'at'} {when})" if when else ""
    reason = (
        f"{place}: {row.quantity} {row.worded(found.value)}{date}, limit {row.sense} "
        f"{row.worded(row.limit)}: {'kept' if passed else 'not kept'}"
    )
    extra = [note] if note else []
    if case.skip_days:
        extra.append(f"the first {case.skip_days:g} days are left out")
    reason = "; ".join([reason, *extra])
    margin = row.margin(found.value)
    return Finding(row, place, found.value, row.limit, margin, passed, hard, when, reason)


def _mould(case: _Case, row: Criterion) -> Iterator[Finding]:
    index = mould(case.ds, model=case.model, decline=case.decline)
    judged = judged_surfaces(case.ds)
    sheltered = [place.layer >= case.sheathing.index for place, _ in judged]
    if not any(sheltered):
        note = "no layer from the sheathing inward has a mould class"
        yield _finding(case, row, "the wall", Peak(float("nan"), None), note=note)
    for column, (place, kind) in enumerate(judged):
        found = peak(index.values[:, column], case.stamps)
        hard = row.hard and sheltered[column]
        yield _finding(case, row, place.name, found, hard=hard, note=f"class {kind}")


def _wood_parts(case: _Case) -> Iterator[tuple[str, Part | None, bool]]:
    """Wood-based layers with the parts to judge, and whether they lie sheathing inward."""
    names = text(case.ds, "layer_name")
    for index in wood_layers(case.ds):
        start, end = layer_span(case.ds, index)
        thin = end - start <= THICK
        parts: tuple[Part | None, ...] = (None,) if thin else (("outer", SKIN), ("inner", SKIN))
        for part in parts:
            yield names[index], part, index >= case.sheathing.index


def _content(window: int) -> Callable[[_Case, Criterion], Iterator[Finding]]:
    def judge(case: _Case, row: Criterion) -> Iterator[Finding]:
        for layer, part, inward in _wood_parts(case):
            mean = running_mean(moisture_content(case.ds, layer, part).values, window)
            place = part_name(layer, part)
            yield _finding(case, row, place, peak(mean, case.stamps), hard=row.hard and inward)

    return judge


def _decay(case: _Case, row: Criterion) -> Iterator[Finding]:
    names = text(case.ds, "layer_name")
    for index in wood_layers(case.ds):
        state = decay(case.ds, names[index])
        lost = float(state.mass_loss.values[-1])
        hard = row.hard and index >= case.sheathing.index
        found = peak(state.activation.values, case.stamps)
        note = f"loss of dry mass {100 * lost:.2g} %"
        yield _finding(case, row, names[index], found, hard=hard, note=note)


def _accumulation(case: _Case, row: Criterion) -> Iterator[Finding]:
    years = (len(case.stamps) - 1) // HOURS_PER_YEAR
    if years < 2:
        note = f"the run covers {years} whole year(s), two are needed"
        yield _finding(case, row, "the wall", Peak(float("nan"), None), hard=False, note=note)
        return
    first = _behind_cladding(case)
    gain, before = yearly_gain(case.ds, first)
    tolerated = max(row.limit, ACCUMULATION_SHARE * before)
    found = Peak(gain, case.stamps[years * HOURS_PER_YEAR])
    place = "the wall behind the cladding gap" if first else "the wall"
    note = "mean of the last 30 days against the same days a year before"
    yield _finding(case, _limited(row, tolerated), place, found, note=note)


def _behind_cladding(case: _Case) -> int:
    """First layer inside of the outermost gap, if that gap lies outside of the sheathing.

    What stands in front of a gap is wetted and dried by the weather of the day.
    """
    if "gap_name" not in case.ds.variables:
        return 0
    gaps = [str(name) for name in case.ds["gap_name"].values]
    for index, name in enumerate(text(case.ds, "interface_name")):
        if any(f" | {gap} | " in name for gap in gaps):
            return index if index <= case.sheathing.index else 0
    return 0


def _limited(row: Criterion, limit: float) -> Criterion:
    """The row with the limit that holds for this wall."""
    return Criterion(**{**row.__dict__, "limit": limit})


def _condensate(case: _Case, row: Criterion) -> Iterator[Finding]:
    index, layer = case.sheathing.index, case.sheathing.name
    wood = bool(flags(case.ds, "layer_wood_based")[index])
    absorbent = bool(flags(case.ds, "layer_absorbent")[index])
    limit = max(row.limit, ABSORBENT_LIMIT) if absorbent else row.limit
    found = peak(face_condensate(case.ds, layer, "inner").values, case.stamps)
    yield _finding(
        case, _limited(row, limit), f"{layer}, inner face", found, hard=row.hard and not wood
    )


def _surface_rule(
    window: Literal["month", "week", "day"],
) -> Callable[[_Case, Criterion], Iterator[Finding]]:
    def judge(case: _Case, row: Criterion) -> Iterator[Finding]:
        for face in ("outer", "inner"):
            rated = surface_humidity(case.ds, case.sheathing.name, face)
            note = "" if np.isfinite(getattr(rated, window).value) else "no window at 5-40 °C"
            yield _finding(case, row, rated.surface, getattr(rated, window), note=note)

    return judge


def _corrosion(case: _Case, row: Criterion) -> Iterator[Finding]:
    for face in ("outer", "inner"):
        rated = corrosion(case.ds, case.sheathing.name, face)
        note = f"{rated.above_80.hours} h above 80 %, {rated.above_95.hours} h above 95 % over 0 °C"
        yield _finding(case, row, rated.surface, rated.month, note=note)
    for item in case.metal:
        yield _finding(case, row, item.place, item.rated.month, note=_which(item))


def _which(item: MetalRating) -> str:
    return "shank as a fin" if item.estimate else "cold bound, parallel path"


def _per_year(case: _Case, hours: Exceedance) -> Peak:
    return Peak(hours.hours * HOURS_PER_YEAR / (len(case.stamps) - 1), hours.began)


def _corrosion_hours(case: _Case, row: Criterion) -> Iterator[Finding]:
    if len(case.stamps) <= HOURS_PER_YEAR:
        note = "the run is shorter than a year"
        yield _finding(case, row, case.sheathing.name, Peak(float("nan"), None), note=note)
        return
    for face in ("outer", "inner"):
        rated = corrosion(case.ds, case.sheathing.name, face)
        yield _finding(case, row, rated.surface, _per_year(case, rated.above_80))
    for item in case.metal:
        found = _per_year(case, item.rated.above_80)
        yield _finding(case, row, item.place, found, note=_which(item))


def _metal_dew_hours(case: _Case, row: Criterion) -> Iterator[Finding]:
    for item in case.metal:
        rated = item.rated
        note = (
            f"{_which(item)}, lowest {rated.lowest - ZERO_CELSIUS:.1f} °C; "
            f"{rated.below_cavity_dew_point.hours} h at the dew point of the air behind the next "
            f"layer, {rated.below_indoor_dew_point.hours} h at that of room air"
        )
        hours = rated.below_dew_point
        yield _finding(case, row, item.place, Peak(float(hours.hours), hours.began), note=note)


def _run_off(case: _Case, row: Criterion) -> Iterator[Finding]:
    names = text(case.ds, "interface_name")
    # Interface k stands between layers k-1 and k; the cladding's own faces are left out.
    inward = range(2, len(names) - 1)
    peaks = {k: peak(loose_condensate(case.ds, names[k]).values, case.stamps) for k in inward}
    if peaks:
        worst = max(peaks, key=lambda k: peaks[k].value)
        yield _finding(case, row, names[worst], peaks[worst])


def _drying(case: _Case, row: Criterion) -> Iterator[Finding]:
    names, hours = text(case.ds, "layer_name"), len(case.stamps) - 1
    for index in wood_layers(case.ds):
        if index < case.sheathing.index:
            continue
        days = days_to_dry(case.ds, names[index], WET)
        note = ""
        if days is None:
            whole = hours / HOURS_PER_DAY
            note = f"still wet at the end, after {whole:.0f} days"
            days = whole if whole >= row.limit else float("nan")
        yield _finding(case, row, names[index], Peak(days, None), note=note)


def _condensation(
    kind: Literal["condensing", "below_indoor_dew_point"],
) -> Callable[[_Case, Criterion], Iterator[Finding]]:
    def judge(case: _Case, row: Criterion) -> Iterator[Finding]:
        layer = case.sheathing.name
        hours = getattr(face_condensation(case.ds, layer, "inner"), kind)
        note = f"longest run {hours.longest} h" if hours.longest else ""
        found = Peak(float(hours.hours), hours.began)
        yield _finding(case, row, f"{layer}, inner face", found, note=note)

    return judge


def _dose(case: _Case, row: Criterion) -> Iterator[Finding]:
    index, layer = case.sheathing.index, case.sheathing.name
    if index in wood_layers(case.ds):
        dose = decay_dose(case.ds, layer)
        total = float(dose.values[-1]) if dose.size else float("nan")
        yield _finding(case, row, layer, Peak(total, None))


def _frost(case: _Case, row: Criterion) -> Iterator[Finding]:
    names = text(case.ds, "layer_name")
    absorbent, wood = flags(case.ds, "layer_absorbent"), flags(case.ds, "layer_wood_based")
    full = array(case.ds, "layer_w_max")
    outward = np.arange(len(names)) <= case.sheathing.index
    for index in np.flatnonzero((absorbent == 1) & (wood == 0) & (full > 0.0) & outward):
        rated = freeze_thaw(case.ds, names[index])
        share = f"{100 * rated.highest_saturation:.0f} % of the pores filled"
        note = f"{rated.all_cycles} cycles in all, at most {share} in frost"
        yield _finding(case, row, rated.place, Peak(float(rated.cycles), None), note=note)


_JUDGES: dict[str, Callable[[_Case, Criterion], Iterator[Finding]]] = {
    "mould_index": _mould,
    "mc_30d": _content(MONTH),
    "mc_24h": _content(DAY),
    "decay": _decay,
    "accumulation": _accumulation,
    "condensate": _condensate,
    "rh_30d": _surface_rule("month"),
    "rh_7d": _surface_rule("week"),
    "rh_24h": _surface_rule("day"),
    "corrosion": _corrosion,
    "corrosion_hours": _corrosion_hours,
    "metal_dew_hours": _metal_dew_hours,
    "run_off": _run_off,
    "drying": _drying,
    "condensation_hours": _condensation("condensing"),
    "dew_point_hours": _condensation("below_indoor_dew_point"),
    "dose": _dose,
    "frost": _frost,
}
