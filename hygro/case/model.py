"""The case as values: walls with their rooms, settings, criteria and what to read for the climate.

Owns the reading of a case file from text to values, with all problems of the file in one error.
"""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from hygro.assess.criteria import Judged
from hygro.case.build import wall as build_wall
from hygro.case.climate_entry import ClimateEntry
from hygro.case.criteria import criteria
from hygro.case.locate import find
from hygro.case.materials import shelf
from hygro.case.rooms import room as build_room
from hygro.case.schema import CaseFile, SettingsEntry, WallEntry
from hygro.case.template import expand
from hygro.case.trouble import CaseError, Problem, findings
from hygro.errors import InputError, near_matches
from hygro.solve.settings import Settings
from hygro.study.plan import Repeat
from hygro.wall.assembly import Wall
from hygro.wall.attachments import framing_path
from hygro.wall.joints import worst_path
from hygro.wall.room_models import Room


@dataclass(frozen=True)
class CaseWall:
    """A wall of a case with the room behind it.

    Attributes
    ----------
    sheathing : str or None
        Layer to be judged as sheathing; None lets the verdict choose.
    """

    wall: Wall
    room: Room
    room_name: str
    sheathing: str | None = None
    note: str = ""

    @property
    def name(self) -> str:
        """Name of the wall."""
        return self.wall.name

    @property
    def leaks(self) -> bool:
        """Whether anything gets into the wall besides diffusion."""
        wall = self.wall
        return bool(wall.rain_leaks or wall.wettings or wall.air_leaks or wall.air_flow)

    def without_leaks(self) -> CaseWall:
        """Return the same wall with nothing getting in."""
        tight = replace(self.wall, rain_leaks=(), wettings=(), air_leaks=(), air_flow=None)
        return replace(self, wall=tight)


@dataclass(frozen=True)
class Case:
    """A case that has been read and checked; climate files are known to exist but not yet read.

    Attributes
    ----------
    repeat : str
        See `hygro.study.plan.Run`.
    data : mapping
        The tables of the file with derived walls written out; what a study varies.
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
    mould_model: str
    sha256: str
    text: str = field(repr=False)
    data: Mapping[str, Any] = field(repr=False)

    def wall(self, name: str) -> CaseWall:
        """Return the wall of that name; raises `InputError` with near matches."""
        for item in self.walls:
            if item.name == name:
                return item
        known = near_matches(name, [item.name for item in self.walls])
        raise InputError(f"{self.path.name}: no wall '{name}'; {known}")


def load(name: str | Path) -> Case:
    """Read a case file, or a built-in case by its name.

    Raises
    ------
    CaseError
        With every problem of the file, one a line.
    """
    path = find(name)
    text = _text(path)
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise CaseError(path, [Problem("", f"is not valid TOML: {error}")]) from error
    return from_data(data, path=path, text=text)


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise CaseError(path, [Problem("", "is not UTF-8 text; is it a case file?")]) from error
    except OSError as error:
        raise CaseError(path, [Problem("", f"cannot be read: {error.strerror}")]) from error


def from_data(data: Mapping[str, Any], *, path: Path, text: str = "") -> Case:
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
    tables, problems = expand(data)
    try:
        file = CaseFile.model_validate(tables)
    except ValidationError as error:
        told = findings(error, tables, CaseFile) + _sound_walls(tables, path)
        told = _not_for_want_of_a_base(_first_told(told, tables), problems)
        raise CaseError(path, [*problems, *told]) from error
    return _build(file, tables, path, text, problems)


def _sound_walls(tables: Mapping[str, Any], path: Path) -> list[Problem]:
    """Return what is wrong with the walls that are well formed, in a file that is not."""
    own = tables.get("materials")
    tables_of_own = own if isinstance(own, dict) else {}
    found, problems = shelf(tables_of_own, [], path.parent)
    for table in _wall_tables(tables):
        try:
            problems += build_wall(WallEntry.model_validate(table), found)[1]
        except ValidationError:
            continue  # told by the validation of the whole file
    return problems


def _wall_tables(tables: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return the wall tables of a file that may be malformed."""
    walls = tables.get("wall")
    return [w for w in walls if isinstance(w, dict)] if isinstance(walls, list) else []


