"""How the runs of a plan are performed, and what is kept of each.

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
from typing import Any, NamedTuple

import numpy as np
import xarray as xr

from hygro.assess.choose import name_of
from hygro.assess.criteria import CRITERIA, Judged
from hygro.assess.data import HOURS_PER_YEAR
from hygro.assess.digest import summary
from hygro.assess.judge import merged, verdict
from hygro.assess.verdict import Verdict
from hygro.errors import HygroError, InputError
from hygro.record import load, save, simulate, simulate_periodic, simulate_to_file
from hygro.record.provenance import climate_attributes
from hygro.solve.settings import Settings
from hygro.study.hand import HandNumbers, hand_numbers
from hygro.study.plan import Run
from hygro.study.trace import Trace, trace
from hygro.wall.loads import build_loads
from weather.errors import WeatherError

Progress = Callable[[int, float, str], None]
"""Called with the number of the run, the fraction done and the date reached."""


SERVICE_ROUNDS = 10
"""Rounds of one year of weather after which service is judged, periodic or not (our choice)."""


@dataclass(frozen=True)
class Judging:
    """How runs are judged: the parameters of `hygro.assess.verdict`."""

    criteria: tuple[Judged, ...] | str = CRITERIA
    skip_days: float | None = None
    mould_model: str = "ojanen2010"


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
    """

    run: Run
    verdict: Verdict
    numbers: dict[str, object]
    hand: HandNumbers
    trace: Trace
    quality: dict[str, object]
    seconds: float
    resumed: str | None = None

    @property
    def margin(self) -> float:
        """Least margin of the hard criteria; infinite where none could be judged. [1]"""
        reserve = self.verdict.reserve
        return np.inf if reserve is None else reserve


class Failure(NamedTuple):
    """A run that could not be done, and why."""

    run: Run
    error: str


def perform(
    runs: Sequence[Run],
    climate: xr.Dataset,
    *,
    settings: Settings,
    judging: Judging,
    progress: Progress | None = None,
    processes: int | None = None,
    threads: bool = False,
) -> tuple[Outcome | Failure, ...]:
    """Perform runs, several at a time, and return outcomes in their order.

    A run that cannot be done leaves a `Failure` and does not keep the others from being done.

    Parameters
    ----------
    runs : sequence of Run
        The plan.
    climate : Dataset
        Canonical weather for all of them.
    settings, judging : Settings, Judging
        For all of them.
    progress : callable, optional
        See `Progress`.
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
    try:
        return in_processes(_attempt, shared, runs, progress=progress, count=count)
    except BaseException:
        _sweep(runs)
        raise


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
    shared: _Shared, number: int, run: Run, progress: Progress | None
) -> Outcome | Failure:
    try:
        return _outcome(shared, number, run, progress)
    except (HygroError, WeatherError) as error:
        if progress is not None:
            progress(number, 1.0, "")
        return Failure(run, str(error))


def _outcome(shared: _Shared, number: int, run: Run, progress: Progress | None) -> Outcome:
    resumed: list[str] = []

    def tell(fraction: float, date: object) -> None:
        if progress is not None:
            progress(number, fraction, str(date)[:10])

    began = time.perf_counter()
    options = _options(run, shared.judging)
    ds, found = _judged(run, shared, tell, lambda date: resumed.append(str(date)[:10]))
    outcome = Outcome(
        run=run,
        verdict=found,
        numbers=summary(ds, **options),
        hand=hand_numbers(run.wall, shared.climate, run.room, found.sheathing),
        trace=trace(ds, found.sheathing, mould_model=shared.judging.mould_model),
        quality=quality(ds),
        seconds=time.perf_counter() - began,
        resumed=resumed[0] if resumed else None,
    )
    tell(1.0, "")
    return outcome


def judge_run(run: Run, climate: xr.Dataset, *, settings: Settings, judging: Judging) -> Verdict:
    """Perform one run and return its verdict, as `perform` would find it."""

    def silent(*_: object) -> None:
        return None

    return _judged(run, _Shared(climate, settings, judging), silent, silent)[1]


def _judged(
    run: Run,
    shared: _Shared,
    tell: Callable[[float, np.datetime64], None],
    resumed: Callable[[np.datetime64], None],
) -> tuple[xr.Dataset, Verdict]:
    """The record of service, or the only one, and the verdict on all records of a run."""
    judging, options = shared.judging, _options(run, shared.judging)
    start = _record(run, shared, tell, resumed)
    found = verdict(start, criteria=judging.criteria, **options)
    if not _asks_for_service(run, shared.climate):
        return start, found
    ds = _service(run, shared, tell)
    return ds, merged(verdict(ds, criteria=judging.criteria, **options), found)


def _options(run: Run, judging: Judging) -> dict[str, Any]:
    return {
        "sheathing": run.sheathing,
        "skip_days": judging.skip_days,
        "mould_model": judging.mould_model,
    }


def _asks_for_service(run: Run, climate: xr.Dataset) -> bool:
    return run.repeat == "as needed" and climate.sizes["time"] == HOURS_PER_YEAR


def _record(
    run: Run,
    shared: _Shared,
    progress: Callable[[float, np.datetime64], None],
    resumed: Callable[[np.datetime64], None],
) -> xr.Dataset:
    """Run the wall, by way of a file where it shall be resumable, and save it where it has one."""
    provenance = _provenance(run)
    if _asks_for_service(run, shared.climate):
        provenance["question"] = "closing in"
    more: dict[str, Any] = {"settings": shared.settings, "progress": progress}
    periodic = run.repeat == "until periodic"
    if run.file is not None and run.resumable and not periodic:
        loads = build_loads(run.wall, shared.climate, run.room)
        known = {**climate_attributes(shared.climate), **provenance}
        simulate_to_file(run.wall, loads, run.file, provenance=known, resumed=resumed, **more)
        return load(run.file)
    run_once = simulate_periodic if periodic else simulate
    ds = run_once(run.wall, shared.climate, run.room, provenance=provenance, **more)
    if run.file is not None:
        save(ds, run.file)
    return ds


def _service(
    run: Run, shared: _Shared, progress: Callable[[float, np.datetime64], None]
) -> xr.Dataset:
    """The year of service of a wall, without one-off wettings, which belong to closing in."""
    ds = simulate_periodic(
        replace(run.wall, wettings=()),
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


def _provenance(run: Run) -> dict[str, Any]:
    return {
        **run.provenance,
        "leaks": "on" if run.leaks else "off",
        "scenario": run.scenario,
        "sheathing": run.sheathing or "",
    }


def _sweep(runs: Sequence[Run]) -> None:
    """Remove partial files of terminated workers."""
    for run in runs:
        for path in (run.file, run.service_file):
            if path is not None:
                path.with_name(f".{path.name}.part").unlink(missing_ok=True)


def quality(ds: xr.Dataset) -> dict[str, object]:
    """Return the closures, step counts and assumptions that a record states."""
    numbers = ("closure_energy", "closure_moisture", "steps", "steps_rejected", "stage_retries")
    found: dict[str, object] = {key: _python(ds.attrs[key]) for key in numbers}
    if "periodic_rounds" in ds.attrs:
        found |= {key: _python(ds.attrs[key]) for key in ("periodic_rounds", "periodic_drift")}
    return {**found, "assumptions": json.loads(ds.attrs["assumptions"])}


def _python(value: object) -> object:
    return value.item() if isinstance(value, np.generic) else value
