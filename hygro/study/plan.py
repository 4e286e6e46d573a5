"""The runs of a comparison: every wall tight, and with each kind of leak it has alone and together.

Owns what a run is and which there are; performs none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Literal

from hygro.wall.assembly import Wall
from hygro.wall.room_models import Room

Scenario = Literal["tight", "rain", "air", "both"]
"""Which leaks are on: none, those of rain (and one-off wettings), those of air, all."""
Repeat = Literal["as needed", "once", "until periodic"]


@dataclass(frozen=True)
class Run:
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
    """

    name: str
    wall: Wall
    room: Room
    scenario: Scenario = "tight"
    sheathing: str | None = None
    file: Path | None = None
    resumable: bool = False
    repeat: Repeat = "as needed"
    provenance: dict[str, Any] = field(default_factory=dict)

    @property
    def leaks(self) -> bool:
        """Whether any leak of the wall is on."""
        return self.scenario != "tight"

    @property
    def service_file(self) -> Path | None:
        """Where the periodic record is saved that goes with one from the start."""
        return None if self.file is None else self.file.with_name(f"{self.file.stem}-service.nc")


def plan(
    walls: Sequence[tuple[Wall, Room, str | None]],
    *,
    folder: Path | None = None,
    provenance: dict[str, Any] | None = None,
    repeat: Repeat = "as needed",
) -> tuple[Run, ...]:
    """Return the runs that compare some walls: each tight, and with its leaks one by one.

    Parameters
    ----------
    walls : sequence of (Wall, Room, sheathing)
        What to compare.
    folder : Path, optional
        Where the results are saved.
    provenance : dict, optional
        What every record says of its origin.
    repeat : str
        See `Run`.
    """
    return tuple(
        Run(
            name=wall.name,
            wall=leaking,
            room=room,
            scenario=scenario,
            sheathing=sheathing,
            file=None if folder is None else folder / _file_name(wall.name, scenario),
            provenance=provenance or {},
            repeat=repeat,
        )
        for wall, room, sheathing in walls
        for scenario, leaking in scenarios(wall).items()
    )


def _file_name(wall: str, scenario: Scenario) -> str:
    return f"{slug(wall)}.nc" if scenario == "tight" else f"{slug(wall)}-{scenario}.nc"


def scenarios(wall: Wall) -> dict[Scenario, Wall]:
    """The wall tight, and with each kind of leak it has alone and together."""
    no_rain: dict[str, Any] = {"rain_leaks": (), "wettings": ()}
    no_air: dict[str, Any] = {"air_leaks": (), "air_flow": None}
    rain = bool(wall.rain_leaks or wall.wettings)
    air = bool(wall.air_leaks or wall.air_flow)
    found: dict[Scenario, Wall] = {"tight": replace(wall, **no_rain, **no_air)}
    if rain:
        found["rain"] = replace(wall, **no_air)
    if air:
        found["air"] = replace(wall, **no_rain)
    if rain and air:
        found["both"] = wall
    return found


def slug(name: str) -> str:
    """Name made fit for a file."""
    return "-".join("".join(c if c.isalnum() else " " for c in name.lower()).split())
