"""Several walls in one climate: run each, with and without its leaks, and rank them by margin.

Owns the plan and the ranking; knows no case file and draws nothing. A run is a pure function of
wall, climate, room and settings, so the plan may run in any order and in any process.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import xarray as xr

from hygro.assess.criteria import CRITERIA, Criterion
from hygro.assess.digest import summary
from hygro.assess.judge import verdict
from hygro.assess.verdict import Verdict
from hygro.errors import HygroError
from hygro.record import load, save, simulate, simulate_periodic, simulate_to_file
from hygro.record.provenance import climate_attributes
from hygro.room.models import Room
from hygro.solve.settings import Settings
from hygro.study.hand import HandNumbers, hand_numbers
from hygro.study.trace import Trace, trace
from hygro.wall.loads import build_loads
from hygro.wall.wall import Wall, tight
from weather.errors import WeatherError

Progress = Callable[[int, float, str], None]
"""Called with the number of the run, the fraction done and the date reached."""


@dataclass(frozen=True)
class Run:
    """One run of a plan.

    Attributes
    ----------
    name : str
        Of the wall, without a word on leaks.
    leaks : bool
        Whether the leaks of the wall are on.
    file : Path or None
        Where the result is saved.
    resumable : bool
        The result goes to its file in blocks; an interrupted run is taken up where it stopped.
    periodic : bool
        The climate is repeated until the year repeats itself, and that year is recorded.
    """

    name: str
    wall: Wall
    room: Room
    leaks: bool
    sheathing: str | None = None
    file: Path | None = None
    resumable: bool = False
    periodic: bool = False
    provenance: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Judging:
    """How runs are judged: the parameters of `hygro.assess.verdict`."""

    criteria: tuple[Criterion, ...] = CRITERIA
    skip_days: float = 0.0
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
        worst = self.verdict.worst
        return np.inf if worst is None or worst.margin is None else worst.margin


class Failure(NamedTuple):
    """A run that could not be done, and why."""

    run: Run
    error: str


@dataclass(frozen=True)
class Compared:
    """A wall without and, where it has any, with its leaks."""

    name: str
    tight: Outcome
    leaky: Outcome | None

    @property
    def outcomes(self) -> tuple[Outcome, ...]:
        """One or two outcomes, without leaks first."""
        return (self.tight,) if self.leaky is None else (self.tight, self.leaky)

    @property
    def passed(self) -> bool | None:
        """Whether every run of the wall passes; None where a hard criterion was not judged."""
        results = [outcome.verdict.passed for outcome in self.outcomes]
        return False if False in results else None if None in results else True

    @property
    def margin(self) -> float:
        """Least margin over the runs of the wall. [1]"""
        return min(outcome.margin for outcome in self.outcomes)


def plan(
    walls: Sequence[tuple[Wall, Room, str | None]],
    *,
    folder: Path | None = None,
    provenance: dict[str, Any] | None = None,
    periodic: bool = False,
) -> tuple[Run, ...]:
    """Return the runs that compare some walls: each without leaks, and with them if it has any.

    Parameters
    ----------
    walls : sequence of (Wall, Room, sheathing)
        What to compare.
    folder : Path, optional
        Where the results are saved.
    provenance : dict, optional
        What every record says of its origin.
    periodic : bool
        See `Run`.
    """
    runs = []
    for wall, room, sheathing in walls:
        for with_leaks in (False, True) if wall.leaky else (False,):
            name = f"{slug(wall.name)}{' with leaks' if with_leaks else ''}".replace(" ", "-")
            runs.append(
                Run(
                    name=wall.name,
                    wall=wall if with_leaks else tight(wall),
                    room=room,
                    leaks=with_leaks,
                    sheathing=sheathing,
                    file=None if folder is None else folder / f"{name}.nc",
                    provenance=provenance or {},
                    periodic=periodic,
                )
            )
    return tuple(runs)


def slug(name: str) -> str:
    """Name made fit for a file."""
    return "-".join("".join(c if c.isalnum() else " " for c in name.lower()).split())


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
        All at once in threads of this process instead; at most one run may have a file.
    """
    shared = _Shared(climate, settings, judging)
    count = min(processes or os.cpu_count() or 1, len(runs))
    if threads and len(runs) > 1:
        from hygro.study.processes import in_threads

        return in_threads(_attempt, shared, runs, progress=progress)
    if count < 2:
        return tuple(_attempt(shared, i, run, progress) for i, run in enumerate(runs))
    from hygro.study.processes import in_processes

    try:
        return in_processes(_attempt, shared, runs, progress=progress, count=count)
    except BaseException:
        _sweep(runs)
        raise


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
    ds = _record(run, shared, tell, lambda date: resumed.append(str(date)[:10]))
    judging = shared.judging
    options: dict[str, Any] = {
        "sheathing": run.sheathing,
        "skip_days": judging.skip_days,
        "mould_model": judging.mould_model,
    }
    found = verdict(ds, criteria=judging.criteria, **options)
    outcome = Outcome(
        run=run,
        verdict=found,
        numbers=summary(ds, **options),
        hand=hand_numbers(run.wall, shared.climate, run.room, found.sheathing),
        trace=trace(ds, found.sheathing, mould_model=judging.mould_model),
        quality=quality(ds),
        seconds=time.perf_counter() - began,
        resumed=resumed[0] if resumed else None,
    )
    tell(1.0, "")
    return outcome


