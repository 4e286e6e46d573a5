"""A declared wall or room survives plain tables, JSON, pickling and `replace` unchanged."""

from __future__ import annotations

import json
import pickle
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from typing import Any

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from pydantic import ValidationError
from random_walls import walls

from hygro.declare import plain, read
from hygro.paths import set_value
from hygro.room.balance import Ashrae160Intermediate, Balance, Buffer
from hygro.room.models import RULES, Constant, MoistureExcess, OutdoorRule, Seasonal
from hygro.room.presets import Preset, preset_names
from hygro.room.rooms import AnyRoom
from hygro.wall.elements import Gap, Layer, Washing
from hygro.wall.interruptions import Attachment, Framing, Joints
from hygro.wall.wall import Wall

few = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
share, kelvin = st.floats(0.01, 0.99), st.floats(250.0, 320.0)
temperature = st.one_of(kelvin, st.sampled_from(RULES))
maybe = st.one_of(st.none(), share)
hourly = st.one_of(st.floats(0.0, 9.0), st.lists(st.floats(0.0, 9.0), min_size=24, max_size=24))


@st.composite
def corners(draw: object, kind: object, key: str, values: object) -> Any:
    """A rule of its own with two to five corners."""
    outdoor = draw(st.lists(kelvin, min_size=2, max_size=5, unique=True))
    line = draw(st.lists(values, min_size=len(outdoor), max_size=len(outdoor)))
    return kind("own", draw(temperature), outdoor=sorted(outdoor), **{key: line})


ROOMS = st.one_of(
    st.builds(Constant, kelvin, share),
    st.builds(Seasonal, kelvin, kelvin, share, share, st.floats(1.0, 366.0)),
    st.builds(OutdoorRule, st.just("en15026_normal"), temperature),
    st.builds(MoistureExcess, st.just("iso13788_class3"), temperature, rh_limit=maybe),
    corners(OutdoorRule, "rh", share),
    corners(MoistureExcess, "excess", st.floats(0.0, 900.0)),
    st.builds(Preset, st.sampled_from(preset_names())),
    st.builds(
        Ashrae160Intermediate, st.floats(1.0, 1e4), st.integers(1, 9), st.booleans(), temperature
    ),
    st.builds(
        Balance,
        volume=st.floats(1.0, 1e4),
        air_change=hourly,
        production=st.floats(0.0, 0.01),
        occupants=hourly,
        temperature=temperature,
        initial_rh=maybe,
        buffer=st.one_of(
            st.none(), st.builds(Buffer, st.floats(1, 9), st.floats(1, 9), st.floats(0.0, 1e-6))
        ),
    ),
)
EXTRAS = {
    "joints": st.builds(Joints, st.floats(0.001, 0.01), layers=st.sampled_from([1, 2])),
    "framing": st.builds(Framing, share, conductivity=st.floats(0.1, 50.0)),
    "attachments": st.lists(
        st.builds(Attachment, st.just("screw"), st.floats(0.3, 1.0), st.floats(0.003, 0.008)),
        max_size=2,
    ),
}


@st.composite
def furnished(draw: object) -> Wall:
    """A random wall; a layer of it has joints, metal, framing or wind washing."""
    wall = draw(walls())
    place = draw(st.integers(0, len(wall.layers) - 1))
    layer = wall.layers[place]
    assume(isinstance(layer, Layer))
    assert isinstance(layer, Layer)
    kind = draw(st.sampled_from([*EXTRAS, "wind_washing"]))
    extra = draw(EXTRAS[kind]) if kind in EXTRAS else Washing(0.01, permeability=1e-9)
    # 10 mm are washed; a leak may lie 20 mm deep in the rest
    washable = layer.material.liquid is None and layer.thickness > 0.03
    assume(kind in EXTRAS or (washable and not any(_beside_gap(wall, place))))
    changed = replace(layer, **{kind: extra})
    return replace(wall, layers=(*wall.layers[:place], changed, *wall.layers[place + 1 :]))


def _beside_gap(wall: Wall, place: int) -> Iterator[bool]:
    for near in (place - 1, place + 1):
        yield 0 <= near < len(wall.layers) and isinstance(wall.layers[near], Gap)


def parts(value: object) -> Iterator[Any]:
    """The value and every declared value in it."""
    if is_dataclass(value):
        yield value
        for field in fields(value):
            yield from parts(getattr(value, field.name))
    elif isinstance(value, tuple):
        for item in value:
            yield from parts(item)


def unchanged(kind: object, value: object) -> None:
    table = plain(value)
    assert read(kind, table) == value
    assert read(kind, json.loads(json.dumps(table))) == value
    again = pickle.loads(pickle.dumps(value))
    assert again == value
    assert hash(again) == hash(value) == hash(read(kind, table))
    for part in parts(value):
        assert replace(part) == part


@few
@given(furnished())
def test_a_wall_is_unchanged(wall: Wall) -> None:
    unchanged(Wall, wall)


@few
@given(ROOMS)
def test_a_room_is_unchanged(room: object) -> None:
    unchanged(AnyRoom, room)


def numbers(table: object, path: str = "") -> Iterator[tuple[str, float]]:
    """Path and value of every number of a wall's tables but those of materials."""
    if isinstance(table, dict):
        for key, item in table.items():
            if key not in ("material", "membrane"):
                yield from numbers(item, f"{path}.{key}".lstrip("."))
    elif isinstance(table, list):
        for i, item in enumerate(table):
            yield from numbers(item, f"{path}[{i}]")
    elif isinstance(table, int | float) and not isinstance(table, bool):
        yield path, table


def differing(one: object, other: object, path: str = "") -> Iterator[str]:
    """Paths at which two tables of the same shape differ."""
    if isinstance(one, dict) and isinstance(other, dict) and one.keys() == other.keys():
        for key in one:
            yield from differing(one[key], other[key], f"{path}.{key}".lstrip("."))
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        for i, (x, y) in enumerate(zip(one, other, strict=True)):
            yield from differing(x, y, f"{path}[{i}]")
    elif one != other:
        yield path


def moved(table: Any, path: str, value: float) -> Wall:
    """The wall with a number a little smaller, or larger where it is at its lower bound."""
    try:
        return read(Wall, set_value(table, path, 0.999 * value if value else 1e-4))
    except ValidationError:
        return read(Wall, set_value(table, path, 1.001 * value))


LEFT_OUT = ("blocked", "thickness", "diameter")
"""Keys whose 0 stands for left out, because they go with another key."""


@few
@given(furnished())
def test_a_number_set_by_its_path_changes_the_wall_there_alone(wall: Wall) -> None:
    table = plain(wall)
    told = [(p, x) for p, x in numbers(table) if x or not p.endswith(LEFT_OUT)]
    told = [(p, x) for p, x in told if not p.endswith("joints.layers")]  # 1 or 2
    assert len(told) > 10
    for path, value in told:
        changed = moved(table, path, value)
        assert list(differing(table, plain(changed))) == [path]
