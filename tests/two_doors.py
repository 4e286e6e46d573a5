"""The same keys given in a Python call and in a case file, and what each answers. Owns no rule."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple

from case_files import SOUND, write_case

import hygro
from hygro.case import load
from hygro.errors import InputError
from hygro.problems import RefusedError

Keys = Mapping[str, object]
WALLS = SOUND[SOUND.index("[[wall]]") : SOUND.index("[settings]")]
ROOM = SOUND[SOUND.index('kind = "constant"') : SOUND.index("[[wall]]")]

CLADDING = {"material": "fibre-cement", "name": "cladding", "thickness": "8 mm"}
GAP = {"gap": "vented gap", "depth": "20 mm", "air_change": 100}
SHEATHING = {"material": "osb", "name": "sheathing", "thickness": "11 mm"}
BATT = {"material": "glass-wool-batt", "name": "batt", "thickness": "140 mm"}
PAINT = {"membrane": "latex-paint", "name": "paint"}
LAYERS = [CLADDING, GAP, SHEATHING, BATT, PAINT]
SCREW = {"name": "screw", "spacing": 0.4, "diameter": "5 mm"}
GIRT = {"name": "girt", "kind": "line", "spacing": 0.6, "thickness": "1.2 mm"}


class Door(NamedTuple):
    """How the keys are given in Python, and where a case file has them."""

    call: Callable[..., Any]
    written: Callable[[Keys], tuple[str, str]]
    start: Keys = MappingProxyType({})
    """Keys that a row changes; what it sets to None is left out."""


def toml(value: object) -> str:
    """Write a value inline, as a case file has it."""
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {toml(item)}" for key, item in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(toml(item) for item in value) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{value}"'
    return repr(value) if isinstance(value, int) or math.isfinite(value) else str(value)


def lines(keys: Keys) -> str:
    return "".join(f"{key} = {toml(value)}\n" for key, value in keys.items())


def wall_text(keys: Keys) -> tuple[str, str]:
    whole = {"name": "plain", "azimuth": "N", "layers": LAYERS, **keys}
    return WALLS, f"[[wall]]\n{lines(whole)}\n"


def element(keys: Keys) -> Any:
    """Return the layer, sheet or gap of a table."""
    kind = hygro.Layer if "material" in keys else hygro.Gap if "gap" in keys else hygro.Membrane
    return kind(**keys)


def wall(layers: list[Keys] = LAYERS, **keys: object) -> Any:
    """Call `Wall` with objects for the tables of a case."""
    leaks = keys.pop("leaks", {})
    kinds = {"rain": hygro.RainLeak, "wetting": hygro.Wetting, "air": hygro.AirLeak}
    found = [kinds[name](**table) for name, table in leaks.items()]
    return hygro.Wall("plain", [element(e) for e in layers], leaks=found, **keys)


def _inside(*path: str) -> Callable[[Keys], tuple[str, str]]:
    """Say that the keys stand in a table of the wall."""

    def written(keys: Keys) -> tuple[str, str]:
        table: object = keys
        for name in reversed(path):
            table = {name: table}
        return wall_text(table)

    return written


def _element(place: int, key: str = "", *, many: bool = False) -> Callable[[Keys], tuple[str, str]]:
    """Say that the keys are those of an element, or stand in it under a key."""

    def written(keys: Keys) -> tuple[str, str]:
        whole = {**LAYERS[place], key: [keys] if many else keys} if key else keys
        return wall_text({"layers": [*LAYERS[:place], whole, *LAYERS[place + 1 :]]})

    return written


def _room(kind: str) -> Callable[[Keys], tuple[str, str]]:
    return lambda keys: (ROOM, lines({"kind": kind, **keys}) + "\n")


def _slab(keys: Keys) -> tuple[str, str]:
    return "[settings]", f'[materials.slab]\nlike = "osb"\n{lines(keys)}\n[settings]'


def _settings(keys: Keys) -> tuple[str, str]:
    return 'accuracy = "draft"\n', lines(keys)


def _slab_of_osb(**keys: object) -> Any:
    return hygro.get_material("osb", **{"key": "slab", **keys})


BOARD = {"material": "mineral-wool-board", "name": "board", "thickness": "100 mm"}
BALANCE = {"volume": 200, "air_change": 0.5}
CONSTANT = {"temperature": "21 degC", "rh": "45 %"}
DOORS = {
    "outside": Door(hygro.Outside, _inside("outside")),
    "inside": Door(hygro.Inside, _inside("inside")),
    "initial": Door(hygro.Initial, _inside("initial")),
    "wall": Door(wall, wall_text),
    "layer": Door(hygro.Layer, _element(3), BATT),
    "gap": Door(hygro.Gap, _element(1), GAP),
    "sheet": Door(hygro.Membrane, _element(4), PAINT),
    "openings": Door(
        hygro.Openings, _element(1, "air_change"), {"area": "0.005 m2/m", "height": 2.5}
    ),
    "rain leak": Door(hygro.RainLeak, _inside("leaks", "rain"), {"at": "sheathing"}),
    "wetting": Door(hygro.Wetting, _inside("leaks", "wetting"), {"at": "sheathing", "mass": 0.1}),
    "air leak": Door(hygro.AirLeak, _inside("leaks", "air"), {"at": "sheathing", "rate": 1e-4}),
    "joints": Door(hygro.Joints, _element(3, "joints"), {"width": "3 mm"}),
    "screw": Door(hygro.Attachment, _element(3, "attachments", many=True), SCREW),
    "girt": Door(hygro.Attachment, _element(3, "attachments", many=True), GIRT),
    "framing": Door(hygro.Framing, _element(3, "framing"), {"fraction": 0.25}),
    "constant room": Door(hygro.Constant, _room("constant"), CONSTANT),
    "rule": Door(hygro.OutdoorRule, _room("rule"), {"rule": "en15026_normal"}),
    "excess": Door(hygro.MoistureExcess, _room("excess"), {"rule": "iso13788_class3"}),
    "preset": Door(hygro.Preset, _room("preset"), {}),
    "balance": Door(hygro.Balance, _room("balance"), BALANCE),
    "settings": Door(hygro.Settings, _settings),
    "material": Door(_slab_of_osb, _slab),
}


def as_in_a_file(text: str) -> str:
    """A message of a Python call in the words of the message of a case file."""
    text = re.sub(r'hygro\.Membrane\("([^"]+)"\)', r'{membrane = "\1"}', text)
    text = re.sub(r'hygro\.Layer\("([^"]+)", \.\.\.\)', r'{material = "\1", thickness = ...}', text)
    text = re.sub(r"\b(\w+)='(\w+)'", r'\1 = "\2"', text)
    text = re.sub(r"\b(\w+)=(True|[\d.]+)", r"\1 = \2", text)
    words = {"argument": "key", "= True": "= true", "True or False": "true or false"}
    for call, file in words.items():
        text = text.replace(call, file)
    return text


def _texts(call: Callable[[], Any]) -> list[str]:
    """What was refused, problem by problem without its place; empty where nothing was."""
    try:
        call()
    except RefusedError as error:
        return [problem.text for problem in error.problems]
    except InputError as error:
        return [str(error)]
    return []


def both_answers(folder: Path, door: str, change: Keys) -> tuple[list[str], list[str]]:
    """Return what the Python call and the case file answer to the keys."""
    made = DOORS[door]
    keys: dict[str, object] = {k: v for k, v in {**made.start, **change}.items() if v is not None}
    path = write_case(folder, made.written(keys), hours=24)
    return _texts(lambda: made.call(**keys)), _texts(lambda: load(path))
