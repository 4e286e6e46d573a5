"""From a run to its verdict: asks every criterion for its findings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import xarray as xr

from hygro.assess.choose import check_keys, name_of
from hygro.assess.criteria import CRITERIA, Criterion, Finding, Judged, Rated
from hygro.assess.data import after, stamp
from hygro.assess.mould import Model
from hygro.assess.places import find_sheathing
from hygro.assess.verdict import Verdict
from hygro.errors import InputError

NO_METAL = (
    "nothing hard looks at metal: steel is not known to touch the sheathing, and the coating of "
    "fasteners is not known"
)


def verdict(
    ds: xr.Dataset,
    *,
    sheathing: str | None = None,
    criteria: Sequence[Judged] = CRITERIA,
    skip_days: float = 0.0,
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
    criteria : sequence of Criterion or function
        `CRITERIA`, a changed copy (`with_changes`), or your own: `Criterion` objects, or functions
        that take the rated part of the record and yield findings (`Criterion.finding`).
    skip_days : float
        Days at the start to leave out (drying of construction moisture); the mould index and
        decay then start from 0 at that day. The findings say so. [d]
    mould_model, decline
        See `mould_index`. The default form grows at least as fast as that of addendum e.

    Raises
    ------
    InputError
        For an unknown layer, a Dataset that is not a complete result, or a criterion that raises
        or yields no findings; its name stands in the message.
    """
    check_keys(criteria)
    layer = find_sheathing(ds, sheathing)
    rated = Rated(after(ds, skip_days), layer, mould_model, decline)
    findings = [finding for item in criteria for finding in _findings(item, rated)]
    said = tuple(_skipped(finding, skip_days) for finding in findings)
    ends = stamp(rated.times[0]), stamp(rated.times[-1])
    return Verdict(said, layer.name, layer.reason, skip_days, *ends, notes=_notes(said))


def _notes(findings: Sequence[Finding]) -> tuple[str, ...]:
    metal = [f for f in findings if f.criterion.key == "corrosion"]
    if metal and not any(f.hard for f in metal):
        return (NO_METAL,)
    return ()


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
        found = item(rated.record)
    else:
        assert item.judge is not None  # checked before
        found = item.judge(rated, item)
    if not isinstance(found, Iterable):
        raise InputError(f"returns a {type(found).__name__}: must yield findings")
    return found


def _skipped(finding: Finding, days: float) -> Finding:
    if not days or finding.passed is None:
        return finding
    return replace(finding, reason=f"{finding.reason}; the first {days:g} days are left out")
