"""The runs of a comparison before they are made: every wall tight and with its leaks one by one.

Owns which runs there are and what their files are called; runs nothing.
"""

from __future__ import annotations

import itertools
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal, NamedTuple, get_args

from hygro.errors import must_be_one_of
from hygro.room.models import Room
from hygro.study.hand import judged_layer
from hygro.types import Data
from hygro.wall.barrier import past_barrier
from hygro.wall.wall import Wall, tight

Scenario = Literal["tight", "rain", "past", "air", "both"]
"""Which leaks are on: none, those of rain (and one-off wettings), the same with rain past the water
barrier where that is asked for, those of air, those of rain and air."""
Repeat = Literal["as needed", "once", "until periodic"]

ENDINGS: dict[Scenario, str] = {
    "tight": "", "rain": "-rain", "past": "-past", "air": "-air", "both": "-both",
}  # fmt: skip
"""What the file name of a run ends in."""
SERVICE = "-service"
"""What the file name of the periodic record beside one from the start ends in."""


@dataclass(frozen=True)
class PlannedRun:
    """One run of a plan.

    Attributes
    ----------
    name : str
        Of the wall, without a word on leaks.
    wall : Wall
        With the leaks that are on.
    scenario : str
        Which these are.
    file : Path or None
        Where the result is saved.
    resumable : bool
        The result goes to its file in blocks; an interrupted run is taken up where it stopped.
    repeat : str
        "once": one record from the state at the start. "until periodic": the climate is repeated
        until the year repeats itself, and that year alone is recorded. "as needed": a climate of
        one year gives both, the first for closing in and the second for service (its file ends in
        ``-service.nc``); a longer one is run once and answers both.
    room_name, place : str
        What tables and figures call the room and the climate.
    """

    name: str
    wall: Wall
    room: Room
    scenario: Scenario = "tight"
    file: Path | None = None
    resumable: bool = False
    repeat: Repeat = "as needed"
    provenance: Data = field(default_factory=dict)
    room_name: str = ""
    place: str = ""

    @property
    def leaks(self) -> bool:
        """Whether any leak of the wall is on."""
        return self.scenario != "tight"

    @property
    def service_file(self) -> Path | None:
        """Where the periodic record is saved that goes with one from the start."""
        return None if self.file is None else self.file.with_stem(f"{self.file.stem}{SERVICE}")


class Candidate(NamedTuple):
    """A wall to be compared, the room behind it, and what that is called."""

    wall: Wall
    room: Room
    room_name: str = ""


def plan(
    walls: Sequence[Candidate],
    *,
    folder: Path | None = None,
    provenance: Data | None = None,
    repeat: Repeat = "as needed",
    place: str = "",
) -> tuple[PlannedRun, ...]:
    """Return the runs that compare some walls: each tight, and with its leaks one by one.

    Parameters
    ----------
    walls : sequence of Candidate
        What to compare; names of walls must differ.
    folder : Path, optional
        Where the results are saved.
    provenance : dict, optional
        What every record says of its origin.
    repeat, place
        See `PlannedRun`.

    Raises
    ------
    InputError
        A wall has no layer that could be judged as sheathing, or `repeat` is unknown.
    """
    must_be_one_of(repeat, get_args(Repeat), "repeat")
    stems = file_names([item.wall.name for item in walls])
    for item in walls:
        judged_layer(item.wall)  # said before anything is run
    return tuple(
        PlannedRun(
            name=wall.name,
            wall=leaking,
            room=room,
            scenario=scenario,
            file=None if folder is None else folder / f"{stems[wall.name]}{ENDINGS[scenario]}.nc",
            provenance=provenance or {},
            repeat=repeat,
            room_name=room_name,
            place=place,
        )
        for wall, room, room_name in walls
        for scenario, leaking in scenarios(wall).items()
    )


def scenarios(wall: Wall) -> dict[Scenario, Wall]:
    """Return the wall tight, and with each kind of leak it has alone and together."""
    leaks = wall.leaks
    rain = replace(leaks, air=())
    air = replace(leaks, rain=(), wetting=())
    found: dict[Scenario, Wall] = {"tight": tight(wall)}
    if rain.all():
        found["rain"] = replace(wall, leaks=rain, air_flow=None)
    past = past_barrier(wall.layers, leaks, wall.sheathing)
    if past is not None:
        found["past"] = replace(wall, leaks=past, air_flow=None)
    if air.all() or wall.air_flow:
        found["air"] = replace(wall, leaks=air)
    if "rain" in found and "air" in found:
        found["both"] = wall
    return found


def file_names(names: Sequence[str]) -> dict[str, str]:
    """Return for each name one fit for files: never empty, and no two alike in any letter case."""
    taken: set[str] = set()
    found: dict[str, str] = {}
    for name in dict.fromkeys(names):
        tries = itertools.chain((slug(name),), (f"{slug(name)}-{n}" for n in itertools.count(2)))
        found[name] = next(stem for stem in tries if not _files(stem) & taken)
        taken |= _files(found[name])
    return found


def _files(stem: str) -> set[str]:
    """Names of all files that a wall may have."""
    return {f"{stem}{end}{more}" for end in ENDINGS.values() for more in ("", SERVICE)}


def slug(name: str) -> str:
    """Name made fit for a file: letters, digits and hyphens, at most 50; "wall" without any."""
    folded = unicodedata.normalize("NFKC", name).casefold()
    words = "".join(c if c.isalnum() else " " for c in folded).split()
    return "-".join(words)[:50].strip("-") or "wall"
