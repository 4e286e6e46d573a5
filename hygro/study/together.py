"""The runs of a plan side by side, those of one structure in lanes. Owns their order in stages.

The outcomes are those of `hygro.study.runs.perform`, to round-off, without files.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple, TypeVar

import xarray as xr

from hygro.assess.verdict import Verdict
from hygro.errors import HygroError
from hygro.record import simulate_many
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
    rated,
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
) -> tuple[Outcome | Failure, ...]:
    """Perform runs, those of walls of one structure side by side; outcomes in their order.

    For many variants of few walls, such as one wall at eight values of a number. Files of the runs
    are not written, and `Outcome.seconds` is 0.

    Parameters
    ----------
    runs : sequence of PlannedRun
        The plan.
    climates : Dataset or sequence of Dataset
        Canonical weather for all of them, or of each.
    settings, judging
        For all of them.
    """
    each = [climates] * len(runs) if isinstance(climates, xr.Dataset) else climates
    jobs = [_Job(*item) for item in zip(runs, each, strict=True)]

    def outcome(k: int, ds: xr.Dataset, closing: Verdict | None = None) -> Outcome:
        run, climate = jobs[k]
        hand = hand_numbers(run.wall, climate, run.room, judged_layer(run.wall))
        return rated(ds, run, judging, hand, closing)

    def of_start(k: int, ds: xr.Dataset) -> Verdict:
        ds.attrs["question"] = "closing in"
        return judged(ds, jobs[k].run, judging)

    def walls(wanted: Callable[[_Job], bool]) -> dict[int, Wall]:
        return {k: job.run.wall for k, job in enumerate(jobs) if wanted(job)}

    single = walls(lambda job: not job.periodic and not job.two)
    found: dict[int, Outcome | Failure] = _stage(jobs, single, outcome, settings)
    found |= _stage(jobs, walls(lambda job: job.periodic), outcome, settings, periodic=True)
    closing = _stage(jobs, walls(lambda job: job.two), of_start, settings)
    service = {k: service_wall(jobs[k].run.wall) for k, v in closing.items() if _done(v)}
    found |= {k: item for k, item in closing.items() if isinstance(item, Failure)}
    found |= _stage(
        jobs,
        service,
        lambda k, ds: outcome(k, ds, _verdict(closing[k])),
        settings,
        periodic=True,
        rounds=SERVICE_ROUNDS,
    )
    return tuple(found[k] for k in range(len(jobs)))


def _done(item: object) -> bool:
    return not isinstance(item, Failure)


def _verdict(item: Verdict | Failure) -> Verdict:
    assert not isinstance(item, Failure)
    return item


def _stage(
    jobs: Sequence[_Job],
    walls: Mapping[int, Wall],
    rate: Callable[[int, xr.Dataset], T],
    settings: Settings,
    **more: Any,
) -> dict[int, T | Failure]:
    """Run walls by the places of their jobs, and rate each record as it comes."""
    given = [(wall, jobs[k].climate, jobs[k].run.room) for k, wall in walls.items()]
    places, found = list(walls), {}
    for number, ds in simulate_many(given, settings=settings, **more):
        k = places[number]
        try:
            found[k] = Failure(jobs[k].run, str(ds)) if isinstance(ds, HygroError) else rate(k, ds)
        except HygroError as error:
            found[k] = Failure(jobs[k].run, str(error))
    return found
