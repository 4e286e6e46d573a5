"""Walls of library materials with every feature, and what stands around them, by chance.

Three to six layers with insulation among them, sheets and gaps between, leaks of every kind; rooms
of every kind behind; before them windows of made years, or hours harder than any.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import xarray as xr

import weather
from hygro.case.normals import read_normals
from hygro.data_files import table
from hygro.errors import InputError
from hygro.material import Material
from hygro.room.models import Room
from hygro.room.presets import preset_names
from hygro.room.rooms import get_room
from hygro.wall.elements import Gap, Initial, Layer, Membrane, Openings
from hygro.wall.leaks import AirLeak, Leaks, RainLeak, Wetting
from hygro.wall.loads import Loads, build_loads
from hygro.wall.order import INDOORS
from hygro.wall.surfaces import Inside, Outside
from hygro.wall.wall import Wall
from tests.fuzz.draw import Draw
from tests.hard_loads import random_loads
from tests.wall_parts import FACES, INSULATION, MATERIALS, SHEETS, THICKNESS

CASES = Path(__file__).parents[2] / "cases"
PLACES = (
    "decisions/normals-halverske.toml",
    "decisions/normals-osmere.toml",
    "pool_hall/normals.toml",
    "questions/hot-normals.toml",
    "forty_walls/zone6.toml",
)
SEEDS = 3
"""Years made of each place."""
KINDS = ("constant", "seasonal", "rule", "excess", "use")
Element = Layer | Membrane | Gap


def random_wall(draw: Draw) -> Wall:
    """A wall; raises `InputError` where chance made one that is refused."""
    parts = _elements(draw)
    bright = draw.chance(0.3)  # metal: a dark one that keeps its heat would reach 130 °C in calm
    return Wall(
        "random wall",
        parts,
        azimuth=draw.of([0.0, 90.0, 180.0, 270.0]),
        outside=Outside(
            absorptance=draw.within(0.1, 0.6 if bright else 0.95), emissivity=0.3 if bright else 0.9
        ),
        inside=Inside(),
        air_flow=draw.within(-3e-4, 3e-4) if draw.chance(0.2) else None,
        leaks=_leaks(draw, [e for e in parts if isinstance(e, Layer)]),
    )


def _elements(draw: Draw) -> tuple[Element, ...]:
    count = draw.count(3, 6)
    kept = draw.count(1, count - 2)
    found: list[Element] = []
    for k in range(count):
        kind = draw.of(["none", "none", "sheet", "gap"])
        if kind == "gap" and k:
            found.append(_gap(draw, k))
        elif kind != "none":
            found.append(Membrane(draw.of(_outdoors(SHEETS, k)), name=f"sheet {k}"))
        pool = INSULATION if k == kept else FACES if k in (0, count - 1) else MATERIALS
        found.append(_layer(draw, draw.of(_outdoors(pool, k)), k))
    if draw.chance(0.5):
        found.append(Membrane(draw.of(SHEETS), name="paint"))
    return tuple(found)


def _outdoors(pool: list, place: int) -> list:
    """What may stand there: nothing outermost that belongs to a room."""
    return pool if place else [m for m in pool if m.key not in INDOORS]


def _layer(draw: Draw, material: Material, place: int) -> Layer:
    metal = material.density > 2000 and material.w_max < 5
    low, high = THICKNESS.get(material.group, (0.01, 0.1))
    return Layer(
        material,
        0.002 if metal else draw.within(low, high),
        name=f"layer {place}",
        initial=Initial(rh=draw.within(0.2, 0.95)),
        capillary_contact=draw.chance(0.5),
    )


def _gap(draw: Draw, place: int) -> Gap:
    openings = Openings(area=draw.within(1e-4, 0.01), height=draw.within(1.0, 6.0))
    return Gap(
        f"gap {place}",
        draw.within(0.006, 0.05),
        draw.of([0.0, draw.within(1.0, 300.0), openings]),
    )


def _leaks(draw: Draw, layers: list[Layer]) -> Leaks:
    """Up to one leak of each kind; nobody wets the inside of metal."""
    porous = [layer for layer in layers if layer.material.w_max > 20.0]
    rain, wetting, air = [], [], []
    if porous and draw.chance(0.5):
        rain.append(RainLeak(fraction=draw.within(0.001, 0.02), **_place(draw, porous)))
    if porous and draw.chance(0.5):
        wet = {"mass": draw.within(0.01, 1.0), "after": draw.count(0, 20)}
        wetting.append(Wetting(**wet, **_place(draw, porous)))
    if draw.chance(0.5):
        air.append(AirLeak(rate=10.0 ** draw.within(-6.0, -3.5), **_place(draw, layers)))
    return Leaks(rain=rain, wetting=wetting, air=air)


def _place(draw: Draw, layers: list[Layer]) -> dict[str, object]:
    deepest = min(0.02, *(layer.thickness for layer in layers))
    return {
        "at": draw.of(layers).name,
        "face": draw.of(["outer", "inner"]),
        "depth": draw.of([0.001, draw.within(0.001, deepest)]),
    }


def random_room(draw: Draw) -> Room:
    """A room of any kind that needs no file."""
    kind = draw.of(KINDS)
    rules = table("hygro.room", "rules")
    if kind == "constant":
        return get_room(kind, temperature=draw.within(283.0, 303.0), rh=draw.within(0.2, 0.75))
    if kind == "seasonal":
        return get_room(
            kind,
            winter_temperature=draw.within(288.0, 295.0),
            summer_temperature=draw.within(295.0, 301.0),
            winter_rh=draw.within(0.2, 0.6),
            summer_rh=draw.within(0.4, 0.8),
        )
    names = {"rule": rules["rh"], "excess": rules["excess"], "use": preset_names()}[kind]
    return get_room(draw.of(sorted(names)))


@cache
def year(place: str, seed: int) -> xr.Dataset:
    """A made year of a place."""
    return weather.generate(read_normals(CASES / place), years=1, seed=seed)


def random_surroundings(wall: Wall, draw: Draw, hours: int) -> Loads:
    """Loads of a wall: a window of a made year before a room, or hard hours."""
    while draw.chance(0.5):
        whole = year(draw.of(PLACES), draw.count(0, SEEDS - 1))
        first = draw.count(0, whole.sizes["time"] - hours)
        window = whole.isel(time=slice(first, first + hours))
        if not weather.has_rain(window):  # weather without any is refused
            continue
        try:
            return build_loads(wall, window, random_room(draw))
        except InputError as error:  # a room without air conditioning in a humid summer
            if "indoor air at" not in str(error):
                raise
    return random_loads(wall, draw.count(0, 2**31), hours)


def drawn(seed: int, number: int, most: int = 50) -> tuple[Wall, Draw, int]:
    """The wall of that number, what chance gives next, and how many were refused before it."""
    for turn in range(most):
        draw = Draw(seed, "wall", number, turn)
        try:
            return random_wall(draw), draw, turn
        except InputError as error:
            told = str(error)
            assert all(len(line) <= 300 for line in told.splitlines()), told
    raise AssertionError(f"{most} walls in a row were refused, the last: {told}")
