"""The runs of a comparison: their plan, how they are performed, and what is kept of each.

A run is a pure function of wall, climate, room and settings, so a plan may run in any order and in
any process.
"""

from __future__ import annotations

import itertools
import json
import os
import pickle
import time
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import xarray as xr

from hygro.assess.choose import name_of
from hygro.assess.criteria import CRITERIA, Judged
from hygro.assess.digest import summary
from hygro.assess.judge import verdict
from hygro.assess.verdict import Verdict
from hygro.errors import HygroError, InputError
from hygro.record import load, save, simulate, simulate_periodic, simulate_to_file
from hygro.room.models import Room
from hygro.solve.settings import Settings
from hygro.study.hand import HandNumbers, hand_numbers, judged_layer
from hygro.study.trace import Trace, trace
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
    room_name, place : str
        What tables and figures call the room and the climate.
    """

    name: str
    wall: Wall
    room: Room
    leaks: bool
    file: Path | None = None
    resumable: bool = False
    periodic: bool = False
    provenance: dict[str, Any] = field(default_factory=dict)
    room_name: str = ""
    place: str = ""


class Candidate(NamedTuple):
    """A wall to be compared, the room behind it, and what that is called."""

    wall: Wall
    room: Room
    room_name: str = ""


@dataclass(frozen=True)
class Judging:
    """How runs are judged: the parameters of `hygro.assess.verdict`."""

    criteria: tuple[Judged, ...] = CRITERIA
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
    recomputed : tuple of str
        First dates of kept years that could not be read and were computed again.
    """

    run: Run
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
        worst = self.verdict.worst
        return np.inf if worst is None or worst.margin is None else worst.margin


class Failure(NamedTuple):
    """A run that could not be done, and why."""

    run: Run
    error: str


def plan(
    walls: Sequence[Candidate],
    *,
    folder: Path | None = None,
    provenance: dict[str, Any] | None = None,
    periodic: bool = False,
    place: str = "",
) -> tuple[Run, ...]:
    """Return the runs that compare some walls: each without leaks, and with them if it has any.

    Parameters
    ----------
    walls : sequence of Candidate
        What to compare; names of walls must differ.
    folder : Path, optional
        Where the results are saved.
    provenance : dict, optional
        What every record says of its origin.
    periodic, place
        See `Run`.
    """
    runs = []
    slugs = file_names([item.wall.name for item in walls])
    for wall, room, room_name in walls:
        judged_layer(wall)  # said before anything is run
        for with_leaks in (False, True) if wall.leaky else (False,):
            name = f"{slugs[wall.name]}{WITH_LEAKS if with_leaks else ''}"
            runs.append(
                Run(
                    name=wall.name,
                    wall=wall if with_leaks else tight(wall),
                    room=room,
                    leaks=with_leaks,
                    file=None if folder is None else folder / f"{name}.nc",
                    provenance=provenance or {},
                    periodic=periodic,
                    room_name=room_name,
                    place=place,
                )
            )
    return tuple(runs)


WITH_LEAKS = "-with-leaks"
"""What the file name of a run with leaks ends in."""


def file_names(names: Sequence[str]) -> dict[str, str]:
    """Return for each name one fit for files: never empty, and no two alike in any letter case."""
    taken: set[str] = set()
    found: dict[str, str] = {}
    for name in dict.fromkeys(names):
        tries = itertools.chain((slug(name),), (f"{slug(name)}-{n}" for n in itertools.count(2)))
        found[name] = next(t for t in tries if not {t, t + WITH_LEAKS} & taken)
        taken |= {found[name], found[name] + WITH_LEAKS}
    return found


def slug(name: str) -> str:
    """Name made fit for a file: letters, digits and hyphens, at most 50; "wall" without any."""
    folded = unicodedata.normalize("NFKC", name).casefold()
    words = "".join(c if c.isalnum() else " " for c in folded).split()
    return "-".join(words)[:50].strip("-") or "wall"


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
    return in_processes(_attempt, shared, runs, progress=progress, count=count)


def _check_portable(criteria: Sequence[Judged]) -> None:
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
    lost: list[str] = []

    def tell(fraction: float, date: object) -> None:
        if progress is not None:
            progress(number, fraction, str(date)[:10])

    began = time.perf_counter()
    layer = judged_layer(run.wall)
    hand = hand_numbers(run.wall, shared.climate, run.room, layer)
    ds = _record(run, shared, tell, resumed, lost)
    judging = shared.judging
    options: dict[str, Any] = {
        "sheathing": run.wall.sheathing,
        "skip_days": judging.skip_days,
        "mould_model": judging.mould_model,
    }
    found = verdict(ds, criteria=judging.criteria, **options)
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


def _record(
    run: Run,
    shared: _Shared,
    progress: Callable[[float, np.datetime64], None],
    resumed: list[str],
    lost: list[str],
) -> xr.Dataset:
    """Run the wall, by way of a file where it shall be resumable, and save it where it has one.

    `resumed` and `lost` take the dates of `simulate_to_file`.
    """
    given = run.wall, shared.climate, run.room
    more: dict[str, Any] = {
        "settings": shared.settings,
        "progress": progress,
        "provenance": {
            **run.provenance,
            "leaks": "on" if run.leaks else "off",
            "room_name": run.room_name,
        },
    }
    if run.file is not None and run.resumable and not run.periodic:
        simulate_to_file(
            *given,
            file=run.file,
            resumed=lambda date: resumed.append(str(date)[:10]),
            unreadable=lambda date: lost.append(str(date)[:10]),
            **more,
        )
        return load(run.file)
    run_once = simulate_periodic if run.periodic else simulate
    ds = run_once(*given, **more)
    if run.file is not None:
        save(ds, run.file)
    return ds


def quality(ds: xr.Dataset) -> dict[str, object]:
    """Return the closures, step counts and assumptions that a record states."""
    numbers = ("closure_energy", "closure_moisture", "steps", "steps_rejected", "stage_retries")
    found: dict[str, object] = {key: _python(ds.attrs[key]) for key in numbers}
    if "periodic_rounds" in ds.attrs:
        found |= {key: _python(ds.attrs[key]) for key in ("periodic_rounds", "periodic_drift")}
    return {**found, "assumptions": json.loads(ds.attrs["assumptions"])}


def _python(value: object) -> object:
    return value.item() if isinstance(value, np.generic) else value
