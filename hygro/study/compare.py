"""Several walls in one climate, each tight and with its leaks one by one, ranked.

Owns the ranking; how runs are made stands in `runs`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import xarray as xr

from hygro import html
from hygro.assess.choose import as_rows
from hygro.assess.criteria import CRITERIA, Judged
from hygro.assess.mould import Model
from hygro.assess.questions import once
from hygro.assess.verdict import OUTCOMES, reserve_words
from hygro.errors import InputError, must_be, near_matches
from hygro.room.models import Room
from hygro.solve.settings import Settings, settings_of
from hygro.study import plain_results
from hygro.study.leaks import leak_notes
from hygro.study.perform import perform
from hygro.study.plan import Candidate, Repeat, plan
from hygro.study.processes import TaskProgress
from hygro.study.rank import ranked
from hygro.study.runs import Failure, Judging, Outcome
from hygro.units import count
from hygro.wall.loads import check_run
from hygro.wall.wall import Wall

if TYPE_CHECKING:
    import pandas as pd

    from hygro.study.reserve import Reserve


@dataclass(frozen=True)
class Compared:
    """A wall tight, and with each kind of leak that it has alone and together."""

    name: str
    outcomes: tuple[Outcome, ...]
    reserve: Reserve | None = None
    """How much more it bears, where that was asked for."""

    @property
    def tight(self) -> Outcome:
        """Without leaks."""
        return self.outcomes[0]

    @property
    def leaky(self) -> Outcome | None:
        """With the leaks of rain and air that it has; None where it has none."""
        found = [o for o in self.outcomes if o.run.scenario not in ("tight", "past")]
        return found[-1] if found else None

    @property
    def deciding(self) -> Outcome:
        """The scenario with the worst class, and of these with the least margin."""
        return min(self.outcomes, key=lambda o: (-OUTCOMES.index(o.verdict.outcome), o.margin))

    @property
    def outcome(self) -> str:
        """Class of the worst scenario; see `hygro.assess.verdict.OUTCOMES`."""
        return self.deciding.verdict.outcome

    @property
    def passed(self) -> bool | None:
        """Whether every scenario passes; None where a hard criterion was not judged."""
        results = [outcome.verdict.passed for outcome in self.outcomes]
        return False if False in results else None if None in results else True

    @property
    def margin(self) -> float:
        """Least margin over the scenarios of the wall. [1]"""
        return min(outcome.margin for outcome in self.outcomes)

    @property
    def days_to_dry(self) -> float:
        """Most days until wood stays dry, over the scenarios; 0 where that is not judged. [d]"""
        found = [f.value for o in self.outcomes for f in o.verdict.of("drying") if f.hard]
        return max([value for value in found if value is not None], default=0.0)

    @property
    def nearest(self) -> str:
        """Reason of the hard finding that decides, and its scenario."""
        worst = self.deciding.verdict.worst
        words = "" if self.leaky is None else f" ({self.deciding.run.scenario})"
        return "no hard criterion was judged" if worst is None else worst.reason + words

    @property
    def leak_notes(self) -> tuple[str, ...]:
        """What is to be known of the leaks: that one dries the wall, or was not tried."""
        return leak_notes({o.run.scenario: o for o in self.outcomes})


@dataclass(frozen=True, repr=False)
class Comparison:
    """Walls that were compared, best first, and the runs that could not be done."""

    walls: tuple[Compared, ...]
    failed: tuple[Failure, ...] = ()

    def wall(self, name: str) -> Compared:
        """Return the wall of that name; raises `InputError` with near matches."""
        for item in self.walls:
            if item.name == name:
                return item
        known = near_matches(name, [item.name for item in self.walls])
        raise InputError(f"comparison: no wall '{name}' ({known})")

    @property
    def notes(self) -> tuple[str, ...]:
        """What is to be known of the verdicts of all walls, each once; see `Verdict.notes`."""
        return verdict_notes(self.walls)

    def to_dict(self) -> list[dict[str, object]]:
        """Plain values for JSON: one table a wall, in order, then the runs that failed."""
        return plain_results.to_dict(self.walls, self.failed)

    def to_json(self) -> str:
        """`to_dict` as JSON text."""
        return plain_results.to_json(self.walls, self.failed)

    def to_frame(self) -> pd.DataFrame:
        """One row a finding, wall and scenario first, then as `Verdict.to_frame`."""
        import pandas as pd

        found = []
        for item in self.walls:
            for outcome in item.outcomes:
                table = outcome.verdict.to_frame()
                table.attrs = {}
                table.insert(0, "wall", item.name)
                table.insert(1, "scenario", outcome.run.scenario)
                found.append(table)
        return pd.concat(found, ignore_index=True) if found else pd.DataFrame()

    def __repr__(self) -> str:
        """One line a wall, with what comes nearest to failing it, and what is to be known."""
        lines = [f"{row[0]}: {', '.join(row[1:])}" for row in self._rows()]
        lines += [f"{item.run.name}: not computed, {item.error}" for item in self.failed]
        return "\n".join(
            [
                f"Comparison of {count(len(self.walls), 'wall')}, best first",
                *lines,
                *(f"  note: {note}" for note in self.notes),
            ]
        )

    def _repr_html_(self) -> str:
        """Table of the walls, best first."""
        failed = [(f.run.name, "not computed", "", f.error) for f in self.failed]
        head = ("wall", "verdict", "reserve", "decided by")
        return html.table("Comparison, best first", head, [*self._rows(), *failed])

    def _rows(self) -> list[tuple[str, str, str, str]]:
        return [
            (
                f"{number} {item.name}",
                item.outcome,
                ", ".join(
                    [reserve_words(item.deciding.verdict)]
                    + ([item.reserve.words] if item.reserve is not None else [])
                ),
                item.nearest,
            )
            for number, item in enumerate(self.walls, start=1)
        ]


def verdict_notes(walls: Iterable[Compared]) -> tuple[str, ...]:
    """Return the notes of the verdicts of some walls, each once."""
    outcomes = (outcome for item in walls for outcome in item.outcomes)
    return tuple(once(note for outcome in outcomes for note in outcome.verdict.notes))


def compare(
    walls: Wall | Sequence[Wall],
    climate: xr.Dataset,
    room: Room,
    *,
    settings: Settings | None = None,
    criteria: Sequence[Judged] | Judged | str = CRITERIA,
    sheathing: str | None = None,
    skip_days: float | None = None,
    mould_model: Model = "ojanen2010",
    repeat: Repeat = "as needed",
    reserve: bool | None = None,
    progress: TaskProgress | None = None,
) -> Comparison:
    """Run some walls, each tight and with its leaks one by one, judge them and rank them.

    The runs are made in threads of this process, one for each core at a time. For records on disk,
    or other processes, see `hygro.study.runs`.

    Parameters
    ----------
    walls : Wall or sequence of Wall
        Their names must differ.
    climate : Dataset
        Canonical weather of at least a year, for all of them.
    room : Room
        Behind all of them.
    settings : Settings, optional
        Numerical settings.
    criteria, sheathing, skip_days, mould_model
        See `hygro.assess.verdict`.
    repeat : str
        See `PlannedRun`: one year of weather is run from the state at the start for
        closing in, and again and again for service; longer weather is run once.
    reserve : bool, optional
        True: search how much more each wall bears, all three numbers, and rank by it; takes some
        ten times as long as the comparison. False: do not. Left out: the winter humidity borne,
        where walls share a class, and the rain share where they bear the same: three to six times
        as long. See `hygro.study.bearing`.
    progress : callable, optional
        Called with the number of the run, the fraction done and the date reached.

    Raises
    ------
    InputError
        No wall, or two of one name. A run that cannot be done raises nothing; it stands in
        `Comparison.failed`.
    """
    must_be(walls, (Wall, Iterable), "walls", "a hygro.Wall or several")
    chosen = [walls] if isinstance(walls, Wall) else list(walls)
    must_be(reserve, (bool, type(None)), "reserve", "True, False or None")
    for wall in chosen:
        check_run(wall, climate, room)
    if sheathing is not None:
        chosen = [replace(wall, sheathing=sheathing) for wall in chosen]
    names = [wall.name for wall in chosen]
    twice = sorted({name for name in names if names.count(name) > 1})
    if not names or twice:
        raise InputError(f"compare: walls {names}: {'one name twice' if twice else 'none given'}")
    judging = Judging(as_rows(criteria), skip_days, mould_model)
    results = perform(
        plan([Candidate(wall, room) for wall in chosen], repeat=repeat),
        climate,
        settings=settings_of(settings),
        judging=judging,
        progress=progress,
        threads=True,
    )
    compared = paired(results)
    if reserve is not False:
        from hygro.study.bearing import with_reserves  # stands on this file

        given = {wall.name: (wall, room) for wall in chosen}
        compared = with_reserves(
            compared, given, climate, whole=bool(reserve), settings=settings, judging=judging,
            repeat=repeat,
        )  # fmt: skip
    return Comparison(compared, failures(results))


def paired(results: Iterable[Outcome | Failure]) -> tuple[Compared, ...]:
    """Put the runs of each wall together, best first.

    A wall of which a run failed is left out: its verdict would count all runs.
    """
    results = tuple(results)
    failed = {item.run.name for item in failures(results)}
    outcomes = [item for item in results if isinstance(item, Outcome)]
    names = dict.fromkeys(item.run.name for item in outcomes if item.run.name not in failed)
    found = [Compared(name, tuple(o for o in outcomes if o.run.name == name)) for name in names]
    return ranked(found)


def failures(results: Iterable[Outcome | Failure]) -> tuple[Failure, ...]:
    """Return the runs that could not be done."""
    return tuple(item for item in results if isinstance(item, Failure))
