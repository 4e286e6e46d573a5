"""The runs of a plan side by side, in lanes. Owns their order in stages.

What is kept of a run is up to who asks; it is what the runs one by one give, to the same bits.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

import numpy as np

from hygro.assess.choose import only_shipped
from hygro.assess.hourly import Record, of_run
from hygro.assess.verdict import Verdict
from hygro.errors import HygroError
from hygro.record import Marched, march_many
from hygro.solve.ensemble import Told
from hygro.study.plan import PlannedRun
from hygro.study.processes import by_several
from hygro.study.runs import (
    SERVICE_ROUNDS,
    Failure,
    Judging,
    asks_for_service,
    judged,
    provenance,
    saved,
    service_wall,
)
from hygro.wall.loads import LoadMaker
from hygro.wall.wall import Wall

T = TypeVar("T")
U = TypeVar("U")


class Job(NamedTuple):
    """A run with its climate."""

    run: PlannedRun
    climate: LoadMaker

    @property
    def periodic(self) -> bool:
        """Whether its one record is periodic."""
        return self.run.repeat == "until periodic"

    @property
    def two(self) -> bool:
        """Whether it has a record from the start and one of service."""
        return asks_for_service(self.run, self.climate.hours)


Answer = Callable[[Job, Marched, Record, Verdict | None], T]
"""What is kept of a run: from its job, how it went, what is rated, and the verdict on closing in
where another record gave that."""


def in_stages(
    jobs: Sequence[Job], answer: Answer[T], *, judging: Judging, **more: Any
) -> tuple[T | Failure, ...]:
    """Perform runs, side by side; answers in their order. See `as_they_end`."""
    found = dict(as_they_end(jobs, answer, judging=judging, **more))
    return tuple(found[k] for k in range(len(jobs)))


def as_they_end(
    jobs: Sequence[Job],
    answer: Answer[T],
    *,
    judging: Judging,
    told: Told | None = None,
    **more: Any,
) -> Iterator[tuple[int, T | Failure]]:
    """Perform runs, side by side, and yield their places and answers as they come.

    A run with a file is saved when it is done; none is resumed.

    Parameters
    ----------
    jobs : sequence of Job
        What to run.
    answer : callable
        What to keep of each.
    judging : Judging
        For all of them.
    told : callable, optional
        See `hygro.solve.ensemble.Told`; called from other threads.
    more
        `settings`, `threads` and `device` of `march_many`.
    """

    def stage(
        walls: Mapping[int, Wall], rate: Callable[[int, Marched], U], **how: Any
    ) -> Iterator[tuple[int, U | Failure]]:
        return _stage(jobs, walls, rate, told=told, **more, **how)

    def whole(k: int, went: Marched, closing: Verdict | None = None) -> T:
        run = jobs[k].run
        file = run.file if closing is None else run.service_file
        return answer(jobs[k], went, _readable(went, file, judging), closing)

    def of_start(k: int, went: Marched) -> Verdict:
        run = jobs[k].run
        return judged(_readable(went, run.file, judging), run, judging)

    def walls(wanted: Callable[[Job], bool]) -> dict[int, Wall]:
        return {k: job.run.wall for k, job in enumerate(jobs) if wanted(job)}

    yield from stage(walls(lambda job: not job.periodic and not job.two), whole)
    yield from stage(walls(lambda job: job.periodic), whole, periodic=True)
    done: dict[int, Verdict] = {}
    for k, item in stage(walls(lambda job: job.two), of_start, question="closing in"):
        if isinstance(item, Failure):
            yield k, item
        else:
            done[k] = item
    yield from stage(
        {k: service_wall(jobs[k].run.wall) for k in done},
        lambda k, went: whole(k, went, done[k]),
        periodic=True,
        rounds=SERVICE_ROUNDS,
    )


def _readable(went: Marched, file: Path | None, judging: Judging) -> Record:
    """What is rated: the record where one is kept or a user's criterion reads it, else arrays."""
    if file is None and only_shipped(judging.criteria):
        return of_run(went)
    return saved(went.record(), file)


def _stage(
    jobs: Sequence[Job],
    walls: Mapping[int, Wall],
    rate: Callable[[int, Marched], U],
    *,
    told: Told | None,
    question: str | None = None,
    device: str = "cpu",
    **more: Any,
) -> Iterator[tuple[int, U | Failure]]:
    """Run walls by the places of their jobs, and rate each run as it ends.

    What a card marches ends at once: it is rated by as many threads as there are cores.
    """
    given = [(wall, jobs[k].climate, jobs[k].run.room) for k, wall in walls.items()]
    known = [provenance(jobs[k].run, question) for k in walls]
    places = list(walls)

    def tell(number: int, fraction: float, date: np.datetime64) -> None:
        if told is not None:
            told(places[number], fraction, date)

    def attempt(number: int, went: Marched | HygroError) -> tuple[int, U | Failure]:
        k = places[number]
        try:
            if isinstance(went, HygroError):
                raise went
            return k, rate(k, went)
        except HygroError as error:
            return k, Failure(jobs[k].run, str(error))

    marched = march_many(given, provenance=known, told=tell, device=device, **more)
    if device == "cpu":
        yield from (attempt(*item) for item in marched)
    else:
        yield from by_several(attempt, marched)
