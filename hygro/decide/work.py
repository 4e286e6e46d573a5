"""The work of a study: a batch of runs from tables to rows. A function of a module, so that any
process can do it.

Owns how a batch is read, run side by side and rated; knows no plan and no store.
"""

from __future__ import annotations

import pickle
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

import xarray as xr

from hygro.assess.criteria import Criterion
from hygro.assess.select import HOURS_PER_YEAR
from hygro.decide.base import room_of, wall_of
from hygro.decide.engine import engine_hash
from hygro.decide.rate import Row, failed, of_outcome, rated
from hygro.decide.tree import Tables
from hygro.declare import read_or_refuse
from hygro.errors import HygroError
from hygro.record import save, simulate_many
from hygro.room.models import Room
from hygro.solve.settings import Settings
from hygro.study.plan import PlannedRun, Repeat, Scenario
from hygro.study.runs import Failure, Judging
from hygro.study.together import perform_together
from hygro.types import Plain
from hygro.wall.wall import Wall, unrained


class Task(NamedTuple):
    """One run of a batch.

    Attributes
    ----------
    sha256 : str
        Of the planned run.
    wall, room, settings : dict
        Its tables; those of the wall with the leaks that are on.
    climate : str
        Hash of its weather.
    rained : bool
        Whether the rain of the weather counts.
    scenario : str
        Which leaks are on.
    """

    sha256: str
    wall: Tables
    room: Tables
    settings: Tables
    climate: str
    rained: bool
    scenario: Scenario


@dataclass(frozen=True)
class Shared:
    """What all batches of a study have in common.

    Attributes
    ----------
    name : str
        Of the wall.
    given : mapping
        Rooms that are no tables.
    climates : mapping
        Weather by its hash, or where it lies pickled.
    keep : Path or None
        Folder of hourly records, where they are kept.
    engine : str
        Hash of the engine that planned the runs.
    """

    name: str
    given: Mapping[str, Room]
    judging: Judging
    repeat: Repeat
    climates: Mapping[str, xr.Dataset | Path]
    keep: Path | None
    engine: str


class AnotherEngineError(HygroError):
    """A worker computes with another version than planned the runs."""


def batch_rows(shared: Shared, _number: int, batch: tuple[Task, ...], _tell: object) -> list[Row]:
    """Do the runs of a batch and return their rows; one that cannot be done says why.

    Raises
    ------
    AnotherEngineError
        This process has another version of the engine.
    """
    if shared.engine != engine_hash():
        raise AnotherEngineError(
            f"a worker has engine {engine_hash()[:10]}, the plan is of {shared.engine[:10]}: "
            "install the same versions of hygro and its packages everywhere; nothing was mixed"
        )
    began = time.perf_counter()
    rows = list(_rows(shared, batch))
    spent = (time.perf_counter() - began) / len(batch)
    return [replace(row, seconds=spent) for row in rows]


class _Run(NamedTuple):
    """A task with its tables read."""

    task: Task
    wall: Wall
    room: Room
    climate: xr.Dataset


def _rows(shared: Shared, batch: tuple[Task, ...]) -> Iterator[Row]:
    groups: dict[tuple[str, bool], list[_Run]] = {}
    settings: dict[str, Settings] = {}
    for task in batch:
        try:
            wall, room = _read(shared, task)
            settings[str(task.settings)] = read_or_refuse(Settings, task.settings, "settings")
        except HygroError as error:
            yield failed(task.sha256, str(error))
            continue
        data = _weather(shared, task.climate)
        kind = str(task.settings), serves(shared.repeat, data.sizes["time"])
        groups.setdefault(kind, []).append(_Run(task, wall, room, data))
    for (key, two), runs in groups.items():
        yield from (_judged if two else _side_by_side)(shared, runs, settings[key])


def serves(repeat: Repeat, hours: int) -> bool:
    """Whether service takes a periodic run beside or instead of that from the start."""
    return repeat == "until periodic" or (repeat == "as needed" and hours == HOURS_PER_YEAR)


def _read(shared: Shared, task: Task) -> tuple[Wall, Room]:
    wall = wall_of(task.wall, shared.name)
    return wall if task.rained else unrained(wall), room_of(task.room, shared.given)


def _side_by_side(shared: Shared, runs: list[_Run], settings: Settings) -> Iterator[Row]:
    given = [(run.wall, run.climate, run.room) for run in runs]
    lean = shared.keep is None and only_shipped(shared.judging)
    for k, found in simulate_many(given, settings=settings, threads=1, lean=lean):
        task, wall, *_ = runs[k]
        if isinstance(found, HygroError):
            yield failed(task.sha256, str(found))
            continue
        if shared.keep is not None:
            save(found, shared.keep / f"{task.sha256}.nc")
        try:
            yield rated(task.sha256, found, wall.sheathing, shared.judging)
        except HygroError as error:
            yield failed(task.sha256, str(error))


def only_shipped(how: Judging) -> bool:
    """Whether nothing but shipped criteria judge, which do not read derived fields."""
    if isinstance(how.criteria, str):
        return True
    judges = [item.judge if isinstance(item, Criterion) else item for item in how.criteria]
    return all(getattr(j, "__module__", "").startswith("hygro.assess.") for j in judges)


def _judged(shared: Shared, runs: list[_Run], settings: Settings) -> Iterator[Row]:
    planned = [
        PlannedRun(
            run.wall.name,
            run.wall,
            run.room,
            run.task.scenario,
            file=None if shared.keep is None else shared.keep / f"{run.task.sha256}.nc",
            repeat=shared.repeat,
        )
        for run in runs
    ]
    climates = [run.climate for run in runs]
    done = perform_together(planned, climates, settings=settings, judging=shared.judging, threads=1)
    for run, found in zip(runs, done, strict=True):
        if isinstance(found, Failure):
            yield failed(run.task.sha256, found.error)
        else:
            yield of_outcome(run.task.sha256, found)


def _weather(shared: Shared, sha256: str) -> xr.Dataset:
    found = shared.climates[sha256]
    return _unpickled(found) if isinstance(found, Path) else found


@lru_cache(maxsize=16)
def _unpickled(path: Path) -> Plain:
    return pickle.loads(path.read_bytes())
