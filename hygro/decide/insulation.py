"""Insulation outboard and in the cavity, by resistance. Owns how a value moves a thickness.

An R is the one of the rating, as `resistance` of a layer; a share is that of the hand numbers,
which take materials at 10 °C.
"""

from __future__ import annotations

from collections.abc import Callable

from hygro.decide.base import Base
from hygro.decide.slot import Put
from hygro.decide.tree import Tables, changed
from hygro.decide.which import one_of, sheathing_of
from hygro.material import Material
from hygro.wall.elements import Layer, declared_conductivity
from hygro.wall.resistance import conductivity

Conductivity = Callable[[Material], float]
THINNEST = 1e-3
"""A layer that would be thinner is left out of the wall (our choice). [m]"""


def _outboard(name: str, base: Base, at: str | None) -> int:
    return _insulation(name, base, at, outboard=True)


def _cavity(name: str, base: Base, at: str | None) -> int:
    return _insulation(name, base, at, outboard=False)


def _insulation(name: str, base: Base, at: str | None, *, outboard: bool) -> int:
    """Place of the one insulation outside, or inside, of the sheathing."""
    sheathing = sheathing_of(base)
    found = [
        k
        for k, e in enumerate(base.wall.layers)
        if isinstance(e, Layer) and e.material.group == "insulation" and (k < sheathing) is outboard
    ]
    side = "outboard of" if outboard else "inside of"
    return one_of(name, base, found, at, f"insulation {side} the sheathing")


def _set_resistance(base: Base, place: int, by: Conductivity = declared_conductivity) -> Put:
    """Thickness of a layer by its R; a layer without one is left out."""
    layer = base.wall.layers[place]
    assert isinstance(layer, Layer)
    k, name = by(layer.material), layer.name

    def put(tables: Tables, R: float) -> Tables:
        layers = tables["wall"]["layers"]
        at = next((i for i, e in enumerate(layers) if e.get("name") == name), None)
        if at is None:
            return tables
        if R * k < THINNEST:
            return changed(tables, ("wall", "layers"), [*layers[:at], *layers[at + 1 :]])
        return changed(tables, ("wall", "layers", at, "thickness"), R * k)

    return put


def outboard_r(name: str, base: Base, at: str | None) -> Put:
    """Set the R of the insulation outside of the sheathing."""
    return _set_resistance(base, _outboard(name, base, at))


def cavity_r(name: str, base: Base, at: str | None) -> Put:
    """Set the R of the insulation inside of the sheathing."""
    return _set_resistance(base, _cavity(name, base, at))


def share(name: str, base: Base, at: str | None) -> Put:
    """Set the share of R outside of the sheathing; the sum of both stays as written."""
    outer, inner = _outboard(name, base, at), _cavity(name, base, None)
    total = _resistance_of(base, outer, conductivity) + _resistance_of(base, inner, conductivity)
    put_outer = _set_resistance(base, outer, conductivity)
    put_inner = _set_resistance(base, inner, conductivity)

    def put(tables: Tables, share: float) -> Tables:
        return put_inner(put_outer(tables, share * total), (1.0 - share) * total)

    return put


def _resistance_of(base: Base, place: int, by: Conductivity = declared_conductivity) -> float:
    layer = base.wall.layers[place]
    assert isinstance(layer, Layer)
    return layer.thickness / by(layer.material)


def outboard_now(name: str, base: Base, at: str | None) -> float:
    """R outside, as written, at the rating. [m²·K/W]"""
    return _resistance_of(base, _outboard(name, base, at))


def cavity_now(name: str, base: Base, at: str | None) -> float:
    """R inside, as written, at the rating. [m²·K/W]"""
    return _resistance_of(base, _cavity(name, base, at))


def share_now(name: str, base: Base, at: str | None) -> float:
    """Share outside, as written. [1]"""
    outer = _resistance_of(base, _outboard(name, base, at), conductivity)
    return outer / (outer + _resistance_of(base, _cavity(name, base, None), conductivity))
