"""From records to the walls of a page: which belong together, and their verdicts.

Owns the grouping of files by wall, leaks and question; judges by the criteria of the stored case.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

import numpy as np
import xarray as xr

from hygro.assess.choose import as_rows
from hygro.assess.criteria import Judged
from hygro.assess.judge import merged, verdict
from hygro.assess.select import HOURS_PER_YEAR, array, times
from hygro.assess.summary import summary
from hygro.assess.verdict import Verdict
from hygro.case.criteria import judge_stored, stored_judging
from hygro.errors import InputError, RecordError
from hygro.page.evidence import Evidence, evidence
from hygro.record.files import load
from hygro.record.provenance import stored_wall
from hygro.room.time import IndoorClimate, Outdoor
from hygro.study.compare import Compared, paired
from hygro.study.hand import hand_numbers
from hygro.study.plan import ENDINGS, PlannedRun
from hygro.study.runs import Outcome, quality
from hygro.study.trace import Trace, mould_face, trace
from hygro.types import Data, Plain

CLOSING, SERVICE = "closing in", "service"
Source = Path | xr.Dataset
"""A record, or the file it is in."""
Criteria = Sequence[Judged] | Judged | str
"""What walls may be judged by: see `hygro.assess.verdict`."""


class Key(NamedTuple):
    """Which run of which wall a record is of."""

    wall: str
    scenario: str


@dataclass(frozen=True)
class Gathered:
    """The walls of a page, best first, and what is shown of the scenario that decides each.

    Attributes
    ----------
    evidence : dict
        By wall and question: "service", or "closing in" where that has a record of its own.
    """

    walls: tuple[Compared, ...]
    evidence: dict[str, dict[str, Evidence]]


class RecordedRoom:
    """The indoor air of a record; of the record it keeps no more."""

    def __init__(self, ds: xr.Dataset) -> None:
        names = ("indoor_temperature", "indoor_vapour_pressure")
        self._air = tuple(array(ds, name)[1:].copy() for name in names)

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Return what the record holds for all its hours."""
        T, p = self._air
        if len(outdoor.time) != len(T):
            raise InputError(f"indoor air of a record: {len(T)} hours, asked {len(outdoor.time)}")
        return IndoorClimate(T, p, [])


def gather(sources: Iterable[Source], criteria: Criteria | None = None) -> Gathered:
    """Put records together by wall, judge them and thin them.

    Parameters
    ----------
    sources : iterable of path or Dataset
        Records, or their files, in any order; files are read one by one.
    criteria : sequence of Criterion or function, or the name of a rule set, optional
        Left out: those of the case that each record holds, which runs no code of its own.

    Raises
    ------
    RecordError
        No record, a file that is none, or two of one run.
    InputError
        A record shorter than a year, or that cannot be judged.
    """
    rows = None if criteria is None else as_rows(criteria)
    found: dict[Key, dict[str, _Judged]] = {}
    for source in sources:
        ds = _read(source)
        label = "record" if isinstance(source, xr.Dataset) else str(source)
        _check(ds, label)
        key = Key(str(ds.attrs["title"]), _scenario(ds))
        question = str(ds.attrs.get("question", SERVICE))
        mine = found.setdefault(key, {})
        if question in mine:
            raise RecordError(
                f"{label}: a second record of '{key.wall}', {key.scenario}, {question}; give each "
                "run once"
            )
        mine[question] = _judged(ds, source, rows)
    if not found:
        raise RecordError("report: no record given; name result files (.nc) or their folder")
    outcomes = [_outcome(parts) for _, parts in sorted(found.items(), key=_order)]
    walls = paired(outcomes)
    return Gathered(walls, {item.name: _shown(found, item) for item in walls})


def _shown(found: dict[Key, dict[str, _Judged]], item: Compared) -> dict[str, Evidence]:
    """Evidence of the scenario that decides."""
    parts = found[Key(item.name, item.deciding.run.scenario)]
    return {q: parts[q].evidence for q in (SERVICE, CLOSING) if q in parts}


