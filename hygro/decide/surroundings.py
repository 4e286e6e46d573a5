"""The room in winter, the start, the orientation and the weather. Owns what a value changes."""

from __future__ import annotations

from collections.abc import Callable

from hygro.decide.base import Base
from hygro.decide.slot import Put
from hygro.decide.tree import Tables, changed
from hygro.decide.which import number_of
from hygro.decide.winter import AtWinterHumidity
from hygro.errors import InputError, near_matches
from hygro.study.hand import judged_layer, winter_means
from weather.moistair import saturation_pressure

_OWN_RH = {"constant": "rh", "seasonal": "winter_rh"}
"""The key by which a kind of room says its humidity in winter."""


def winter_rh(_name: str, base: Base, _at: str | None) -> Put:
    """A constant or seasonal room by its own number, any other by its excess."""
    kind = base.tables["room"].get("kind")
    if kind in _OWN_RH:
        return lambda tables, rh: changed(tables, ("room", _OWN_RH[kind]), rh)

    def put(tables: Tables, rh: float) -> Tables:
        table = {"kind": AtWinterHumidity.kind, "room": tables["room"], "rh": rh}
        return {**tables, "room": table}

    return put


def another_room(_name: str, base: Base, _at: str | None) -> Put:
    """Put another room of the case behind the wall."""
    return lambda tables, name: {**tables, "room": base.rooms[name]}


def room_name(value: object, base: Base) -> str:
    """Read the name of a room of the case; raises `InputError` with near matches."""
    if str(value) not in base.rooms:
        raise InputError(f"room = {value!r}: no such room; {near_matches(str(value), base.rooms)}")
    return str(value)


def start_moisture(_name: str, base: Base, at: str | None) -> Put:
    """Set the moisture content of the sheathing, or of one layer, at the start."""
    wanted = base.wall.layer(at).name if at is not None else judged_layer(base.wall)
    kept = base.wall.initial_of(base.wall.layer(wanted)).temperature

    def put(tables: Tables, content: float) -> Tables:
        start = {"moisture_content": content, "temperature": kept}
        place = ("wall", "layers", number_of(tables, wanted), "initial")
        return changed(tables, place, {k: v for k, v in start.items() if v is not None})

    return put


def winter_now(_name: str, base: Base, _at: str | None) -> float:
    """Its own number of a constant or seasonal room, else the mean of the three coldest months."""
    table = base.tables["room"]
    if table.get("kind") in _OWN_RH:
        return float(table[_OWN_RH[table["kind"]]])
    T, p = winter_means(base.climates.at(base.tables["climate"]).data, base.room)[1:]
    return p / float(saturation_pressure(T))


def azimuth_now(_name: str, base: Base, _at: str | None) -> float:
    """Direction as written. [deg]"""
    return base.wall.azimuth


def orientation(_name: str, _base: Base, _at: str | None) -> Put:
    """Set the direction that the wall faces."""
    return lambda tables, degrees: changed(tables, ("wall", "azimuth"), degrees)


def climate_key(key: str) -> Callable[[str, Base, str | None], Put]:
    """Return what sets one key of the weather table."""

    def put_of(_name: str, _base: Base, _at: str | None) -> Put:
        return lambda tables, value: changed(tables, ("climate", key), value)

    return put_of


def climate_file(name: str, base: Base, _at: str | None) -> Put:
    """Set the weather file, beside the case."""
    entry = base.tables["climate"].get("entry")
    if entry is None:
        raise InputError(f"{name}: the climate was given as data; vary 'year' instead")
    others = {k: v for k, v in entry.items() if k not in ("file", "files", "generate")}
    folder = base.folder

    def put(tables: Tables, file: str) -> Tables:
        if not (folder / file).is_file():
            raise InputError(f'climate = "{file}": no such file ({folder / file})')
        return changed(tables, ("climate", "entry"), {**others, "file": file})

    return put
