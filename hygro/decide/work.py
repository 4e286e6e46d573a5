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
from typing import Any, NamedTuple

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
from hygro.study.runs import Failure, Judging, perform
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


def _rows(shared: Shared, batch: tuple[Task, ...]) -> Iterator[Row]:
    apart: list[tuple[Task, Wall, Room, xr.Dataset, Settings]] = []
    together: dict[str, list[tuple[Task, Wall, Room, xr.Dataset]]] = {}
    settings: dict[str, Settings] = {}
    for task in batch:
        try:
            wall, room = _read(shared, task)
            chosen: Settings = read_or_refuse(Settings, task.settings, "settings")
        except HygroError as error:
            yield failed(task.sha256, str(error))
            continue
        data = _weather(shared, task.climate)
        if needs_own_run(shared.repeat, data.sizes["time"]):
            apart.append((task, wall, room, data, chosen))
        else:
            key = str(task.settings)
            settings[key] = chosen
            together.setdefault(key, []).append((task, wall, room, data))
    for key, runs in together.items():
        yield from _side_by_side(shared, runs, settings[key])
    for task, wall, room, data, chosen in apart:
        yield _by_itself(shared, task, (wall, room, data), chosen)


def needs_own_run(repeat: Repeat, hours: int) -> bool:
    """Whether service takes a periodic run, which is made by itself and not in lanes."""
    return repeat == "until periodic" or (repeat == "as needed" and hours == HOURS_PER_YEAR)


def _read(shared: Shared, task: Task) -> tuple[Wall, Room]:
    wall = wall_of(task.wall, shared.name)
    return wall if task.rained else unrained(wall), room_of(task.room, shared.given)


def _side_by_side(
    shared: Shared, runs: list[tuple[Task, Wall, Room, xr.Dataset]], settings: Settings
) -> Iterator[Row]:
    given = [(wall, data, room) for _, wall, room, data in runs]
    lean = shared.keep is None and only_shipped(shared.judging)
    for k, found in simulate_many(given, settings=settings, threads=1, lean=lean):
        task, wall = runs[k][:2]
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


def _by_itself(
    shared: Shared, task: Task, given: tuple[Wall, Room, xr.Dataset], settings: Settings
) -> Row:
    wall, room, data = given
    file = None if shared.keep is None else shared.keep / f"{task.sha256}.nc"
    run = PlannedRun(wall.name, wall, room, task.scenario, file=file, repeat=shared.repeat)
    (found,) = perform([run], data, settings=settings, judging=shared.judging, processes=1)
    if isinstance(found, Failure):
        return failed(task.sha256, found.error)
    return of_outcome(task.sha256, found)


def _weather(shared: Shared, sha256: str) -> xr.Dataset:
    found = shared.climates[sha256]
    return _unpickled(found) if isinstance(found, Path) else found


@lru_cache(maxsize=16)
def _unpickled(path: Path) -> Any:
    return pickle.loads(path.read_bytes())
