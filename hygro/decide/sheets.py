"""Sheets on both sides of the sheathing, and the gap. Owns which are meant."""

from __future__ import annotations

from hygro.decide.base import Base
from hygro.decide.slot import Put
from hygro.decide.tree import Tables, changed
from hygro.decide.which import number_of, one_of, sheathing_of
from hygro.wall.elements import Gap, Membrane
from hygro.wall.resistance import HAND_RH


def outer_sheet(name: str, base: Base, at: str | None) -> Put:
    """Set the permeance of the sheet outside of the sheathing."""
    return _sheet(name, base, at, outer=True)


def inner_sheet(name: str, base: Base, at: str | None) -> Put:
    """Set the permeance of the sheet inside of the sheathing."""
    return _sheet(name, base, at, outer=False)


def _sheet_place(name: str, base: Base, at: str | None, *, outer: bool) -> int:
    sheathing = sheathing_of(base)
    found = [
        k
        for k, e in enumerate(base.wall.layers)
        if isinstance(e, Membrane) and (k < sheathing) is outer
    ]
    side = "outside" if outer else "inside"
    return one_of(name, base, found, at, f"sheet {side} of the sheathing")


def outer_now(name: str, base: Base, at: str | None) -> float:
    """Permeance of the outer sheet at 50 % RH. [kg/(m²·s·Pa)]"""
    return _permeance_of(base, _sheet_place(name, base, at, outer=True))


def inner_now(name: str, base: Base, at: str | None) -> float:
    """Permeance of the inner sheet at 50 % RH. [kg/(m²·s·Pa)]"""
    return _permeance_of(base, _sheet_place(name, base, at, outer=False))


def _permeance_of(base: Base, place: int) -> float:
    sheet = base.wall.layers[place]
    assert isinstance(sheet, Membrane)
    return float(sheet.material.permeance.permeance(HAND_RH))


def _sheet(name: str, base: Base, at: str | None, *, outer: bool) -> Put:
    wanted = base.wall.layers[_sheet_place(name, base, at, outer=outer)].name

    def put(tables: Tables, permeance: float) -> Tables:
        k = number_of(tables, wanted)
        value = {"form": "permeance", "value": permeance}
        return changed(tables, ("wall", "layers", k, "membrane", "permeance"), value)

    return put


def gap_change(name: str, base: Base, at: str | None) -> Put:
    """Set the air change of the outermost gap, or of one by its name."""
    found = [k for k, e in enumerate(base.wall.layers) if isinstance(e, Gap)]
    place = found[0] if found and at is None else one_of(name, base, found, at, "air gap")
    wanted = base.wall.layers[place].name

    def put(tables: Tables, rate: float) -> Tables:
        return changed(tables, ("wall", "layers", number_of(tables, wanted), "air_change"), rate)

    return put


def change_now(_name: str, base: Base, _at: str | None) -> float | None:
    """Air change of the outermost gap, where it is one number. [1/h]"""
    rates = [e.air_change for e in base.wall.gaps]
    return rates[0] if rates and isinstance(rates[0], float) else None
