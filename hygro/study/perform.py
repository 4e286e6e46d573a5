"""A plan performed: runs that can share lanes together, what is left one by one, on all cores.

Owns which runs make up a task, and where tasks run.
"""

from __future__ import annotations

import os
import pickle
from collections.abc import Sequence
from functools import partial
from typing import NamedTuple

import numpy as np
import xarray as xr

from hygro.assess.choose import name_of
from hygro.assess.criteria import Judged
from hygro.assess.select import HOURS_PER_YEAR
from hygro.errors import InputError
from hygro.kinds import refuse_other
from hygro.record.seal import record_of
from hygro.solve.order import PRICE, order, portions
from hygro.solve.settings import Settings
from hygro.study.ahead import compile_first
from hygro.study.plan import PlannedRun
from hygro.study.processes import TaskProgress, in_processes, in_threads
from hygro.study.runs import Failure, Judging, Outcome, Shared, perform_one
from hygro.study.together import perform_together

LONG = 3 * HOURS_PER_YEAR
"""Longest climate that runs in lanes: the records of a batch are in memory together (our choice).
[h]"""

Results = tuple[Outcome | Failure, ...]


class Task(NamedTuple):
    """Runs that are performed together, by their places in the plan."""

    places: tuple[int, ...]
    runs: tuple[PlannedRun, ...]


def perform(
    runs: Sequence[PlannedRun],
    climate: xr.Dataset,
    *,
    settings: Settings,
    judging: Judging,
    progress: TaskProgress | None = None,
    processes: int | None = None,
    threads: bool = False,
) -> Results:
    """Perform runs, several at a time, and return outcomes in their order.

    A run that cannot be done leaves a `Failure` and does not keep the others from being done. The
    outcomes are the same to the bit however the runs are spread.

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
        1 runs in this process. None: one for each core, but not more than tasks.
    threads : bool
        In threads of this process instead; at most one run may have a file.

    Raises
    ------
    InputError
        A criterion that cannot be handed to another process, or where a record is to go, a file
        that is none of this case.
    """
    for run in runs:
        for file in (run.file, run.service_file):
            if file is not None:
                refuse_other(file, record_of(run.provenance.get("case")))
    shared = Shared(climate, settings, judging)
    cores = processes or os.cpu_count() or 1
    tasks = tasks_of(runs, climate.sizes["time"], settings, cores)
    count = min(cores, len(tasks))
    if count < 2:
        found = tuple(_attempt(shared, i, task, progress) for i, task in enumerate(tasks))
    elif threads:
        found = in_threads(_attempt, shared, tasks, progress=progress, count=count)
    else:
        _check_portable(judging.criteria)
        ahead = partial(compile_first, [len(task.runs) for task in tasks])
        found = in_processes(_attempt, shared, tasks, progress=progress, count=count, first=ahead)
    by_place = {
        k: item
        for task, items in zip(tasks, found, strict=True)
        for k, item in zip(task.places, items, strict=True)
    }
    return tuple(by_place[k] for k in range(len(runs)))


def tasks_of(
    runs: Sequence[PlannedRun], hours: int, settings: Settings, cores: int
) -> tuple[Task, ...]:
    """Return the tasks of a plan under a climate of so many hours: the longest first.

    Lanes are used where all cores are done sooner with them than with runs one by one.
    """
    # what writes its record takes longest
    single = [[k] for k in sorted(range(len(runs)), key=lambda k: runs[k].file is None)]
    if hours > LONG or any(run.resumable for run in runs):
        return _tasks(single, runs)
    places = [placed.place for placed in order([run.wall for run in runs], settings)]
    together = list(portions(places, cores))
    prices = [PRICE if len(places) > 1 else 1.0 for places in together]
    sooner = _done_after(prices, cores) < _done_after([1.0] * len(runs), cores)
    return _tasks(together if sooner else single, runs)


def _tasks(groups: Sequence[Sequence[int]], runs: Sequence[PlannedRun]) -> tuple[Task, ...]:
    return tuple(Task(tuple(places), tuple(runs[k] for k in places)) for places in groups)


def _done_after(prices: Sequence[float], cores: int) -> float:
    """When tasks are done that are taken in turn by whichever core is free."""
    free = [0.0] * cores
    for price in prices:
        free[free.index(min(free))] += price
    return max(free)


def _attempt(shared: Shared, _: int, task: Task, progress: TaskProgress | None) -> Results:
    def tell(k: int, fraction: float, date: np.datetime64) -> None:
        if progress is not None:
            progress(task.places[k], fraction, str(date)[:10])

    if len(task.runs) == 1:
        found: Results = (perform_one(task.runs[0], shared, partial(tell, 0)),)
    else:
        found = perform_together(
            task.runs,
            shared.climate,
            settings=shared.settings,
            judging=shared.judging,
            told=tell,
            threads=1,
        )
    if progress is not None:
        for place in task.places:
            progress(place, 1.0, "")
    return found


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
