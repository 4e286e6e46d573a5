"""What the trade varies, by its own names. Owns the names, their bounds and what each one changes.

Resistances are those at 50 % RH and 10 °C, as in the hand numbers of a wall.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

from hygro.decide.base import Base
from hygro.decide.slot import Put, Slot, number_slot
from hygro.decide.tree import Keys, Tables, changed
from hygro.decide.winter import AtWinterHumidity
from hygro.errors import InputError, near_matches
from hygro.study.hand import judged_layer
from hygro.wall.elements import Gap, Layer, Membrane
from hygro.wall.resistance import conductivity

THINNEST = 1e-3
"""A layer that would be thinner is left out of the wall (our choice). [m]"""


class Trade(NamedTuple):
    """A quantity of the trade.

    Attributes
    ----------
    says : str
        For tables and axes.
    quantity : str
        A name in `hygro.units.QUANTITIES`.
    low, high : float
        Bounds in SI.
    likely : str
        Unit in which people write it.
    put : callable
        From the run and the element that is meant to what a value changes.
    """

    says: str
    quantity: str
    low: float
    high: float
    likely: str
    put: Callable[[str, Base, str | None], Put]


def trade_slot(name: str, base: Base, at: str | None) -> Slot:
    """Return the slot of a name of `TRADE`; raises `InputError` where there is no such thing."""
    row = TRADE[name]
    put = row.put(name, base, at)
    if name in _WHOLE:
        return _whole_number(name, row, put)
    if name == "climate":
        return Slot(name, "", _file_name, put)
    return number_slot(name, row.quantity, (row.low, row.high), put, likely=row.likely)


def _whole_number(name: str, row: Trade, put: Put) -> Slot:
    def read(value: Any) -> int:
        number = isinstance(value, int | float) and not isinstance(value, bool)
        if not number or value != int(value) or not row.low <= value <= row.high:
            raise InputError(
                f"{name} = {value!r}: must be a whole number from {row.low:g} to {row.high:g}"
            )
        return int(value)

    return Slot(name, "", read, put)


def _file_name(value: Any) -> str:
    if not isinstance(value, str) or not value:
        raise InputError(f"climate = {value!r}: must be the name of a weather file")
    return value


# Insulation


def _outboard(name: str, base: Base, at: str | None) -> int:
    return _insulation(name, base, at, outboard=True)


def _cavity(name: str, base: Base, at: str | None) -> int:
    return _insulation(name, base, at, outboard=False)


def _insulation(name: str, base: Base, at: str | None, *, outboard: bool) -> int:
    """Place of the one insulation outside, or inside, of the sheathing."""
    sheathing = _sheathing(base)
    found = [
        k
        for k, e in enumerate(base.wall.layers)
        if isinstance(e, Layer) and e.material.group == "insulation" and (k < sheathing) is outboard
    ]
    side = "outboard of" if outboard else "inside of"
    return _one(name, base, found, at, f"insulation {side} the sheathing")


def _one(name: str, base: Base, found: list[int], at: str | None, what: str) -> int:
    names = [base.wall.layers[k].name for k in found]
    if at is not None:
        if at not in names:
            raise InputError(f"{name}: at = '{at}': no {what}; {near_matches(at, names)}")
        return found[names.index(at)]
    if not found:
        raise InputError(f"{name}: wall '{base.wall.name}' has no {what}")
    if len(found) > 1:
        told = ", ".join(f"'{x}'" for x in names)
        raise InputError(f"{name}: which {what}? say at = one of {told}")
    return found[0]


def _sheathing(base: Base) -> int:
    name = judged_layer(base.wall)
    return next(k for k, e in enumerate(base.wall.layers) if e.name == name)


def _set_resistance(base: Base, place: int) -> Put:
    """Thickness of a layer by its R; a layer without one is left out."""
    layer = base.wall.layers[place]
    assert isinstance(layer, Layer)
    k, name = conductivity(layer.material), layer.name

    def put(tables: Tables, R: float) -> Tables:
        layers = tables["wall"]["layers"]
        at = next((i for i, e in enumerate(layers) if e.get("name") == name), None)
        if at is None:
            return tables
        if R * k < THINNEST:
            return changed(tables, ("wall", "layers"), [*layers[:at], *layers[at + 1 :]])
        return changed(tables, ("wall", "layers", at, "thickness"), R * k)

    return put


def _outboard_r(name: str, base: Base, at: str | None) -> Put:
    return _set_resistance(base, _outboard(name, base, at))


def _cavity_r(name: str, base: Base, at: str | None) -> Put:
    return _set_resistance(base, _cavity(name, base, at))


def _share(name: str, base: Base, at: str | None) -> Put:
    outer, inner = _outboard(name, base, at), _cavity(name, base, None)
    layers = [base.wall.layers[k] for k in (outer, inner)]
    total = sum(e.thickness / conductivity(e.material) for e in layers if isinstance(e, Layer))
    put_outer, put_inner = _set_resistance(base, outer), _set_resistance(base, inner)

    def put(tables: Tables, share: float) -> Tables:
        return put_inner(put_outer(tables, share * total), (1.0 - share) * total)

    return put


# Sheets and the gap


def _outer_sheet(name: str, base: Base, at: str | None) -> Put:
    return _sheet(name, base, at, outer=True)


def _inner_sheet(name: str, base: Base, at: str | None) -> Put:
    return _sheet(name, base, at, outer=False)


def _sheet(name: str, base: Base, at: str | None, *, outer: bool) -> Put:
    sheathing = _sheathing(base)
    found = [
        k
        for k, e in enumerate(base.wall.layers)
        if isinstance(e, Membrane) and (k < sheathing) is outer
    ]
    place = _one(
        name, base, found, at, f"sheet {'outside' if outer else 'inside'} of the sheathing"
    )
    wanted = base.wall.layers[place].name

    def put(tables: Tables, permeance: float) -> Tables:
        k = _number_of(tables, wanted)
        value = {"form": "permeance", "value": permeance}
        return changed(tables, ("wall", "layers", k, "membrane", "permeance"), value)

    return put


def _number_of(tables: Tables, name: str) -> int:
    layers = tables["wall"]["layers"]
    return next(k for k, e in enumerate(layers) if name in (e.get("name"), e.get("gap")))


def _gap_change(name: str, base: Base, at: str | None) -> Put:
    found = [k for k, e in enumerate(base.wall.layers) if isinstance(e, Gap)]
    place = found[0] if found and at is None else _one(name, base, found, at, "air gap")
    wanted = base.wall.layers[place].name

    def put(tables: Tables, rate: float) -> Tables:
        return changed(tables, ("wall", "layers", _number_of(tables, wanted), "air_change"), rate)

    return put


# Leaks


def _rain_leak(name: str, base: Base, at: str | None) -> Put:
    return _every_leak(name, base, at, "rain", lambda row, x: {**row, "fraction": x})


def _air_leak(name: str, base: Base, at: str | None) -> Put:
    def set_rate(row: Tables, x: float) -> Tables:
        return {**{k: v for k, v in row.items() if k != "permeance"}, "rate": x}

    return _every_leak(name, base, at, "air", set_rate)


def _every_leak(
    name: str, base: Base, at: str | None, kind: str, set_one: Callable[[Tables, float], Tables]
) -> Put:
    rows = base.tables["wall"]["leaks"][kind]
    if not rows:
        raise InputError(f"{name}: wall '{base.wall.name}' has no {kind} leak to vary")
    if at is not None and at not in [row["at"] for row in rows]:
        known = near_matches(at, [row["at"] for row in rows])
        raise InputError(f"{name}: at = '{at}': no {kind} leak there; {known}")
    place: Keys = ("wall", "leaks", kind)

    def put(tables: Tables, x: float) -> Tables:
        rows = tables["wall"]["leaks"][kind]
        found = [set_one(r, x) if at in (None, r["at"]) else r for r in rows]
        return changed(tables, place, found)

    return put


# Room, start, surroundings


def _winter_rh(_name: str, base: Base, _at: str | None) -> Put:
    """A constant or seasonal room by its own number, any other by its excess."""
    kind = base.tables["room"].get("kind")
    keys = {"constant": "rh", "seasonal": "winter_rh"}
    if kind in keys:
        return lambda tables, rh: changed(tables, ("room", keys[kind]), rh)

    def put(tables: Tables, rh: float) -> Tables:
        table = {"kind": AtWinterHumidity.kind, "room": tables["room"], "rh": rh}
        return {**tables, "room": table}

    return put


def _start_moisture(_name: str, base: Base, at: str | None) -> Put:
    wanted = base.wall.layer(at).name if at is not None else judged_layer(base.wall)
    kept = base.wall.initial_of(base.wall.layer(wanted)).temperature

    def put(tables: Tables, content: float) -> Tables:
        start = {"moisture_content": content, "temperature": kept}
        place = ("wall", "layers", _number_of(tables, wanted), "initial")
        return changed(tables, place, {k: v for k, v in start.items() if v is not None})

    return put


def _orientation(_name: str, _base: Base, _at: str | None) -> Put:
    return lambda tables, degrees: changed(tables, ("wall", "azimuth"), degrees)


def _climate_key(key: str) -> Callable[[str, Base, str | None], Put]:
    def put_of(_name: str, _base: Base, _at: str | None) -> Put:
        return lambda tables, value: changed(tables, ("climate", key), value)

    return put_of


def _climate_file(name: str, base: Base, _at: str | None) -> Put:
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


TRADE: dict[str, Trade] = {
    "outboard_share": Trade("outboard share of insulation", "fraction", 0.0, 1.0, "%", _share),
    "outboard_R": Trade("outboard R", "thermal resistance", 0.0, 100.0, "", _outboard_r),
    "cavity_R": Trade("cavity R", "thermal resistance", 0.0, 100.0, "", _cavity_r),
    "winter_rh": Trade("indoor RH in winter", "fraction", 0.01, 0.99, "%", _winter_rh),
    "rain_leak": Trade("rain leak", "fraction", 0.0, 1.0, "%", _rain_leak),
    "air_leak": Trade("air leak", "air flow", 0.0, 0.1, "L/(s.m2)", _air_leak),
    "gap_air_change": Trade("air change of the gap", "air change", 0.0, 1e5, "", _gap_change),
    "outer_permeance": Trade(
        "permeance of the outer sheet", "permeance", 1e-15, 1e-6, "perm", _outer_sheet
    ),
    "inner_permeance": Trade(
        "permeance of the inner sheet", "permeance", 1e-15, 1e-6, "perm", _inner_sheet
    ),
    "orientation": Trade("orientation", "angle", 0.0, 360.0, "", _orientation),
    "start_month": Trade("month of the start", "", 1, 12, "", _climate_key("start_month")),
    "start_moisture": Trade(
        "moisture content at the start", "fraction", 0.0, 20.0, "%", _start_moisture
    ),
    "climate": Trade("climate file", "", 0, 0, "", _climate_file),
    "year": Trade("year of the weather", "", 1, 10_000, "", _climate_key("year")),
}
"""What a study may vary by name."""
_WHOLE = ("start_month", "year")


def names() -> Iterator[tuple[str, str]]:
    """Yield every name of the trade with what it says."""
    for name, row in TRADE.items():
        yield name, row.says
