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
from hygro.solve.lane import Told
from hygro.solve.rooms import Rooms
from hygro.study.plan import PlannedRun
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


class Asked(NamedTuple):
    """What is to be said of a run that has ended.

    `start`: the verdict on closing in alone, as another record of service follows. `closing` is
    that verdict, once it was given.
    """

    start: bool = False
    closing: Verdict | None = None


Ended = tuple[int, Marched | HygroError, Asked]
"""A run by its place, how it went, and what is to be said of it."""
Rater = Callable[[Iterator[Ended]], Iterator[tuple[int, Any]]]
"""Whoever rates runs that have ended: yields their places and what `attempted` says of each."""


def in_stages(
    jobs: Sequence[Job], answer: Answer[T], *, judging: Judging, **more: Any
) -> tuple[T | Failure, ...]:
    """Perform runs, side by side; answers in their order. See `as_they_end`."""

    def rater(ended: Iterator[Ended]) -> Iterator[tuple[int, Any]]:
        for k, went, asked in ended:
            yield k, attempted(jobs[k], went, asked, answer, judging)

    found = dict(as_they_end(jobs, rater, **{"memory": Rooms().room} | more))
    return tuple(found[k] for k in range(len(jobs)))


def as_they_end(
    jobs: Sequence[Job], rater: Rater, *, told: Told | None = None, **more: Any
) -> Iterator[tuple[int, Any]]:
    """Perform runs, side by side, and yield their places and answers, or failures, as they come.

    A run with a file is saved when it is done; none is resumed.

    Parameters
    ----------
    jobs : sequence of Job
        What to run.
    rater : callable
        Who rates them.
    told : callable, optional
        See `hygro.solve.lane.Told`; called from other threads.
    more
        `settings`, `threads`, `device`, `arena` and `memory` of `march_many`.
    """

    def stage(
        walls: Mapping[int, Wall], asked: Callable[[int], Asked], **how: Any
    ) -> Iterator[tuple[int, Any]]:
        ended = _marched(jobs, walls, told=told, **more, **how)
        return rater((k, went, asked(k)) for k, went in ended)

    def walls(wanted: Callable[[Job], bool]) -> dict[int, Wall]:
        return {k: job.run.wall for k, job in enumerate(jobs) if wanted(job)}

    def whole(_: int) -> Asked:
        return Asked()

    yield from stage(walls(lambda job: not job.periodic and not job.two), whole)
    yield from stage(walls(lambda job: job.periodic), whole, periodic=True)
    two, closing = walls(lambda job: job.two), dict[int, Verdict]()
    for k, item in stage(two, lambda _: Asked(start=True), question="closing in"):
        if isinstance(item, Failure):
            yield k, item
        else:
            closing[k] = item
    yield from stage(
        {k: service_wall(two[k]) for k in closing},
        lambda k: Asked(closing=closing[k]),
        periodic=True,
        rounds=SERVICE_ROUNDS,
    )


def attempted(
    job: Job, went: Marched | HygroError, asked: Asked, answer: Answer[T], judging: Judging
) -> T | Verdict | Failure:
    """Return what is said of a run, or why nothing can be."""
    run = job.run
    try:
        if isinstance(went, HygroError):
            raise went
        if asked.start:
            return judged(_readable(went, run.file, judging), run, judging)
        file = run.file if asked.closing is None else run.service_file
        return answer(job, went, _readable(went, file, judging), asked.closing)
    except HygroError as error:
        return Failure(run, str(error))


def _readable(went: Marched, file: Path | None, judging: Judging) -> Record:
    """What is rated: the record where one is kept or a user's criterion reads it, else arrays."""
    if file is None and only_shipped(judging.criteria):
        return of_run(went)
    return saved(went.record(), file)


def _marched(
    jobs: Sequence[Job],
    walls: Mapping[int, Wall],
    *,
    told: Told | None,
    question: str | None = None,
    **more: Any,
) -> Iterator[tuple[int, Marched | HygroError]]:
    """Run walls by the places of their jobs."""
    given = [(wall, jobs[k].climate, jobs[k].run.room) for k, wall in walls.items()]
    known = [provenance(jobs[k].run, question) for k in walls]
    places = list(walls)

    def tell(number: int, fraction: float, date: np.datetime64) -> None:
        if told is not None:
            told(places[number], fraction, date)

    for number, went in march_many(given, provenance=known, told=tell, **more):
        yield places[number], went
