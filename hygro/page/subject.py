"""What a page is about: walls, their evidence, what was checked and what could not be run."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from hygro.errors import RecordError
from hygro.material.model import AnyMaterial
from hygro.page.evidence import Evidence
from hygro.page.gather import CLOSING, SERVICE, Gathered
from hygro.page.studies import ShownStudy
from hygro.show import words
from hygro.show.converted import converted
from hygro.study.certainty import Certainty
from hygro.study.compare import Compared
from hygro.types import Data, Plain
from hygro.units import System
from hygro.wall.elements import Gap
from hygro.wall.wall import Wall


class Section(NamedTuple):
    """A part of the page.

    `answers` are the questions of the check list that it answers here; `lacks` says of others why
    they are not.
    """

    key: str
    title: str
    template: str
    data: Data
    answers: tuple[str, ...] = ()
    lacks: Mapping[str, str] = {}


@dataclass(frozen=True)
class Subject:
    """Everything that the sections draw on.

    Attributes
    ----------
    checks : dict
        By wall: what finer runs of it changed.
    failed : sequence of str
        Runs that could not be done, and why.
    studies : sequence of ShownStudy
        Studies of these walls, or of others.
    """

    gathered: Gathered
    checks: Mapping[str, Sequence[Certainty]] = field(default_factory=dict)
    failed: Sequence[str] = ()
    system: System = "si"
    studies: Sequence[ShownStudy] = ()

    @property
    def walls(self) -> tuple[Compared, ...]:
        """Best first."""
        return self.gathered.walls

    def shown(self, item: Compared) -> Evidence:
        """Evidence of the record in which a wall is decided."""
        parts = self.gathered.evidence[item.name]
        worst = item.deciding.verdict.worst
        asked = SERVICE if worst is None else worst.criterion.question
        return parts.get(asked) or next(iter(parts.values()))

    def closing(self, item: Compared) -> Evidence | None:
        """Evidence of closing in, where it has a record of its own."""
        parts = self.gathered.evidence[item.name]
        return parts.get(CLOSING) if len(parts) > 1 else None

    def number(self, item: Compared) -> int:
        """Rank of a wall, from 1."""
        return self.walls.index(item) + 1

    @cached_property
    def attrs(self) -> dict[Plain, Plain]:
        """Attributes of the first record."""
        return dict(self.shown(self.walls[0]).attrs)

    @cached_property
    def cases(self) -> str:
        """Names of the cases; empty where walls have none."""
        names = [str(self.shown(x).attrs.get("case", "")) for x in self.walls]
        names = names or [shown.finding.about.case for shown in self.studies]
        return ", ".join(sorted({name for name in names if name}))

    @cached_property
    def title(self) -> str:
        """Names of the cases, or of walls."""
        return self.cases or ", ".join(item.name for item in self.walls[:3])

    @property
    def circumstances(self) -> str:
        """Place, rooms and lengths of the runs; of studies alone their walls and rooms."""
        if self.walls:
            outcomes = [outcome for item in self.walls for outcome in item.outcomes]
            return converted(words.circumstances(outcomes), self.system)
        of = [shown.finding.about for shown in self.studies]
        rooms = ", ".join(dict.fromkeys(about.room for about in of if about.room))
        told = f"wall: {', '.join(dict.fromkeys(about.wall for about in of))}"
        return f"{told}; room: {rooms}" if rooms else told

    @cached_property
    def materials(self) -> dict[str, AnyMaterial]:
        """Materials and sheets of all walls by key, in the order met."""
        found: dict[str, AnyMaterial] = {}
        for item in self.walls:
            for element in wall_of(item).layers:
                if not isinstance(element, Gap):
                    found.setdefault(element.material.key, element.material)
        return found

    def records(self) -> list[tuple[str, dict[Plain, Plain]]]:
        """What the records of the page say of themselves, with the wall and question of each."""
        return [
            (f"{item.name}, {question}", dict(part.attrs))
            for item in self.walls
            for question, part in self.gathered.evidence[item.name].items()
        ]


def wall_of(item: Compared) -> Wall:
    """The wall with its leaks of rain and air."""
    return (item.leaky or item.tight).run.wall


def stored_list(attrs: Mapping[Plain, Plain], name: str) -> list[str]:
    """A list that a record holds as JSON; raises `RecordError` where it cannot be read."""
    try:
        return [str(line) for line in json.loads(attrs[name])]
    except (KeyError, TypeError, ValueError) as error:
        raise RecordError(f"attribute '{name}' of the record cannot be read: {error}") from error
