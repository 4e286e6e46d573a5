"""Ready-made parameters of a wall, for `limit`: leaks, indoor humidity, outboard insulation."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from hygro.errors import InputError
from hygro.room.models import Constant, Room
from hygro.wall.elements import Layer
from hygro.wall.leaks import AirLeak, RainLeak, Source
from hygro.wall.resistance import conductivity
from hygro.wall.wall import Wall

Variant = Callable[[float], tuple[Wall, Room]]
"""Wall and room at a value of the parameter."""


def rain_leak_fraction(wall: Wall, room: Room, at: RainLeak | None = None) -> Variant:
    """Parameter: fraction of the driving rain that leaks. [1]

    Acts where the wall's own rain leaks act, or where `at` does, which replaces them.
    """
    leaks = wall.leaks.rain if at is None else (at,)
    _some(leaks, "rain leak")

    def build(x: float) -> tuple[Wall, Room]:
        rain = tuple(replace(leak, fraction=x) for leak in leaks)
        return replace(wall, leaks=replace(wall.leaks, rain=rain)), room

    return build


def air_leak_rate(wall: Wall, room: Room, at: AirLeak | None = None) -> Variant:
    """Parameter: constant rate of leaking indoor air, replacing the wall's own. [m³/(s·m²)]"""
    leaks = wall.leaks.air if at is None else (at,)
    _some(leaks, "air leak")

    def build(x: float) -> tuple[Wall, Room]:
        air = tuple(replace(leak, rate=x, permeance=None) for leak in leaks)
        return replace(wall, leaks=replace(wall.leaks, air=air)), room

    return build


def indoor_rh(wall: Wall, room: Constant) -> Variant:
    """Parameter: constant indoor relative humidity. [1]"""
    return lambda x: (wall, Constant(room.temperature, x))


def outboard_resistance(wall: Wall, room: Room, layer: str) -> Variant:
    """Parameter: thermal resistance of a layer at 50 % RH and 10 °C, by its thickness. [m²·K/W]"""
    found = wall.layer(layer)
    k = conductivity(found.material)

    def build(x: float) -> tuple[Wall, Room]:
        thick = replace(found, thickness=x * k)
        elements = tuple(thick if isinstance(e, Layer) and e is found else e for e in wall.layers)
        return replace(wall, layers=elements), room

    return build


def _some(places: Sequence[Source], what: str) -> None:
    if not places:
        raise InputError(f"limit: the wall has no {what} and no place for one was given")