def _first_told(found: list[Problem], tables: Mapping[str, Any]) -> list[Problem]:
    """Leave out what a derived wall repeats of its base."""
    base_of = {table.get("name"): table.get("base") for table in _wall_tables(tables)}
    told = set(found)
    kept = []
    for problem in found:
        name = next((n for n in base_of if problem.path.startswith(f'wall."{n}"')), None)
        base = base_of.get(name)
        rest = problem.path.removeprefix(f'wall."{name}"')
        if base is None or Problem(f'wall."{base}"{rest}', problem.text) not in told:
            kept.append(problem)
    return kept


def _not_for_want_of_a_base(found: list[Problem], told: list[Problem]) -> list[Problem]:
    """Leave out that a wall has no layers where it is already said that its base is not there."""
    orphans = {p.path.removesuffix(".base") for p in told if p.path.endswith(".base")}
    return [p for p in found if p.path.removesuffix(".layers") not in orphans]


def _build(
    file: CaseFile, tables: Mapping[str, Any], path: Path, text: str, problems: list[Problem]
) -> Case:
    found, own = shelf(file.materials, file.material_files, path.parent)
    problems = [*problems, *own, *_missing_files(file.climate, path.parent)]
    rooms = _rooms(file, path.parent, problems)
    walls = []
    repeated = []
    for entry in file.wall:
        room_name = _room_name(entry, file, problems)
        wall, wrong = build_wall(entry, found)
        repeated += wrong
        if wall is not None and entry.sheathing is not None:
            repeated += _no_sheathing(entry, wall)
        if wall is not None and room_name in rooms:
            first = CaseWall(wall, rooms[room_name], room_name, entry.sheathing, entry.note)
            walls += [first, *_second_paths(entry, first, repeated)]
        repeated += _wetted_again(entry, file.settings)
    problems += _not_for_want_of_a_base(_first_told(repeated, tables), problems)
    rows = criteria(file.criteria, path.parent, problems)
    if problems:
        raise CaseError(path, problems)
    return Case(
        name=file.case.name,
        note=file.case.note,
        path=path,
        walls=tuple(walls),
        rooms=rooms,
        climate=file.climate,
        settings=_settings(file.settings),
        years=file.settings.years,
        start_month=file.settings.start_month,
        repeat=file.settings.repeat,
        criteria=rows,
        skip_days=file.criteria.skip_days,
        mould_model=file.criteria.mould_model,
        sha256=hashlib.sha256(text.encode()).hexdigest() if text else "",
        text=text,
        data=tables,
    )


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


def _settings(entry: SettingsEntry) -> Settings:
    return Settings(accuracy=entry.accuracy, tolerance=entry.tolerance, freezing=entry.freezing)


def _missing_files(climate: ClimateEntry, folder: Path) -> list[Problem]:
    key = "generate.normals" if climate.generate else "file" if climate.file else "files"
    return [
        Problem(f"climate.{key}", f'"{name}": no such file beside the case ({folder / name})')
        for name in climate.sources
        if not (folder / name).is_file()
    ]


def _rooms(file: CaseFile, folder: Path, problems: list[Problem]) -> dict[str, Room]:
    rooms = {}
    for name, entry in file.room.items():
        try:
            rooms[name] = build_room(entry, folder)
        except CaseError as error:
            problems += [Problem(f"room.{name}.{where}", text) for where, text in error.problems]
        except InputError as error:
            problems.append(Problem(f"room.{name}", str(error)))
    return rooms


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


def _no_sheathing(entry: WallEntry, wall: Wall) -> list[Problem]:
    names = [layer.name for layer in wall.solids]
    if entry.sheathing in names:
        return []
    known = near_matches(str(entry.sheathing), names)
    text = f"'{entry.sheathing}': the wall has no such layer; {known}"
    return [Problem(f'wall."{entry.name}".sheathing', text)]
