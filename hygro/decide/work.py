"""The work of a study: a batch of runs from tables to rows. A function of a module, so that any
process can do it.

Owns how a batch is read, run side by side and rated; knows no plan and no store.
"""

from __future__ import annotations

import pickle
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache, partial
from pathlib import Path
from typing import Any, NamedTuple

import xarray as xr

from hygro.assess.hourly import Record
from hygro.assess.verdict import Verdict
from hygro.decide.base import room_of, wall_of
from hygro.decide.engine import engine_hash
from hygro.decide.rate import Row, failed, row_of
from hygro.decide.tree import Tables
from hygro.declare import read_or_refuse
from hygro.errors import HygroError
from hygro.record import Marched
from hygro.room.models import Room
from hygro.solve.cores import core_time
from hygro.solve.rooms import Rooms
from hygro.solve.settings import Settings
from hygro.study.plan import PlannedRun, Repeat, Scenario
from hygro.study.runs import Failure, Judging, rating
from hygro.study.stages import Asked, Ended, Job, Rater, as_they_end, attempted
from hygro.types import Data
from hygro.wall.loads import LoadMaker
from hygro.wall.wall import unrained


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
    rooms : Rooms
        What results are written into: a run is rated as it ends, and the next takes its room.
    """

    name: str
    given: Mapping[str, Room]
    judging: Judging
    repeat: Repeat
    climates: Mapping[str, xr.Dataset | Path]
    keep: Path | None
    engine: str
    rooms: Rooms = field(default_factory=Rooms)


How = Callable[[Sequence[Task], Sequence[Job]], Data]
"""Arguments of `as_they_end` for some runs."""


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
    began = core_time()  # not of the wall clock: other work may share the cores
    rows = list(rows_of(shared, batch))
    spent = (core_time() - began) / len(batch)
    return [replace(row, seconds=spent) for row in rows]


def rows_of(shared: Shared, batch: Sequence[Task], how: How | None = None) -> Iterator[Row]:
    """Do runs and yield their rows as they end.

    `how` says what marches and rates those of one settings; left out: this thread.
    """
    groups: dict[str, tuple[list[Task], list[Job]]] = {}
    for task in batch:
        try:
            job = job_of(shared, task)
        except HygroError as error:
            yield failed(task.sha256, str(error))
            continue
        tasks, jobs = groups.setdefault(str(task.settings), ([], []))
        tasks.append(task)
        jobs.append(job)
    for tasks, jobs in groups.values():
        settings = read_or_refuse(Settings, tasks[0].settings, "settings")
        more = {"threads": 1} if how is None else how(tasks, jobs)
        rater = {"rater": _here(shared, jobs), "memory": shared.rooms.room} | more
        for k, item in as_they_end(jobs, settings=settings, **rater):
            if isinstance(item, Failure):
                yield failed(tasks[k].sha256, item.error)
            else:
                yield replace(item, sha256=tasks[k].sha256)


def _here(shared: Shared, jobs: Sequence[Job]) -> Rater:
    def rater(ended: Iterator[Ended]) -> Iterator[tuple[int, Any]]:
        for k, went, asked in ended:
            yield k, said(shared, jobs[k], went, asked)

    return rater


def said(
    shared: Shared, job: Job, went: Marched | HygroError, asked: Asked
) -> Row | Verdict | Failure:
    """Return the row of a run that has ended, without its hash; see `stages.attempted`."""
    return attempted(job, went, asked, partial(_row, shared.judging), shared.judging)


def job_of(shared: Shared, task: Task) -> Job:
    """Return a run with its climate; raises `InputError` where it cannot be."""
    wall, room = wall_of(task.wall, shared.name), room_of(task.room, shared.given)
    read_or_refuse(Settings, task.settings, "settings")
    file = None if shared.keep is None else shared.keep / f"{task.sha256}.nc"
    run = PlannedRun(
        shared.name,
        wall if task.rained else unrained(wall),
        room,
        task.scenario,
        file=file,
        repeat=shared.repeat,
    )
    return Job(run, _maker(shared, task.climate))


def _row(judging: Judging, job: Job, went: Marched, ds: Record, closing: Verdict | None) -> Row:
    return row_of(rating(ds, job.run, judging, closing), ds, went)


def _maker(shared: Shared, sha256: str) -> LoadMaker:
    found = shared.climates[sha256]
    return _of_file(found) if isinstance(found, Path) else LoadMaker(found)


@lru_cache(maxsize=16)
def _of_file(path: Path) -> LoadMaker:
    """Weather that a process has read stays with what walls have in common in it."""
    return LoadMaker(pickle.loads(path.read_bytes()))
