"""The runs of a plan: how they are performed, and what is kept of each.

A run is a pure function of wall, climate, room and settings, so a plan may run in any order and in
any process.
"""

from __future__ import annotations

import json
import os
import pickle
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import xarray as xr

from hygro.assess.choose import name_of
from hygro.assess.criteria import CRITERIA, Judged
from hygro.assess.judge import merged, verdict
from hygro.assess.mould import Model
from hygro.assess.select import HOURS_PER_YEAR
from hygro.assess.summary import summary
from hygro.assess.verdict import Verdict
from hygro.errors import HygroError, InputError
from hygro.record import load, save, simulate, simulate_periodic, simulate_to_file
from hygro.solve.settings import Settings
from hygro.study.hand import HandNumbers, hand_numbers, judged_layer
from hygro.study.plan import PlannedRun
from hygro.study.processes import TaskProgress
from hygro.study.trace import Trace, trace
from hygro.types import Data

SERVICE_ROUNDS = 10
"""Rounds of one year of weather after which service is judged, periodic or not (our choice)."""


@dataclass(frozen=True)
class Judging:
    """How runs are judged: the parameters of `hygro.assess.verdict`."""

    criteria: tuple[Judged, ...] | str = CRITERIA
    skip_days: float | None = None
    mould_model: Model = "ojanen2010"


@dataclass(frozen=True)
class Outcome:
    """What is kept of a run: its verdict, numbers and daily traces, not its fields.

    Attributes
    ----------
    numbers : dict
        See `hygro.assess.SUMMARY`.
    quality : dict
        Closures and counts of the run, as the record states them.
    seconds : float
        Wall time of the run with its rating. [s]
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
    seconds: float
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


def perform(
    runs: Sequence[PlannedRun],
    climate: xr.Dataset,
    *,
    settings: Settings,
    judging: Judging,
    progress: TaskProgress | None = None,
    processes: int | None = None,
    threads: bool = False,
) -> tuple[Outcome | Failure, ...]:
    """Perform runs, several at a time, and return outcomes in their order.

    A run that cannot be done leaves a `Failure` and does not keep the others from being done.

    Parameters
    ----------
    runs : sequence of PlannedRun
        The plan.
    climate : Dataset
        Canonical weather for all of them.
    settings, judging : Settings, Judging
        For all of them.
    progress : callable, optional
        See `TaskProgress`.
    processes : int, optional
        1 runs in this process. None: one for each core, but not more than runs.
    threads : bool
        In threads of this process instead; at most one run may have a file.

    Raises
    ------
    InputError
        A criterion that cannot be handed to another process.
    """
    shared = _Shared(climate, settings, judging)
    count = min(processes or os.cpu_count() or 1, len(runs))
    if threads and len(runs) > 1:
        from hygro.study.processes import in_threads

        return in_threads(_attempt, shared, runs, progress=progress, count=count)
    if count < 2:
        return tuple(_attempt(shared, i, run, progress) for i, run in enumerate(runs))
    from hygro.study.processes import in_processes

    _check_portable(judging.criteria)
    return in_processes(_attempt, shared, runs, progress=progress, count=count)


def _check_portable(criteria: Sequence[Judged] | str) -> None:
    if isinstance(criteria, str):
        return  # the name of a rule set
    for item in criteria:
        try:
            pickle.dumps(item)
        except (pickle.PicklingError, AttributeError, TypeError) as error:
            raise InputError(
                f"criterion '{name_of(item)}': cannot be handed to another process ({error}); "
                "define it at the top of a module, or run in one process"
            ) from error


class _Shared(NamedTuple):
    """What all runs of a plan have in common."""

    climate: xr.Dataset
    settings: Settings
    judging: Judging


def _attempt(
    shared: _Shared, number: int, run: PlannedRun, progress: TaskProgress | None
) -> Outcome | Failure:
    try:
        return _outcome(shared, number, run, progress)
    except HygroError as error:
        if progress is not None:
            progress(number, 1.0, "")
        return Failure(run, str(error))


def _outcome(
    shared: _Shared, number: int, run: PlannedRun, progress: TaskProgress | None
) -> Outcome:
    resumed: list[str] = []
    lost: list[str] = []

    def tell(fraction: float, date: object) -> None:
        if progress is not None:
            progress(number, fraction, str(date)[:10])

    began = time.perf_counter()
    hand = hand_numbers(run.wall, shared.climate, run.room, judged_layer(run.wall))
    judging = shared.judging
    options: Data = {
        "sheathing": run.wall.sheathing,
        "skip_days": judging.skip_days,
        "mould_model": judging.mould_model,
    }
    start = _record(run, shared, tell, resumed, lost)
    found = verdict(start, criteria=judging.criteria, **options)
    ds = start
    if asks_for_service(run, shared.climate):
        ds = _service(run, shared, tell)
        found = merged(verdict(ds, criteria=judging.criteria, **options), found)
    outcome = Outcome(
        run=run,
        verdict=found,
        numbers=summary(ds, **options),
        hand=hand,
        trace=trace(ds, found.sheathing, mould_model=judging.mould_model),
        quality=quality(ds),
        seconds=time.perf_counter() - began,
        resumed=resumed[0] if resumed else None,
        recomputed=tuple(lost),
    )
    tell(1.0, "")
    return outcome


def asks_for_service(run: PlannedRun, climate: xr.Dataset) -> bool:
    """Whether service is judged by a periodic record beside that from the start."""
    return run.repeat == "as needed" and climate.sizes["time"] == HOURS_PER_YEAR


def _record(
    run: PlannedRun,
    shared: _Shared,
    progress: Callable[[float, np.datetime64], None],
    resumed: list[str],
    lost: list[str],
) -> xr.Dataset:
    """Run the wall, by way of a file where it shall be resumable, and save it where it has one.

    `resumed` and `lost` take the dates of `simulate_to_file`.
    """
    given = run.wall, shared.climate, run.room
    provenance = _provenance(run)
    if asks_for_service(run, shared.climate):
        provenance["question"] = "closing in"
    more: Data = {
        "settings": shared.settings, "progress": progress, "provenance": provenance,
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
    ds = run_once(*given, **more)
    if run.file is not None:
        save(ds, run.file)
    return ds


def _service(
    run: PlannedRun, shared: _Shared, progress: Callable[[float, np.datetime64], None]
) -> xr.Dataset:
    """The year of service of a wall, without one-off wettings, which belong to closing in."""
    leaks = replace(run.wall.leaks, wetting=())
    ds = simulate_periodic(
        replace(run.wall, leaks=leaks),
        shared.climate,
        run.room,
        rounds=SERVICE_ROUNDS,
        settings=shared.settings,
        provenance=_provenance(run),
        progress=progress,
    )
    if run.service_file is not None:
        save(ds, run.service_file)
    return ds


def _provenance(run: PlannedRun) -> dict[str, object]:
    return {
        **run.provenance,
        "leaks": "on" if run.leaks else "off",
        "scenario": run.scenario,
        "room_name": run.room_name,
    }


def quality(ds: xr.Dataset) -> dict[str, object]:
    """Return the closures, step counts and assumptions that a record states."""
    numbers = ("closure_energy", "closure_moisture", "steps", "steps_rejected", "stage_retries")
    found: dict[str, object] = {key: _python(ds.attrs[key]) for key in numbers}
    if "periodic_rounds" in ds.attrs:
        found |= {key: _python(ds.attrs[key]) for key in ("periodic_rounds", "periodic_drift")}
    return {**found, "assumptions": json.loads(ds.attrs["assumptions"])}


def _python(value: object) -> object:
    return value.item() if isinstance(value, np.generic) else value
