"""Ready-made parameters of a wall, for `limit`: leaks, indoor humidity, outboard insulation."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import xarray as xr

from hygro.errors import InputError
from hygro.room.models import Constant, Room
from hygro.room.moister import Moister
from hygro.study.hand import winter_means
from hygro.wall.elements import Layer
from hygro.wall.leaks import AirLeak, RainLeak, Source
from hygro.wall.resistance import conductivity, resistance
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure

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


def winter_rh(wall: Wall, room: Room, climate: xr.Dataset) -> Variant:
    """Parameter: mean indoor humidity of the three coldest months, by vapour in cold weather. [1]

    See `Moister`. Beyond 95 % in single hours the mean comes out lower than asked for.
    """
    _, T, p = winter_means(climate, room)
    _, _, moister = winter_means(climate, Moister(room, 1.0))
    added = moister - p  # per Pa of excess, as no hour is near its bounds

    def build(x: float) -> tuple[Wall, Room]:
        if not added > 0.0:
            raise InputError(
                "winter humidity: it is never cold here, so the room's cannot be varied"
            )
        return wall, Moister(room, (x * float(saturation_pressure(T)) - p) / added)

    return build


def rain_share(wall: Wall, room: Room) -> Variant:
    """Parameter: the largest share of the driving rain that a rain leak lets in. [1]

    All rain leaks grow alike. Rain past the water barrier, where that is asked for, stays.
    """
    _some(wall.leaks.rain, "rain leak")
    most = max(leak.fraction for leak in wall.leaks.rain)
    if not most:
        raise InputError(f"wall '{wall.name}': its rain leaks let no rain in")

    def build(x: float) -> tuple[Wall, Room]:
        rain = tuple(
            replace(leak, fraction=min(x * leak.fraction / most, 1.0)) for leak in wall.leaks.rain
        )
        return replace(wall, leaks=replace(wall.leaks, rain=rain)), room

    return build


def insulation_outboard(wall: Wall, sheathing: str) -> tuple[Layer, ...]:
    """Return the insulation layers outward of the sheathing."""
    at = [element.name for element in wall.layers].index(sheathing)
    return tuple(
        e for e in wall.layers[:at] if isinstance(e, Layer) and e.material.group == "insulation"
    )


def outboard_insulation(wall: Wall, room: Room, sheathing: str) -> Variant:
    """Parameter: resistance of all insulation outward of the sheathing. [m²·K/W]

    At 50 % RH and 10 °C; all layers of it grow alike in thickness.
    """
    found = insulation_outboard(wall, sheathing)
    if not found:
        raise InputError(f"wall '{wall.name}': no insulation outward of '{sheathing}'")
    whole = sum(resistance(layer) for layer in found)

    def build(x: float) -> tuple[Wall, Room]:
        elements = tuple(
            replace(e, thickness=e.thickness * x / whole)
            if isinstance(e, Layer) and any(e is layer for layer in found)
            else e
            for e in wall.layers
        )
        return replace(wall, layers=elements), room

    return build


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