def _order(entry: tuple[Key, Plain]) -> tuple[str, int]:
    return entry[0].wall, [*map(str, ENDINGS)].index(entry[0].scenario)


def _check(ds: xr.Dataset, label: str) -> None:
    for name in ("title", "wall", "assumptions"):
        if name not in ds.attrs:
            raise RecordError(
                f"{label}: attribute '{name}' is missing; arithmetic drops attributes: take the "
                "record as it was made or opened"
            )
    hours = len(times(ds)) - 1
    if hours < HOURS_PER_YEAR:
        raise InputError(f"{label}: {hours} hours: a report needs a year ({HOURS_PER_YEAR})")


def _scenario(ds: xr.Dataset) -> str:
    """Of the record; one that no study made is tight, or has the leaks of its wall."""
    told = ds.attrs.get("scenario")
    if told in ENDINGS:
        return str(told)
    wall = stored_wall(ds)
    rain = bool(wall.leaks.rain or wall.leaks.wetting)
    air = bool(wall.leaks.air or wall.air_flow)
    return {(False, False): "tight", (True, False): "rain", (False, True): "air"}.get(
        (rain, air), "both"
    )


class _Judged(NamedTuple):
    """What is kept of one record."""

    verdict: Verdict
    outcome: Outcome
    evidence: Evidence
    source: Source

    def traced(self, whole: Verdict) -> Trace:
        """Daily series at the face that decides a run of two records; it is seldom another."""
        if mould_face(whole) in (None, self.outcome.trace.face):
            return self.outcome.trace
        ds = _read(self.source)
        return trace(ds, whole, mould_model=stored_judging(ds).mould_model)


def _read(source: Source) -> xr.Dataset:
    return source if isinstance(source, xr.Dataset) else load(source)


def _judged(ds: xr.Dataset, source: Source, criteria: Criteria | None) -> _Judged:
    wall, how = stored_wall(ds), stored_judging(ds)
    options: Data = {"skip_days": how.skip_days, "mould_model": how.mould_model}
    if criteria is None:
        found = judge_stored(ds)
    else:
        found = verdict(ds, sheathing=wall.sheathing, criteria=criteria, **options)
    room = RecordedRoom(ds)
    run = PlannedRun(
        name=wall.name,
        wall=wall,
        room=room,
        scenario=_scenario(ds),  # type: ignore[arg-type]
        file=source if isinstance(source, Path) else None,
        room_name=str(ds.attrs.get("room_name", "")),
        place=str(ds.attrs.get("climate_place") or ds.attrs.get("climate_source", "")),
    )
    outcome = Outcome(
        run=run,
        verdict=found,
        numbers=summary(ds, sheathing=found.sheathing, **options),
        hand=hand_numbers(wall, recorded_climate(ds), room, found.sheathing),
        trace=trace(ds, found, mould_model=how.mould_model),
        quality=quality(ds),
    )
    return _Judged(found, outcome, evidence(ds, outcome.trace), source)


def recorded_climate(ds: xr.Dataset) -> xr.Dataset:
    """The outdoor air of a record as weather: as much as hand numbers ask for."""
    data = {
        name: ("time", np.asarray(array(ds, f"outdoor_{name}")[1:]))
        for name in ("temperature", "vapour_pressure")
    }
    return xr.Dataset(data, coords={"time": times(ds)[1:]})


def _outcome(parts: dict[str, _Judged]) -> Outcome:
    """One outcome of a run from its record of service and that of closing in."""
    service, closing = parts.get(SERVICE), parts.get(CLOSING)
    first = service or closing
    assert first is not None
    if service is None or closing is None:
        return first.outcome
    whole = merged(service.verdict, closing.verdict)
    return replace(service.outcome, verdict=whole, trace=service.traced(whole))
