"""Trials of a number: the runs of a comparison at some values, judged as there, no run twice.

Owns what is run for a trial and what it says; which values are tried is up to who searches.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from typing import NamedTuple

import xarray as xr

from hygro.assess.hourly import Record
from hygro.assess.judge import merged
from hygro.assess.verdict import Verdict
from hygro.errors import SolveError
from hygro.record import Marched
from hygro.solve.settings import Settings, settings_of
from hygro.study.plan import Candidate, PlannedRun, Repeat, Scenario, plan
from hygro.study.runs import Failure, Judging, judging_of
from hygro.study.runs import judged as judged_run
from hygro.study.stages import Job, in_stages
from hygro.study.vary import Variant
from hygro.wall.loads import LoadMaker

AT_ONCE = 64
"""Runs whose loads and results are in memory together."""


class Trial(NamedTuple):
    """One value: whether all runs pass, and the hard criteria, with their runs, that do not."""

    value: float
    passed: bool
    blamed: tuple[str, ...] = ()
    """What fails: criterion, place and run."""
    reasons: tuple[str, ...] = ()
    """The same in full sentences."""
    scenarios: tuple[Scenario, ...] = ()
    """The runs in which something does."""


Judge = Callable[[Sequence[float]], Sequence[Trial]]
"""Trials at some values, in their order."""


class Ask(NamedTuple):
    """Values of a parameter that are to be tried.

    Attributes
    ----------
    variant : Variant
        Wall and room at a value.
    values : tuple of float
        Which.
    only : str or None
        The one scenario that is run; None runs all of the wall.
    """

    variant: Variant
    values: tuple[float, ...]
    only: Scenario | None = None


class Trials:
    """Trials in one climate. Runs are made side by side, and none twice.

    A value at which a run cannot be done is not within limits, and says why.

    Parameters
    ----------
    climate : Dataset
        Canonical weather.
    settings, judging, repeat
        As in `compare`.
    """

    def __init__(
        self,
        climate: xr.Dataset,
        *,
        settings: Settings | None = None,
        judging: Judging | None = None,
        repeat: Repeat = "as needed",
    ) -> None:
        self._maker = LoadMaker(climate)
        self._settings = settings_of(settings)
        self._judging = judging_of(judging)
        self._repeat: Repeat = repeat
        self._known: dict[Hashable, Verdict | Failure] = {}
        self._made: list[PlannedRun] = []  # kept, so that no other takes the identity of one

    def of(self, asked: Sequence[Ask]) -> list[list[Trial]]:
        """Return the trials of some questions, in their order.

        Raises
        ------
        SolveError
            No run at all can be done.
        """
        plans = [[self._plan(ask, value) for value in ask.values] for ask in asked]
        self._make([run for runs in plans for some in runs for run in some])
        return [
            [self._trial(value, some) for value, some in zip(ask.values, runs, strict=True)]
            for ask, runs in zip(asked, plans, strict=True)
        ]

    def _plan(self, ask: Ask, value: float) -> list[PlannedRun]:
        runs = plan([Candidate(*ask.variant(value))], repeat=self._repeat)
        return [run for run in runs if ask.only in (None, run.scenario)]

    def _make(self, runs: Sequence[PlannedRun]) -> None:
        wanted = {_key(run): run for run in runs}
        new = [(key, run) for key, run in wanted.items() if key not in self._known]
        for first in range(0, len(new), AT_ONCE):
            keys, some = zip(*new[first : first + AT_ONCE], strict=True)
            jobs = [Job(run, self._maker) for run in some]
            done = in_stages(jobs, self._verdict, judging=self._judging, settings=self._settings)
            self._known.update(zip(keys, done, strict=True))
            self._made += some
        failed = [item for item in self._known.values() if isinstance(item, Failure)]
        if failed and len(failed) == len(self._known):
            raise SolveError(failed[0].error)

    def _verdict(self, job: Job, _: Marched, ds: Record, closing: Verdict | None) -> Verdict:
        found = judged_run(ds, job.run, self._judging)
        return found if closing is None else merged(found, closing)

    def _trial(self, value: float, runs: Sequence[PlannedRun]) -> Trial:
        found = {run.scenario: self._known[_key(run)] for run in runs}
        for scenario, item in found.items():
            if isinstance(item, Failure):
                words = f"{scenario}: could not be computed: {item.error}"
                blame = f"not computed, {scenario}"
                return Trial(value, False, (blame,), (words,), (scenario,))
        verdicts = {k: item for k, item in found.items() if isinstance(item, Verdict)}
        blamed = [
            (scenario, finding)
            for scenario, item in verdicts.items()
            for finding in item.findings
            if finding.hard and finding.passed is not True
        ]
        return Trial(
            value,
            all(item.passed is True for item in verdicts.values()),
            tuple(f"{f.criterion.key} at {f.place}, {scenario}" for scenario, f in blamed),
            tuple(f"{scenario}: {f.reason}" for scenario, f in blamed),
            tuple(k for k, item in verdicts.items() if item.passed is not True),
        )


def _key(run: PlannedRun) -> Hashable:
    """What the verdict on a run depends on, climate and settings being the same."""
    try:
        hash((run.wall, run.room))
    except TypeError:  # a room of hourly arrays
        return id(run)
    return run.wall, run.room
