"""The runs of a plan: how they are performed, and what is kept of each.

A run is a pure function of wall, climate, room and settings, so a plan may run in any order and in
any process.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

import numpy as np
import xarray as xr

from hygro.assess.choose import only_shipped
from hygro.assess.criteria import CRITERIA, Judged
from hygro.assess.hourly import Record, hourly
from hygro.assess.judge import merged, verdict
from hygro.assess.mould import Model, check_mould
from hygro.assess.questions import check_days
from hygro.assess.select import HOURS_PER_YEAR
from hygro.assess.summary import summary
from hygro.assess.verdict import Verdict
from hygro.errors import HygroError, must_be
from hygro.record import load, save, simulate, simulate_periodic, simulate_to_file
from hygro.solve.settings import Settings
from hygro.study.hand import HandNumbers, hand_numbers, judged_layer
from hygro.study.plan import PlannedRun
from hygro.study.trace import Trace, trace
from hygro.types import Data
from hygro.wall.wall import Wall

SERVICE_ROUNDS = 10
"""Rounds of one year of weather after which service is judged, periodic or not (our choice)."""


@dataclass(frozen=True)
class Judging:
    """How runs are judged: the parameters of `hygro.assess.verdict`."""

    criteria: tuple[Judged, ...] | str = CRITERIA
    skip_days: float | None = None
    mould_model: Model = "ojanen2010"

    def __post_init__(self) -> None:
        """Refuse before the first run what would fail each."""
        check_days(self.skip_days)
        check_mould(self.mould_model)


def judging_of(given: Judging | None) -> Judging:
    """Return how runs are judged, by default where nothing is given; raises `InputError`."""
    must_be(given, (Judging, type(None)), "judging", "hygro.study.runs.Judging")
    return Judging() if given is None else given


@dataclass(frozen=True)
class Outcome:
    """What is kept of a run: its verdict, numbers and daily traces, not its fields.

    Attributes
    ----------
    numbers : dict
        See `hygro.assess.SUMMARY`.
    quality : dict
        Closures and counts of the run, as the record states them.
    resumed : str or None
        Date where an interrupted run was taken up.
    recomputed : tuple of str
        First dates of kept years that could not be read and were computed again.
    """

    run: PlannedRun
    verdict: Verdict
    numbers: dict[str, object]
    hand: HandNumbers
    trace: Trace
    quality: dict[str, object]
    resumed: str | None = None
    recomputed: tuple[str, ...] = ()

    @property
    def years(self) -> float:
        """Length of the record. [a]"""
        return len(self.trace.day) / 365.0

    @property
    def margin(self) -> float:
        """Least margin of the hard criteria; infinite where none could be judged. [1]"""
        reserve = self.verdict.reserve
        return np.inf if reserve is None else reserve


class Failure(NamedTuple):
    """A run that could not be done, and why."""

    run: PlannedRun
    error: str


class Shared(NamedTuple):
    """What all runs of a plan have in common."""

    climate: xr.Dataset
    settings: Settings
    judging: Judging


Tell = Callable[[float, np.datetime64], None]
"""Called with the fraction of a run that is done and the date reached."""


def perform_one(run: PlannedRun, shared: Shared, tell: Tell) -> Outcome | Failure:
    """Perform a run by itself, taken up where it stopped if it is resumable."""
    try:
        return _outcome(run, shared, tell)
    except HygroError as error:
        return Failure(run, str(error))


def _outcome(run: PlannedRun, shared: Shared, tell: Tell) -> Outcome:
    resumed: list[str] = []
    lost: list[str] = []
    hand = hand_numbers(run.wall, shared.climate, run.room, judged_layer(run.wall))
    ds, closing = _record(run, shared, tell, resumed, lost), None
    if asks_for_service(run, shared.climate.sizes["time"]):
        closing = judged(readable(ds, shared.judging), run, shared.judging)
        ds = _service(run, shared, tell)
    return replace(
        rated(readable(ds, shared.judging), run, shared.judging, hand, closing),
        resumed=resumed[0] if resumed else None,
        recomputed=tuple(lost),
    )


class Rating(NamedTuple):
    """What a run says of itself, without its fields; see `Outcome`."""

    verdict: Verdict
    numbers: dict[str, object]
    quality: dict[str, object]


def readable(ds: xr.Dataset, judging: Judging) -> Record:
    """Return a record as its ratings read it: plain arrays where no user's criterion judges."""
    return hourly(ds) if only_shipped(judging.criteria) else ds


