"""The outcomes of a plan whose runs are made side by side, with hand numbers and daily traces."""

from __future__ import annotations

from collections.abc import Sequence

import xarray as xr

from hygro.assess.hourly import Record
from hygro.assess.verdict import Verdict
from hygro.record import Marched
from hygro.solve.lane import Told
from hygro.solve.settings import Settings
from hygro.study.hand import hand_numbers, judged_layer
from hygro.study.plan import PlannedRun
from hygro.study.runs import Failure, Judging, Outcome, rated
from hygro.study.stages import Job, in_stages
from hygro.wall.loads import LoadMaker


def perform_together(
    runs: Sequence[PlannedRun],
    climate: xr.Dataset | Sequence[xr.Dataset],
    *,
    settings: Settings,
    judging: Judging,
    told: Told | None = None,
    threads: int | None = None,
) -> tuple[Outcome | Failure, ...]:
    """Perform runs, side by side; outcomes in their order.

    For many variants of few walls, such as one wall with its leaks. A run with a file is saved when
    it is done; none is resumed.

    Parameters
    ----------
    runs : sequence of PlannedRun
        The plan.
    climate : Dataset or sequence of Dataset
        Canonical weather for all of them, or for each.
    settings, judging
        For all of them.
    told : callable, optional
        See `hygro.solve.lane.Told`; called from other threads.
    threads : int, optional
        Batches at a time; all cores when absent.
    """

    def outcome(job: Job, _: Marched, ds: Record, closing: Verdict | None) -> Outcome:
        run = job.run
        hand = hand_numbers(run.wall, job.climate.climate, run.room, judged_layer(run.wall))
        return rated(ds, run, judging, hand, closing)

    given = [climate] * len(runs) if isinstance(climate, xr.Dataset) else list(climate)
    makers = {id(one): LoadMaker(one) for one in given}
    jobs = [Job(run, makers[id(one)]) for run, one in zip(runs, given, strict=True)]
    return tuple(
        in_stages(jobs, outcome, judging=judging, settings=settings, told=told, threads=threads)
    )
