"""From a run to its verdict: asks every criterion for its findings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import xarray as xr

from hygro.assess.choose import as_rows, check_keys, name_of, question_of
from hygro.assess.criteria import CRITERIA, Criterion, Finding, Judged, Rated
from hygro.assess.criteria.sets import rule_set
from hygro.assess.hourly import Record
from hygro.assess.mould import Model, check_mould
from hygro.assess.places import find_sheathing
from hygro.assess.questions import windows
from hygro.assess.select import stamp
from hygro.assess.verdict import Verdict
from hygro.errors import InputError

NO_METAL = (
    "metal is not judged: steel is not known to touch the sheathing, and no attachment "
    "states its corrosion_class"
)


def verdict(
    ds: Record,
    *,
    sheathing: str | None = None,
    criteria: Sequence[Judged] | Judged | str = CRITERIA,
    skip_days: float | None = None,
    mould_model: Model = "ojanen2010",
    decline: float | str | None = None,
) -> Verdict:
    """Judge a run by some criteria.

    Parameters
    ----------
    ds : Dataset
        A result, fresh or reopened.
    sheathing : str, optional
        Layer to judge as sheathing; None chooses one and says why (`find_sheathing`).
    criteria : sequence of Criterion or function, or one of them
        `CRITERIA`, a changed copy (`with_changes`), or your own: `Criterion` objects, or functions
        that take the rated part of the record and yield findings (`Criterion.finding`). A name
        takes the criteria of a rule set: "default", "ashrae-160", "en-15026", "iso-13788".
    skip_days : float, optional
        Days at the start to leave out of service (drying of construction moisture); the mould
        index and decay then start from 0 at that day, and go through service again and again until
        ten years are full. None: a year in a run of two or more, else none. See
        `hygro.assess.questions`. [d]
    mould_model, decline
        See `mould_index`. The default form grows at least as fast as that of addendum e.

    Raises
    ------
    InputError
        For an unknown layer or model, criteria, days or a decline that are none, a Dataset that is
        not a complete result, or a criterion that raises or yields no findings; its name stands in
        the message.
    """
    rows, named = _rows(criteria)
    check_mould(mould_model, decline)
    check_keys(rows)
    layer = find_sheathing(ds, sheathing)
    part = windows(ds, skip_days)
    rated = {
        question: Rated(record, ds, layer, part.apart, mould_model, decline, way)
        for question, record, way in (
            ("service", part.service, part.way),
            ("closing in", part.closing, None),
        )
        if record is not None
    }
    asked = [(item, rated.get(question_of(item))) for item in rows]
    found = [f for item, view in asked if view is not None for f in _findings(item, view)]
    said = tuple(_skipped(finding, skip_days) for finding in found)
    times = next(iter(rated.values())).times
    ends = stamp(times[0]), stamp(times[-1])
    begin = stamp(rated["closing in"].times[0]) if "closing in" in rated else None
    notes = (*named, part.note, *_notes(said))
    return Verdict(said, layer.name, layer.reason, part.skip_days, *ends, notes, begin, _keys(rows))


def _rows(criteria: Sequence[Judged] | Judged | str) -> tuple[Sequence[Judged], tuple[str, ...]]:
    """Criteria, and what is said of the rules where they were named."""
    rows = as_rows(criteria)
    if not isinstance(rows, str):
        return rows, ()
    rules = rule_set(rows)
    return rules.criteria, (f"rules '{rules.name}': {rules.note}",)


def _keys(rows: Sequence[Judged]) -> tuple[str, ...] | None:
    keys = tuple(row.key for row in rows if isinstance(row, Criterion))
    return keys if len(keys) == len(rows) else None


def merged(service: Verdict, closing: Verdict) -> Verdict:
    """The verdict of a wall whose two questions were answered by two records."""
    notes = tuple(dict.fromkeys((*service.notes, *closing.notes)))
    findings = (*service.findings, *closing.findings)
    return replace(service, findings=findings, notes=notes, closing_start=closing.closing_start)


def _notes(findings: Sequence[Finding]) -> tuple[str, ...]:
    metal = [f for f in findings if f.criterion.key == "corrosion"]
    looks = (f for f in findings if f.criterion.key in ("corrosion", "corrosion_class"))
    return (NO_METAL,) if metal and not any(f.hard for f in looks) else ()


def _findings(item: Judged, rated: Rated) -> tuple[Finding, ...]:
    where = f"criterion '{name_of(item)}'"
    try:
        found = tuple(_ask(item, rated))
    except Exception as error:
        kind = "" if isinstance(error, InputError) else f"{type(error).__name__}: "
        raise InputError(f"{where}: {kind}{error}") from error
    wrong = next((f for f in found if not isinstance(f, Finding)), None)
    if wrong is not None:
        raise InputError(
            f"{where}: yields a {type(wrong).__name__}: must be what Criterion.finding returns"
        )
    return found


def _ask(item: Judged, rated: Rated) -> Iterable[Finding]:
    if not isinstance(item, Criterion):
        assert isinstance(rated.record, xr.Dataset)  # a user's function is given records
        found = item(rated.record)
    else:
        assert item.judge is not None  # checked before
        found = item.judge(rated, item)
    if not isinstance(found, Iterable):
        raise InputError(f"returns a {type(found).__name__}: must yield findings")
    return found


def _skipped(finding: Finding, days: float | None) -> Finding:
    """Days that the user left out stand in every finding that they shorten."""
    if not days or finding.passed is None or finding.criterion.question == "closing in":
        return finding
    return replace(finding, reason=f"{finding.reason}; the first {days:g} days are left out")
