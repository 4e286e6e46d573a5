"""The runs of a plan side by side, those of one structure in lanes. Owns their order in stages.

The outcomes are those of the runs one by one, to the same bits.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import Any, NamedTuple, TypeVar

import numpy as np
import xarray as xr

from hygro.assess.verdict import Verdict
from hygro.errors import HygroError
from hygro.record import simulate_many
from hygro.solve.ensemble import Told
from hygro.solve.settings import Settings
from hygro.study.hand import hand_numbers, judged_layer
from hygro.study.plan import PlannedRun
from hygro.study.runs import (
    SERVICE_ROUNDS,
    Failure,
    Judging,
    Outcome,
    asks_for_service,
    judged,
    provenance,
    rated,
    saved,
    service_wall,
)
from hygro.wall.wall import Wall

T = TypeVar("T")


class _Job(NamedTuple):
    """A run with its climate."""

    run: PlannedRun
    climate: xr.Dataset

    @property
    def periodic(self) -> bool:
        return self.run.repeat == "until periodic"

    @property
    def two(self) -> bool:
        """Whether it has a record from the start and one of service."""
        return asks_for_service(self.run, self.climate)


def perform_together(
    runs: Sequence[PlannedRun],
    climates: xr.Dataset | Sequence[xr.Dataset],
    *,
    settings: Settings,
    judging: Judging,
    told: Told | None = None,
    threads: int | None = None,
) -> tuple[Outcome | Failure, ...]:
    """Perform runs, those of walls of one structure side by side; outcomes in their order.

    For many variants of few walls, such as one wall at eight values of a number. A run with a file
    is saved when it is done; none is resumed. `Outcome.seconds` is the share of each run in all.

    Parameters
    ----------
    runs : sequence of PlannedRun
        The plan.
    climates : Dataset or sequence of Dataset
        Canonical weather for all of them, or of each.
    settings, judging
        For all of them.
    told : callable, optional
        See `hygro.solve.ensemble.Told`; called from other threads.
    threads : int, optional
        Batches at a time; all cores when absent.
    """
    began = time.perf_counter()
    each = [climates] * len(runs) if isinstance(climates, xr.Dataset) else climates
    jobs = [_Job(*item) for item in zip(runs, each, strict=True)]
    stage = partial(_stage, jobs, settings=settings, told=told, threads=threads)

    def outcome(k: int, ds: xr.Dataset, closing: Verdict | None = None) -> Outcome:
        run, climate = jobs[k]
        saved(ds, run.file if closing is None else run.service_file)
        hand = hand_numbers(run.wall, climate, run.room, judged_layer(run.wall))
        return rated(ds, run, judging, hand, closing)

    def of_start(k: int, ds: xr.Dataset) -> Verdict:
        saved(ds, jobs[k].run.file)
        return judged(ds, jobs[k].run, judging)

    def walls(wanted: Callable[[_Job], bool]) -> dict[int, Wall]:
        return {k: job.run.wall for k, job in enumerate(jobs) if wanted(job)}

    single = walls(lambda job: not job.periodic and not job.two)
    found: dict[int, Outcome | Failure] = stage(single, outcome)
    found |= stage(walls(lambda job: job.periodic), outcome, periodic=True)
    closing = stage(walls(lambda job: job.two), of_start, question="closing in")
    service = {k: service_wall(jobs[k].run.wall) for k, v in closing.items() if _done(v)}
    found |= {k: item for k, item in closing.items() if isinstance(item, Failure)}
    found |= stage(
        service,
        lambda k, ds: outcome(k, ds, _verdict(closing[k])),
        periodic=True,
        rounds=SERVICE_ROUNDS,
    )
    share = (time.perf_counter() - began) / max(len(jobs), 1)
    return tuple(_timed(found[k], share) for k in range(len(jobs)))


def _timed(item: Outcome | Failure, seconds: float) -> Outcome | Failure:
    return item if isinstance(item, Failure) else replace(item, seconds=seconds)


def _done(item: object) -> bool:
    return not isinstance(item, Failure)


def _verdict(item: Verdict | Failure) -> Verdict:
    assert not isinstance(item, Failure)
    return item


def _stage(
    jobs: Sequence[_Job],
    walls: Mapping[int, Wall],
    rate: Callable[[int, xr.Dataset], T],
    *,
    told: Told | None,
    question: str | None = None,
    **more: Any,
) -> dict[int, T | Failure]:
    """Run walls by the places of their jobs, and rate each record as it comes."""
    given = [(wall, jobs[k].climate, jobs[k].run.room) for k, wall in walls.items()]
    known = [provenance(jobs[k].run, question) for k in walls]
    places, found = list(walls), {}

    def tell(number: int, fraction: float, date: np.datetime64) -> None:
        if told is not None:
            told(places[number], fraction, date)

    marched = simulate_many(given, provenance=known, told=tell, **more)
    for number, ds in marched:
        k = places[number]
        try:
            found[k] = Failure(jobs[k].run, str(ds)) if isinstance(ds, HygroError) else rate(k, ds)
        except HygroError as error:
            found[k] = Failure(jobs[k].run, str(error))
    return found