def rating(ds: Record, run: PlannedRun, judging: Judging, closing: Verdict | None = None) -> Rating:
    """Rate a run.

    Parameters
    ----------
    ds : Dataset or Hourly
        Its record; of the two that it may have that of service.
    closing : Verdict, optional
        On the other.
    """
    found = judged(ds, run, judging)
    told = found if closing is None else merged(found, closing)
    return Rating(told, summary(ds, **_options(run, judging)), quality(ds))


def judged(ds: Record, run: PlannedRun, judging: Judging) -> Verdict:
    """Return the verdict on a record of a run."""
    return verdict(ds, criteria=judging.criteria, **_options(run, judging))


def rated(
    ds: Record,
    run: PlannedRun,
    judging: Judging,
    hand: HandNumbers,
    closing: Verdict | None = None,
) -> Outcome:
    """Return what is kept of a run; `ds` and `closing` as in `rating`."""
    found = rating(ds, run, judging, closing)
    return Outcome(
        run=run,
        hand=hand,
        trace=trace(ds, found.verdict, mould_model=judging.mould_model),
        **found._asdict(),
    )


def _options(run: PlannedRun, judging: Judging) -> Data:
    return {
        "sheathing": run.wall.sheathing,
        "skip_days": judging.skip_days,
        "mould_model": judging.mould_model,
    }


def asks_for_service(run: PlannedRun, hours: int) -> bool:
    """Whether service is judged by a periodic record beside that from the start."""
    return run.repeat == "as needed" and hours == HOURS_PER_YEAR


def _record(
    run: PlannedRun,
    shared: Shared,
    progress: Tell,
    resumed: list[str],
    lost: list[str],
) -> xr.Dataset:
    """Run the wall, by way of a file where it shall be resumable, and save it where it has one.

    `resumed` and `lost` take the dates of `simulate_to_file`.
    """
    given = run.wall, shared.climate, run.room
    question = "closing in" if asks_for_service(run, shared.climate.sizes["time"]) else None
    more: Data = {
        "settings": shared.settings, "progress": progress, "provenance": provenance(run, question),
    }  # fmt: skip
    periodic = run.repeat == "until periodic"
    if run.file is not None and run.resumable and not periodic:
        simulate_to_file(
            *given,
            file=run.file,
            resumed=lambda date: resumed.append(str(date)[:10]),
            unreadable=lambda date: lost.append(str(date)[:10]),
            **more,
        )
        return load(run.file)
    run_once = simulate_periodic if periodic else simulate
    return saved(run_once(*given, **more), run.file)


def _service(run: PlannedRun, shared: Shared, progress: Tell) -> xr.Dataset:
    """The year of service of a wall."""
    ds = simulate_periodic(
        service_wall(run.wall),
        shared.climate,
        run.room,
        rounds=SERVICE_ROUNDS,
        settings=shared.settings,
        provenance=provenance(run),
        progress=progress,
    )
    return saved(ds, run.service_file)


def saved(ds: xr.Dataset, file: Path | None) -> xr.Dataset:
    """Return a record, saved where it has a file."""
    if file is not None:
        save(ds, file)
    return ds


def service_wall(wall: Wall) -> Wall:
    """Return a wall without one-off wettings, which belong to closing in."""
    return replace(wall, leaks=replace(wall.leaks, wetting=()))


def provenance(run: PlannedRun, question: str | None = None) -> dict[str, object]:
    """Return what a record says of its run; `question` where it answers one of two."""
    return {
        **run.provenance,
        "leaks": "on" if run.leaks else "off",
        "scenario": run.scenario,
        "room_name": run.room_name,
        **({} if question is None else {"question": question}),
    }


def quality(ds: Record) -> dict[str, object]:
    """Return the closures, step counts and assumptions that a record states."""
    numbers = ("closure_energy", "closure_moisture", "steps", "steps_rejected", "stage_retries")
    found: dict[str, object] = {key: _python(ds.attrs[key]) for key in numbers}
    if "periodic_rounds" in ds.attrs:
        found |= {key: _python(ds.attrs[key]) for key in ("periodic_rounds", "periodic_drift")}
    return {**found, "assumptions": json.loads(ds.attrs["assumptions"])}


def _python(value: object) -> object:
    return value.item() if isinstance(value, np.generic) else value
