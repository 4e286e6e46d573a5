"""Several walls in one climate, each without and with its leaks, ranked by margin.

Owns the ranking; how runs are made stands in `runs`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import xarray as xr

from hygro import html
from hygro.assess.criteria import CRITERIA, Judged
from hygro.assess.mould import Model
from hygro.assess.verdict import outcome_word
from hygro.errors import InputError, near_matches
from hygro.room.models import Room
from hygro.solve.settings import Settings
from hygro.study import told
from hygro.study.runs import (
    Candidate,
    Failure,
    Judging,
    Outcome,
    Progress,
    perform,
    plan,
)
from hygro.wall.wall import Wall

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Compared:
    """A wall without and, where it has any, with its leaks."""

    name: str
    tight: Outcome
    leaky: Outcome | None

    @property
    def outcomes(self) -> tuple[Outcome, ...]:
        """One or two outcomes, without leaks first."""
        return (self.tight,) if self.leaky is None else (self.tight, self.leaky)

    @property
    def passed(self) -> bool | None:
        """Whether every run of the wall passes; None where a hard criterion was not judged."""
        results = [outcome.verdict.passed for outcome in self.outcomes]
        return False if False in results else None if None in results else True

    @property
    def margin(self) -> float:
        """Least margin over the runs of the wall. [1]"""
        return min(outcome.margin for outcome in self.outcomes)

    @property
    def nearest(self) -> str:
        """Reason of the hard finding with the least margin, and whether leaks were on."""
        outcome = min(self.outcomes, key=lambda outcome: outcome.margin)
        worst = outcome.verdict.worst
        words = "" if self.leaky is None else f" (leaks {'on' if outcome.run.leaks else 'off'})"
        return "no hard criterion was judged" if worst is None else worst.reason + words


@dataclass(frozen=True, repr=False)
class Comparison:
    """Walls that were compared, best margin first, and the runs that could not be done."""

    walls: tuple[Compared, ...]
    failed: tuple[Failure, ...] = ()

    def wall(self, name: str) -> Compared:
        """Return the wall of that name; raises `InputError` with near matches."""
        for item in self.walls:
            if item.name == name:
                return item
        known = near_matches(name, [item.name for item in self.walls])
        raise InputError(f"comparison: no wall '{name}' ({known})")

    def to_dict(self) -> list[dict[str, object]]:
        """Plain values for JSON: one table a wall, in order, then the runs that failed."""
        return told.to_dict(self.walls, self.failed)

    def to_json(self) -> str:
        """`to_dict` as JSON text."""
        return told.to_json(self.walls, self.failed)

    def to_frame(self) -> pd.DataFrame:
        """One row a finding, wall and leaks first, then as `Verdict.to_frame`."""
        import pandas as pd

        found = []
        for item in self.walls:
            for outcome in item.outcomes:
                table = outcome.verdict.to_frame()
                table.attrs = {}
                table.insert(0, "wall", item.name)
                table.insert(1, "leaks", outcome.run.leaks)
                found.append(table)
        return pd.concat(found, ignore_index=True) if found else pd.DataFrame()

    def __repr__(self) -> str:
        """One line a wall, with what comes nearest to failing it."""
        lines = [f"{row[0]}: {', '.join(row[1:])}" for row in self._rows()]
        lines += [f"{item.run.name}: not computed, {item.error}" for item in self.failed]
        return "\n".join([f"Comparison of {len(self.walls)} walls, best margin first", *lines])

    def _repr_html_(self) -> str:
        """Table of the walls, best margin first."""
        failed = [(f.run.name, "not computed", "", f.error) for f in self.failed]
        head = ("wall", "verdict", "margin", "nearest to its limit")
        return html.table("Comparison, best margin first", head, [*self._rows(), *failed])

    def _rows(self) -> list[tuple[str, str, str, str]]:
        return [
            (
                f"{number} {item.name}",
                outcome_word(item.passed),
                f"{100 * item.margin:+.0f} %" if math.isfinite(item.margin) else "no margin",
                item.nearest,
            )
            for number, item in enumerate(self.walls, start=1)
        ]


def compare(
    walls: Wall | Sequence[Wall],
    climate: xr.Dataset,
    room: Room,
    *,
    settings: Settings | None = None,
    criteria: Sequence[Judged] = CRITERIA,
    sheathing: str | None = None,
    skip_days: float = 0.0,
    mould_model: Model = "ojanen2010",
    periodic: bool = False,
    progress: Progress | None = None,
) -> Comparison:
    """Run some walls, each without its leaks and with them, judge them and rank them.

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
    periodic : bool
        The climate is repeated until the year repeats itself, and that year is judged.
    progress : callable, optional
        Called with the number of the run, the fraction done and the date reached.

    Raises
    ------
    InputError
        No wall, or two of one name. A run that cannot be done raises nothing; it stands in
        `Comparison.failed`.
    """
    chosen = [walls] if isinstance(walls, Wall) else list(walls)
    if sheathing is not None:
        chosen = [replace(wall, sheathing=sheathing) for wall in chosen]
    names = [wall.name for wall in chosen]
    twice = sorted({name for name in names if names.count(name) > 1})
    if not names or twice:
        raise InputError(f"compare: walls {names}: {'one name twice' if twice else 'none given'}")
    results = perform(
        plan(
            [Candidate(wall, room) for wall in chosen],
            periodic=periodic,
        ),
        climate,
        settings=settings or Settings(),
        judging=Judging(tuple(criteria), skip_days, mould_model),
        progress=progress,
        threads=True,
    )
    return Comparison(paired(results), failures(results))


def paired(results: Iterable[Outcome | Failure]) -> tuple[Compared, ...]:
    """Put the runs of each wall together, best margin first.

    A wall of which a run failed is left out: its verdict would count both runs.
    """
    results = tuple(results)
    failed = {item.run.name for item in failures(results)}
    outcomes = [item for item in results if isinstance(item, Outcome)]
    names = dict.fromkeys(item.run.name for item in outcomes if item.run.name not in failed)
    found = []
    for name in names:
        mine = {o.run.leaks: o for o in outcomes if o.run.name == name}
        found.append(Compared(name, mine[False], mine.get(True)))
    return tuple(sorted(found, key=lambda item: -item.margin))


def failures(results: Iterable[Outcome | Failure]) -> tuple[Failure, ...]:
    """Return the runs that could not be done."""
    return tuple(item for item in results if isinstance(item, Failure))
