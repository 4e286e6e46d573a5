"""The case as values: walls with their rooms, settings, criteria and what to read for the climate.

Owns the reading of a case file from text to values, with all problems of the file in one error.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from pydantic import ValidationError

from hygro.assess.criteria import Judged
from hygro.assess.mould import Model
from hygro.case.climate_entry import ClimateEntry
from hygro.case.criteria import criteria
from hygro.case.errors import CaseError
from hygro.case.file import CaseFile, SettingsEntry, WallEntry
from hygro.case.locate import find
from hygro.case.materials import shelf
from hygro.case.normals import NO_CASE, is_normals
from hygro.case.template import expand, standing
from hygro.data_files import read_tables
from hygro.declare import read
from hygro.errors import InputError, near_matches
from hygro.problems import Problem, findings
from hygro.room.models import Room
from hygro.solve.settings import Settings
from hygro.spelling import of_a_file
from hygro.study.plan import Repeat
from hygro.study.varied import StudyEntry
from hygro.types import Data
from hygro.wall.attachments import framing_path
from hygro.wall.joints import worst_path
from hygro.wall.site import Site
from hygro.wall.wall import Wall


@dataclass(frozen=True)
class CaseWall:
    """A wall of a case with the room behind it."""

    wall: Wall
    room: Room
    room_name: str

    @property
    def name(self) -> str:
        """Name of the wall."""
        return self.wall.name

    @property
    def note(self) -> str:
        """What the wall is for."""
        return self.wall.note

    @property
    def sheathing(self) -> str | None:
        """Layer to be judged as sheathing; None lets the verdict choose."""
        return self.wall.sheathing


@dataclass(frozen=True)
class Case:
    """A case that has been read and checked; climate files are known to exist but not yet read.

    Attributes
    ----------
    repeat : str
        See `hygro.study.plan.PlannedRun`.
    data : mapping
        The tables of the file with derived walls written out; what a study varies.
    studies : mapping
        Its studies by name.
    text, sha256 : str
        Text of the file and its hash; empty for a case built from tables.
    """

    name: str
    note: str
    path: Path
    walls: tuple[CaseWall, ...]
    rooms: Mapping[str, Room]
    climate: ClimateEntry
    settings: Settings
    years: int
    start_month: int | None
    repeat: Repeat
    criteria: tuple[Judged, ...] | str
    skip_days: float | None
    mould_model: Model
    sha256: str
    text: str = field(repr=False)
    data: Data = field(repr=False)
    studies: Mapping[str, StudyEntry] = field(default_factory=dict, repr=False)

    def wall(self, name: str | None = None) -> CaseWall:
        """Return the wall of that name, or the only one.

        Raises
        ------
        InputError
            No wall has the name, or there are several and none was named.
        """
        names = [item.name for item in self.walls]
        if name is None and len(names) > 1:
            told = ", ".join(f'"{known}"' for known in names)
            raise InputError(
                f"{self.path} has {len(names)} walls: say which (--wall, wall =), one of {told}"
            )
        for item in self.walls:
            if name is None or item.name == name:
                return item
        raise InputError(f"{self.path}: no wall '{name}'; {near_matches(str(name), names)}")


def load(name: str | Path) -> Case:
    """Read a case file, or a built-in case by its name.

    Parameters
    ----------
    name : str or path
        The file, or the name of a case that comes along, such as "demonstration".

    Raises
    ------
    CaseError
        With every problem of the file, one a line.
    """
    path = find(name)
    try:
        data, text = read_tables(path)
    except InputError as error:
        raise CaseError(path, [Problem("", str(error))]) from error
    if is_normals(data):
        raise CaseError(path, [Problem("", NO_CASE)])
    return from_data(data, path=path, text=text)


_TOO_DEEP = Problem("", "tables or lists are nested too deep")


def from_data(data: Mapping[str, object], *, path: Path, text: str = "") -> Case:
    """Build a case from its tables, such as `Case.data` with a value changed.

    Parameters
    ----------
    data : mapping
        Tables of a case file.
    path : Path
        Where they come from; files that they name are sought beside it.
    text : str
        What the tables were read from, where they were.

    Raises
    ------
    CaseError
        With every problem, one a line.
    """
    try:
        return _case(data, path, text)
    except RecursionError:
        raise CaseError(path, [_TOO_DEEP]) from None


def _case(data: Mapping[str, object], path: Path, text: str) -> Case:
    tables, problems = expand(data)
    with of_a_file():
        file = _file(tables, path, problems)
    problems += _missing_files(file.climate, path.parent)
    walls, wrong = _walls(file)
    problems += _first_told(wrong, tables)
    rows = criteria(file.criteria, path.parent, problems)
    if problems:
        raise CaseError(path, problems)
    return Case(
        name=file.case.name,
        note=file.case.note,
        path=path,
        walls=tuple(walls),
        rooms=file.room,
        climate=file.climate,
        settings=file.settings.settings,
        years=file.settings.years,
        start_month=file.settings.start_month,
        repeat=file.settings.repeat,
        criteria=rows,
        skip_days=file.criteria.skip_days,
        mould_model=file.criteria.mould_model,
        sha256=hashlib.sha256(text.encode()).hexdigest() if text else "",
        text=text,
        data=standing(tables),
        studies=file.study,
    )


def _file(tables: Data, path: Path, problems: list[Problem]) -> CaseFile:
    """Read the expanded tables; what is wrong with the own materials is added to `problems`."""
    own, faulty, wrong = shelf(tables, path.parent)
    problems += wrong
    try:
        file: CaseFile = read(CaseFile, tables, shelf=own, faulty=faulty, folder=path.parent)
    except ValidationError as error:
        told = _first_told(findings(error, tables, CaseFile), tables)
        raise CaseError(path, [*problems, *_not_for_want_of_a_base(told, problems)]) from error
    return file


def _wall_tables(tables: Mapping[str, object]) -> list[Data]:
    """Return the wall tables of a file that may be malformed."""
    walls = tables.get("wall")
    return [w for w in walls if isinstance(w, dict)] if isinstance(walls, list) else []


def _first_told(found: list[Problem], tables: Mapping[str, object]) -> list[Problem]:
    """Leave out what a derived wall repeats of its base."""
    base_of = {str(w.get("name")): w.get("base") for w in _wall_tables(tables)}
    told = set(found)
    kept = []
    for problem in found:
        name = next((n for n in base_of if problem.path.startswith(f'wall."{n}"')), None)
        base = base_of.get(name or "")
        rest = problem.path.removeprefix(f'wall."{name}"')
        if base is None or Problem(f'wall."{base}"{rest}', problem.text) not in told:
            kept.append(problem)
    return kept


def _not_for_want_of_a_base(found: list[Problem], told: list[Problem]) -> list[Problem]:
    """Leave out that a wall has no layers where it is already said that its base is not there."""
    orphans = {p.path.removesuffix(".base") for p in told if p.path.endswith(".base")}
    return [p for p in found if p.path.removesuffix(".layers") not in orphans]


def _walls(file: CaseFile) -> tuple[list[CaseWall], list[Problem]]:
    """Return the walls with their rooms, second paths beside the first, and what is wrong."""
    walls: list[CaseWall] = []
    problems: list[Problem] = []
    for entry in file.wall:
        room = _room_name(entry, file, problems)
        if room in file.room:
            first = CaseWall(_on_site(entry.wall, file), file.room[room], room)
            walls += [first, *_second_paths(entry, first, problems)]
        problems += _wetted_again(entry, file.settings)
    return walls, problems


def _on_site(wall: Wall, file: CaseFile) -> Wall:
    """Return the wall with the site of the case, unless it has its own."""
    return replace(wall, site=file.site) if wall.site == Site() else wall


def _second_paths(entry: WallEntry, first: CaseWall, problems: list[Problem]) -> list[CaseWall]:
    """Return the same wall at a joint or at a stud, where the case asks for it."""
    found = []
    for i, name in enumerate(entry.also):
        path = worst_path if name == "joint" else framing_path
        try:
            found.append(replace(first, wall=path(first.wall)))
        except InputError as error:
            text = str(error).removeprefix(f"wall '{entry.name}'").lstrip(":, ")
            problems.append(Problem(f'wall."{entry.name}".also[{i}]', text))
    return found


def _wetted_again(entry: WallEntry, settings: SettingsEntry) -> list[Problem]:
    if settings.repeat != "until periodic" or not entry.leaks.wetting:
        return []
    text = 'a one-off wetting would come again in every round of settings.repeat = "until periodic"'
    return [Problem(f'wall."{entry.name}".leaks.wetting', text)]


def _missing_files(climate: ClimateEntry, folder: Path) -> list[Problem]:
    key = "generate.normals" if climate.generate else "file" if climate.file else "files"
    return [
        Problem(f"climate.{key}", f'"{name}": no such file beside the case ({folder / name})')
        for name in climate.sources
        if not (folder / name).is_file()
    ]


def _room_name(entry: WallEntry, file: CaseFile, problems: list[Problem]) -> str:
    place = f'wall."{entry.name}".room'
    if entry.room is None and len(file.room) == 1:
        return next(iter(file.room))
    if entry.room is None:
        problems.append(Problem(place, "missing; the case has more than one room"))
    elif entry.room not in file.room:
        known = near_matches(entry.room, file.room)
        problems.append(Problem(place, f"'{entry.room}': no such room; {known}"))
    return entry.room or ""
