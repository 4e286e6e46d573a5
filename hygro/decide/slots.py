"""Where a value of a study goes: by a path of the case, or by a name of the trade.

Owns the step from a name to a slot: how its values are read, and how one is put into the tables of
a run. Names of the trade stand in `hygro.decide.trade`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields
from typing import NamedTuple

from hygro.case.climate_entry import ClimateEntry
from hygro.decide.base import Base, room_of, wall_of
from hygro.decide.factors import factor_slot, factor_words
from hygro.decide.quantities import quantity_at
from hygro.decide.slot import Slot, number_slot
from hygro.decide.trade import TRADE, trade_slot
from hygro.decide.tree import Keys, Tables, changed, locate, value_at
from hygro.declare import plain, read_or_refuse
from hygro.errors import InputError, near_matches
from hygro.paths import split_path
from hygro.room.rooms import AnyRoom
from hygro.solve.settings import Settings
from hygro.types import Plain
from hygro.wall.elements import Layer, declared_conductivity
from hygro.wall.wall import Wall

FACTOR = "factor"
"""First part of a name such as ``factor.sheathing.vapour``."""


def slot(name: str, base: Base, at: str | None = None) -> Slot:
    """Return where a value of that name goes.

    Parameters
    ----------
    name : str
        A name of `TRADE`, ``factor.LAYER.PROPERTY``, or a path: that of a case
        (``wall."name".layers.sheathing.thickness``, ``room.home.rh``, ``climate.annual_rain``,
        ``settings.tolerance``), or of the wall alone (``layers.sheathing.thickness``).
    base : Base
        The run that varies.
    at : str, optional
        Which element of the wall is meant, where a name could mean several.

    Raises
    ------
    InputError
        The name leads nowhere; near matches stand in the message.
    """
    if name in TRADE:
        return trade_slot(name, base, at)
    head, *rest = split_path(name)
    if head == FACTOR:
        return factor_slot(name, rest, base)
    if at is not None:
        raise InputError(f"{name}: at = '{at}' goes with a name of the trade, not with a path")
    place = _place(name, head, rest, base)
    return (
        _wall_slot(name, place.rest, base)
        if place.table == "wall"
        else _PLACES[place.table](name, place.rest, base)
    )


def says(name: str) -> str:
    """Return a name that leads to a slot in words, for axes and tables."""
    if name in TRADE:
        return TRADE[name].says
    head, *rest = split_path(name)
    return factor_words(rest) if head == FACTOR else _path_words(head, rest)


def _path_words(head: str | int, rest: list[str | int]) -> str:
    """A path in words: of the one wall that is studied, what its layer or table has."""
    parts = [str(part) for part in (rest[1:] if head == "wall" else [head, *rest])]
    if ".".join(parts) in PATHS:
        return PATHS[".".join(parts)]
    first, *more = parts[1:] if parts[0] == "layers" else parts
    keys = " ".join(more).replace("_", " ")
    return f"{first}: {keys}" if keys else first


PATHS = {
    "climate.file": "weather file",
    "climate.generate.normals": "climate normals",
    "leaks.rain.fraction": "rain leak",
    "leaks.air.rate": "air leak",
    "inside.coefficient": "heat transfer coefficient inside",
    "outside.absorptance": "solar absorptance outside",
}
"""Words of some paths, of one into a wall from there."""


class _Place(NamedTuple):
    table: str
    rest: list[str | int]


def _place(name: str, head: str | int, rest: list[str | int], base: Base) -> _Place:
    """Which table of the run a path leads into, and the rest of the path there."""
    if head == "wall" and rest:
        if rest[0] not in (base.wall.name,):
            known = near_matches(str(rest[0]), [base.wall.name])
            raise InputError(f"path {name!r}: leads to another wall than is studied; {known}")
        return _Place("wall", rest[1:])
    if head == "room" and rest:
        own = rest[1:] if rest[0] == base.room_name and len(rest) > 1 else rest
        return _Place("room", own)
    if head in ("settings", "climate") and rest:
        return _Place(str(head), rest)
    if head in _WALL_KEYS:
        return _Place("wall", [head, *rest])
    names = [*TRADE, *_WALL_KEYS, "room", "settings", "climate", FACTOR]
    raise InputError(f"{name!r}: no path and no name of the trade; {near_matches(name, names)}")


_WALL_KEYS = tuple(f.name for f in fields(Wall) if f.name not in ("name", "note"))


def _wall_slot(name: str, parts: list[str | int], base: Base) -> Slot:
    table = base.tables["wall"]
    keys = locate(table, parts, name)

    def probed(value: Plain) -> Tables:
        try:
            wall = wall_of(changed(table, keys, value), base.wall.name)
        except InputError as error:
            raise InputError(f"{name}: {_short(error, base)}") from None
        return dict(plain(wall))

    if keys[-1] == "resistance":
        return _resistance(name, keys, base)
    if keys[-1] == "permeance" and len(keys) == 3:
        return _permeance(name, keys)
    quantity = quantity_at(Wall, keys)

    def read(value: Plain) -> Plain:
        return value_at(probed(value), keys)

    return _probed_slot(name, quantity, ("wall", *keys), read, base)


def _short(error: InputError, base: Base) -> str:
    first = str(error).splitlines()[0]
    return first.removeprefix(f"wall '{base.wall.name}'").lstrip(":. ")


def _resistance(name: str, keys: Keys, base: Base) -> Slot:
    """A layer by its R, as the key `resistance` of a case has it."""
    number = keys[1]
    layer = base.wall.layers[int(number)]
    if not isinstance(layer, Layer):
        raise InputError(f"{name}: '{layer.name}' is no layer of a material: it has no resistance")
    k = declared_conductivity(layer.material)
    place: Keys = ("wall", *keys[:-1], "thickness")
    return number_slot(
        name,
        "thermal resistance",
        (1e-4, 100.0),
        lambda tables, x: changed(tables, place, x * k),
        now=layer.thickness / k,
    )


def _permeance(name: str, keys: Keys) -> Slot:
    place: Keys = ("wall", *keys[:-1], "membrane", "permeance")
    return number_slot(
        name,
        "permeance",
        (1e-15, 1e-6),
        lambda tables, x: changed(tables, place, {"form": "permeance", "value": x}),
        likely="perm",
    )


def _room_slot(name: str, parts: list[str | int], base: Base) -> Slot:
    table = base.tables["room"]
    if table.get("kind") == "given":
        raise InputError(f"{name}: the room comes from hourly values; vary winter_rh instead")
    keys = locate(table, parts, name)

    def probed(value: Plain) -> Plain:
        try:
            found = plain(room_of(changed(table, keys, value), base.given))
        except InputError as error:
            text = str(error).splitlines()[0].removeprefix("room").lstrip(":. ")
            raise InputError(f"{name}: {text}") from None
        return value_at(found, keys)

    return _probed_slot(name, quantity_at(AnyRoom, keys), ("room", *keys), probed, base)


def _settings_slot(name: str, parts: list[str | int], base: Base) -> Slot:
    if parts in (["years"], ["start_month"]):
        return _climate_number(name, str(parts[0]))
    table = base.tables["settings"]
    keys = locate(table, parts, name)

    def probed(value: Plain) -> Plain:
        return value_at(plain(read_or_refuse(Settings, changed(table, keys, value), name)), keys)

    return _probed_slot(name, "", ("settings", *keys), probed, base)


def _climate_number(name: str, key: str) -> Slot:
    def read(value: Plain) -> Plain:
        if isinstance(value, bool) or not isinstance(value, int | float) or value != int(value):
            raise InputError(f"{name} = {value!r}: must be a whole number")
        return int(value)

    return Slot(name, "", read, lambda tables, x: changed(tables, ("climate", key), x))


def _climate_slot(name: str, parts: list[str | int], base: Base) -> Slot:
    table = base.tables["climate"].get("entry")
    if table is None:
        raise InputError(f"{name}: the climate was given as data; vary 'year' instead")
    keys = locate(table, parts, name)

    def probed(value: Plain) -> Plain:
        found = read_or_refuse(ClimateEntry, changed(table, keys, value), "climate")
        return value_at(plain(found), keys)

    quantity = quantity_at(ClimateEntry, keys)
    return _probed_slot(name, quantity, ("climate", "entry", *keys), probed, base)


_PLACES: dict[str, Callable[[str, list[str | int], Base], Slot]] = {
    "room": _room_slot,
    "settings": _settings_slot,
    "climate": _climate_slot,
}


def _probed_slot(
    name: str, quantity: str, keys: Keys, probed: Callable[[Plain], Plain], base: Base
) -> Slot:
    def read(value: Plain) -> Plain:
        found = probed(value)
        if found is None:
            raise InputError(f"{name} = {value!r}: settles nothing that a study could vary")
        return found

    now = value_at(base.tables, keys)
    number = float(now) if isinstance(now, int | float) and not isinstance(now, bool) else None
    return Slot(name, quantity, read, lambda tables, x: changed(tables, keys, x), number)