def _record(
    run: Run,
    shared: _Shared,
    progress: Callable[[float, np.datetime64], None],
    resumed: Callable[[np.datetime64], None],
) -> xr.Dataset:
    """Run the wall, by way of a file where it shall be resumable, and save it where it has one."""
    provenance = {**run.provenance, "leaks": "on" if run.leaks else "off"}
    more: dict[str, Any] = {"settings": shared.settings, "progress": progress}
    if run.file is not None and run.resumable and not run.periodic:
        loads = build_loads(run.wall, shared.climate, run.room)
        known = {**climate_attributes(shared.climate), **provenance}
        simulate_to_file(run.wall, loads, run.file, provenance=known, resumed=resumed, **more)
        return load(run.file)
    run_once = simulate_periodic if run.periodic else simulate
    ds = run_once(run.wall, shared.climate, run.room, provenance=provenance, **more)
    if run.file is not None:
        save(ds, run.file)
    return ds


def _sweep(runs: Sequence[Run]) -> None:
    """Take away what ended processes had begun to write."""
    for run in runs:
        if run.file is not None:
            run.file.with_name(f".{run.file.name}.part").unlink(missing_ok=True)


def quality(ds: xr.Dataset) -> dict[str, object]:
    """Return the closures, step counts and assumptions that a record states."""
    numbers = ("closure_energy", "closure_moisture", "steps", "steps_rejected", "stage_retries")
    found: dict[str, object] = {key: _python(ds.attrs[key]) for key in numbers}
    if "periodic_rounds" in ds.attrs:
        found |= {key: _python(ds.attrs[key]) for key in ("periodic_rounds", "periodic_drift")}
    return {**found, "assumptions": json.loads(ds.attrs["assumptions"])}


def _python(value: object) -> object:
    return value.item() if isinstance(value, np.generic) else value


def paired(results: Iterable[Outcome | Failure]) -> tuple[Compared, ...]:
    """Put the runs of each wall together, best margin first.

    A wall of which a run failed is left out: its verdict would count both runs.
    """
    results = tuple(results)
    failed = {item.run.name for item in failures(results)}
    outcomes = [item for item in results if isinstance(item, Outcome)]
    names = dict.fromkeys(item.run.name for item in outcomes if item.run.name not in failed)
    found = []
    for name in names:
        mine = {o.run.leaks: o for o in outcomes if o.run.name == name}
        found.append(Compared(name, mine[False], mine.get(True)))
    return tuple(sorted(found, key=lambda item: -item.margin))


def failures(results: Iterable[Outcome | Failure]) -> tuple[Failure, ...]:
    """Return the runs that could not be done."""
    return tuple(item for item in results if isinstance(item, Failure))
