"""The tables of a case file. Owns the keys that are not already those of a wall or a room."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field

from hygro.assess.mould import Model
from hygro.case.climate_entry import ClimateEntry
from hygro.declare import declared
from hygro.fields import ONE, Count, Flag, Name, Number, Text, counted, within
from hygro.room.rooms import AnyRoom
from hygro.solve.settings import Settings
from hygro.study.varied import StudyEntry
from hygro.wall.elements import Element
from hygro.wall.site import Site
from hygro.wall.wall import MOST_ELEMENTS, Wall

MOST_WALLS = 1000
"""Walls of one case; each may be the copy of another, so a short file could ask for millions."""
Months = Annotated[Count, Field(ge=1, le=12)]


@declared
class CaseEntry:
    """Name and purpose of the case.

    Parameters
    ----------
    name : str
        Name.
    note : str
        What the case is for.
    """

    name: Name
    note: Text = ""


@declared
class WallEntry(Wall):
    """A wall of a case: the keys of a wall, and how it follows from another.

    Parameters
    ----------
    room : str, optional
        Name of the room behind it; left out: the only one.
    also : list of {"joint", "stud"}
        Adds the same wall along a joint of its boards, or along a stud.
    base : str, optional
        Another wall of the file whose keys this one takes over.
    change : table
        Alters single elements by their name: `change.sheathing = { thickness = "18 mm" }`.
    remove : list of str
        Elements that are taken out.
    """

    layers: Annotated[tuple[Element, ...], counted(0, MOST_ELEMENTS)] = ()
    room: Text | None = dataclasses.field(default=None, kw_only=True)
    also: tuple[Literal["joint", "stud"], ...] = dataclasses.field(default=(), kw_only=True)
    base: Text | None = dataclasses.field(default=None, kw_only=True)
    change: dict[str, dict[str, object]] = dataclasses.field(
        default_factory=dict, kw_only=True, hash=False
    )
    remove: tuple[Text, ...] = dataclasses.field(default=(), kw_only=True)

    @property
    def wall(self) -> Wall:
        """The wall without the keys of the file."""
        return Wall(**{f.name: getattr(self, f.name) for f in dataclasses.fields(Wall)})


@declared
class SettingsEntry(Settings):
    """How the runs are computed, and over which time.

    Parameters
    ----------
    years : int
        Years that are run, from the first hour of `start_month` on.
    start_month : int, optional
        Month in which the run starts; left out: where the weather starts.
    repeat : {"as needed", "once", "until periodic"}
        The years are run once, or again and again until they repeat themselves: then the last round
        is recorded, and the state at the start no longer counts. As needed: one year is run both
        ways, once for how the wall dries after it is closed, and repeated for its service; more
        years are run once.
    """

    years: Annotated[Count, Field(ge=1, le=100)] = 1
    start_month: Months | None = None
    repeat: Literal["as needed", "once", "until periodic"] = "as needed"

    @property
    def settings(self) -> Settings:
        """The numerical part."""
        return Settings(**{f.name: getattr(self, f.name) for f in dataclasses.fields(Settings)})


@declared
class CriterionEntry:
    """Another limit or weight for one criterion; a changed limit should name its source.

    Parameters
    ----------
    limit : float, optional
        In the unit of the criterion.
    hard : bool, optional
        Whether failing it fails the wall.
    source : str, optional
        Where the limit is from.
    """

    limit: Number | None = None
    hard: Flag | None = None
    source: Text | None = None


@declared
class CriteriaEntry:
    """How the runs are judged: the criteria with changes and your own, and what is left out.

    Parameters
    ----------
    skip_days : float, optional
        Days at the start of the run that are not judged; left out: the verdict chooses. [d]
    mould_model : {"ojanen2010", "hukka1999", "ashrae160e"}
        Model of the mould index.
    rules : {"default", "ashrae-160", "en-15026", "iso-13788"}
        Set of criteria that is taken, and changed where `change` says so.
    own : list of str
        Criteria in Python, `"mypackage.mymodule:my_criterion"`: a `Criterion`, or a function that
        takes the record and yields findings. Reading the case runs the module, which may stand
        beside the case file.
    change : table
        Changes by criterion: `change.mc_30d = { limit = 0.18, source = "..." }`.
    """

    skip_days: Annotated[float, *within(0.0, 36500.0)] | None = None
    mould_model: Model = "ojanen2010"
    rules: Literal["default", "ashrae-160", "en-15026", "iso-13788"] = "default"
    own: Annotated[tuple[Text, ...], ONE] = ()
    change: dict[str, CriterionEntry] = dataclasses.field(default_factory=dict, hash=False)


@declared
class CaseFile:
    """A case: several walls that share climate, rooms and settings.

    Parameters
    ----------
    case : table
        Name and purpose.
    climate : table
        Outdoor climate.
    room : tables
        Rooms by name: `[room.home]`.
    wall : list of tables
        Walls: `[[wall]]`.
    settings : table
        How the runs are computed.
    criteria : table
        How they are judged.
    site : table
        Surroundings of the walls that say nothing else.
    materials : tables
        Own materials by key; `like = "osb"` starts from another.
    material_files : list of str
        Files of own materials, beside the case.
    study : tables
        Studies by name: `[study.how_much]`.
    """

    case: CaseEntry
    climate: ClimateEntry
    room: Annotated[Mapping[str, AnyRoom], counted(1, of=dict)]
    wall: Annotated[tuple[WallEntry, ...], counted(1, MOST_WALLS)]
    settings: SettingsEntry = SettingsEntry()
    criteria: CriteriaEntry = CriteriaEntry()
    site: Site = Site()
    materials: dict[str, dict[str, object]] = dataclasses.field(default_factory=dict)
    material_files: tuple[Text, ...] = ()
    study: dict[str, StudyEntry] = dataclasses.field(default_factory=dict)
