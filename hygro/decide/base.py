"""The run that a study varies, as plain tables, and the way back from tables to values.

Owns what belongs to a run: wall, room, climate, settings, judging. Knows nothing of what varies.
"""

from __future__ import annotations

import dataclasses
import hashlib
import inspect
import json
import pickle
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

import xarray as xr
from pydantic import ValidationError

from hygro.assess.choose import name_of
from hygro.assess.criteria import Criterion
from hygro.case import Case, judging
from hygro.decide.climates import Climates, of_case, of_dataset
from hygro.decide.tree import Tables
from hygro.decide.winter import AtWinterHumidity
from hygro.declare import plain, read, read_or_refuse
from hygro.errors import InputError
from hygro.material import AnyMaterial, from_dict
from hygro.room.hourly import HourlyRoom
from hygro.room.models import Room
from hygro.room.rooms import AnyRoom
from hygro.solve.settings import Settings, settings_of
from hygro.study.plan import Repeat
from hygro.study.runs import Judging, judging_of
from hygro.types import Plain
from hygro.wall.elements import Element
from hygro.wall.wall import Wall


@dataclass(frozen=True)
class Base:
    """The run that varies.

    Attributes
    ----------
    name : str
        Of the case, by which a store knows whose it is.
    wall : Wall
        As written; `room`, `settings` likewise.
    room_name : str
        What the case calls the room.
    climates : Climates
        Weather by its table.
    tables : dict
        All of it as plain tables: `wall`, `room`, `climate`, `settings`, `judging`, `repeat`.
    given : mapping
        Rooms that are no tables, by the hash that stands for them.
    rooms : mapping
        Tables of all rooms of the case by their names.
    file, text : str
        Of the case, empty without one.
    """

    name: str
    wall: Wall
    room: Room
    room_name: str
    climates: Climates
    settings: Settings
    judging: Judging
    repeat: Repeat
    folder: Path
    tables: Tables = field(repr=False)
    given: Mapping[str, Room] = field(repr=False)
    rooms: Mapping[str, Tables] = field(default_factory=dict, repr=False)
    file: str = ""
    text: str = field(default="", repr=False)


def base_of_case(case: Case, wall: str) -> Base:
    """Return the run of a wall of a case."""
    item = case.wall(wall)
    found = _base(
        case.name,
        item.wall,
        item.room,
        item.room_name,
        of_case(case),
        (case.settings, judging(case), case.repeat),
        case.path.parent,
    )
    given = dict(found.given)
    rooms = {name: _room_table(room, given) for name, room in case.rooms.items()}
    return dataclasses.replace(found, rooms=rooms, given=given, file=case.path.name, text=case.text)


def base_of(
    wall: Wall,
    climate: xr.Dataset,
    room: Room,
    *,
    settings: Settings | None = None,
    judging: Judging | None = None,
    repeat: Repeat = "as needed",
) -> Base:
    """Return the run of a wall, a climate and a room; see `hygro.simulate`."""
    rules = (settings_of(settings), judging_of(judging), repeat)
    return _base(wall.name, wall, room, "", of_dataset(climate), rules, Path())


def _base(
    name: str,
    wall: Wall,
    room: Room,
    room_name: str,
    climates: Climates,
    rules: tuple[Settings, Judging, Repeat],
    folder: Path,
) -> Base:
    settings, how, repeat = rules
    given: dict[str, Room] = {}
    tables = {
        "wall": {key: value for key, value in plain(wall).items() if key not in ("name", "note")},
        "room": _room_table(room, given),
        "climate": climates.table,
        "settings": plain(settings),
        "judging": _judging_table(how),
        "repeat": repeat,
    }
    return Base(name, wall, room, room_name, climates, settings, how, repeat, folder, tables, given)


def _room_table(room: Room, given: dict[str, Room]) -> Tables:
    if dataclasses.is_dataclass(room) and hasattr(room, "kind") and not _has_a_file(room):
        return dict(plain(room))
    sha = hashlib.sha256(pickle.dumps(room)).hexdigest()
    given[sha] = room
    return {"kind": "given", "sha256": sha}


def _has_a_file(room: Room) -> bool:
    return isinstance(room, HourlyRoom)


def _judging_table(how: Judging) -> Tables:
    rows = how.criteria if isinstance(how.criteria, str) else [_row(c) for c in how.criteria]
    return {"criteria": rows, "skip_days": how.skip_days, "mould_model": how.mould_model}


def _row(item: Plain) -> list[object]:
    """What a criterion decides by: its limit, and the text of the function that finds it."""
    told = [name_of(item)]
    judge = item.judge if isinstance(item, Criterion) else item
    if isinstance(item, Criterion):
        told += [repr(getattr(item, key)) for key in ("limit", "sense", "hard", "question")]
    try:
        told.append(inspect.getsource(judge) if judge is not None else "")
    except (OSError, TypeError):
        told.append(repr(judge))
    return list(told)


def wall_of(tables: Tables, name: str) -> Wall:
    """Read the wall of some tables; raises `InputError` with what is wrong in it.

    Walls share the elements that they have in common, with what was derived of these.
    """
    elements = [_element(json.dumps(table)) for table in tables["layers"]]
    found: Wall = read_or_refuse(
        Wall, {"name": name, **tables, "layers": elements}, f"wall '{name}'"
    )
    return found


@lru_cache(maxsize=256)
def _element(text: str) -> Element | Tables:
    """Read an element of a wall; what cannot be read by itself is left to the wall that has it."""
    table = json.loads(text)
    parts = {k: _material(json.dumps(table[k])) for k in ("material", "membrane") if k in table}
    try:
        found: Element = read(Element, {**table, **parts})
    except ValidationError:
        return dict(table)
    return found


@lru_cache(maxsize=256)
def _material(text: str) -> AnyMaterial | Plain:
    given = json.loads(text)
    try:
        return from_dict(given) if isinstance(given, dict) else given
    except InputError:
        return given


def room_of(table: Tables, given: Mapping[str, Room]) -> Room:
    """Read the room of some tables; raises `InputError` with what is wrong in it."""
    kind = table.get("kind")
    if kind == "given":
        return given[table["sha256"]]
    if kind == AtWinterHumidity.kind:
        return AtWinterHumidity(room_of(table["room"], given), table["rh"])
    found: Room = read_or_refuse(AnyRoom, table, "room")
    return found
