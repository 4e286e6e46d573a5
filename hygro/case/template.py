"""Walls that say only how they differ from another wall. Owns `base`, `change` and `remove`.

Works on the plain tables before validation, so that a derived wall is checked like any other.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping

from hygro.case.file import MOST_WALLS
from hygro.errors import near_matches
from hygro.paths import ELEMENT_KEYS, element_name
from hygro.problems import Problem
from hygro.types import Data

_ITS_OWN = ("name", "change", "remove", "note")
"""Keys that no wall takes over from another."""
MERGED = ("outside", "inside", "leaks", "initial")
"""Tables of a wall that are merged key by key; every other key is replaced as a whole."""


def expand(data: Mapping[str, object]) -> tuple[dict[str, object], list[Problem]]:
    """Return the tables with every derived wall written out, and what went wrong with that."""
    out = dict(data)
    walls = out.get("wall")
    if not isinstance(walls, list) or not all(isinstance(wall, dict) for wall in walls):
        return out, []
    if len(walls) > MOST_WALLS:
        return out, []  # refused for that
    problems = _repeated(walls)
    by_name = {str(wall.get("name")): wall for wall in walls}
    done: dict[str, dict[str, object]] = {}
    out["wall"] = [_resolve(wall, by_name, done, (), problems) for wall in walls]
    return out, problems


def standing(tables: Data) -> Data:
    """Return expanded tables in which each wall stands alone, so that expanding changes nothing."""
    derived = ("base", "change", "remove")
    walls = [{k: v for k, v in wall.items() if k not in derived} for wall in tables["wall"]]
    return copy.deepcopy({**tables, "wall": walls})


def _repeated(walls: list[dict[str, object]]) -> list[Problem]:
    names = [wall["name"] for wall in walls if isinstance(wall.get("name"), str)]
    return [
        Problem(
            f'wall."{name}"', f"name: {names.count(name)} walls have this name; names must differ"
        )
        for name in dict.fromkeys(names)
        if names.count(name) > 1
    ]


def _resolve(
    wall: dict[str, object],
    by_name: Mapping[str, dict[str, object]],
    done: dict[str, dict[str, object]],
    trail: tuple[str, ...],
    problems: list[Problem],
) -> dict[str, object]:
    name, base = str(wall.get("name")), wall.get("base")
    if not isinstance(base, str):
        return wall
    if name in done:
        return done[name]
    place = f'wall."{name}".base'
    if base not in by_name:
        problems.append(Problem(place, f"'{base}': no such wall; {near_matches(base, by_name)}"))
        return wall
    if base == name or base in trail:
        problems.append(Problem(place, f"'{base}': walls are based on each other in a circle"))
        return wall
    parent = _resolve(by_name[base], by_name, done, (*trail, name), problems)
    done[name] = _derive(parent, wall, problems)
    return done[name]


def _derive(parent: Data, wall: Data, problems: list[Problem]) -> Data:
    out = copy.deepcopy({k: v for k, v in parent.items() if k not in _ITS_OWN})
    for key, value in wall.items():
        if key in MERGED and isinstance(value, dict) and isinstance(out.get(key), dict):
            out[key] = out[key] | copy.deepcopy(value)
        else:
            out[key] = copy.deepcopy(value)
    place = f'wall."{wall.get("name")}"'
    for name, keys in _table(wall.get("change")).items():
        _change(out, name, keys, f"{place}.change", problems)
    removed = wall.get("remove")
    for name in removed if isinstance(removed, list) else []:
        element = _find(out, name, f"{place}.remove", problems)
        if element is not None:
            out["layers"].remove(element)
    return out


def _table(value: object) -> dict[str, object]:
    return value if isinstance(value, dict) else {}


def _change(
    wall: dict[str, object], name: str, keys: object, place: str, problems: list[Problem]
) -> None:
    element = _find(wall, name, place, problems)
    if element is None or not isinstance(keys, dict):
        return
    if "thickness" in keys:
        element.pop("resistance", None)
    if "resistance" in keys:
        element.pop("thickness", None)
    label = element_name(element)
    element |= copy.deepcopy(keys)
    if "gap" not in element:
        element.setdefault("name", label)


def _find(
    wall: Mapping[str, object], name: str, place: str, problems: list[Problem]
) -> dict[str, object] | None:
    layers = wall.get("layers")
    elements = [e for e in layers if isinstance(e, dict)] if isinstance(layers, list) else []
    for element in elements:
        if element_name(element) == name or name in (element.get(k) for k in ELEMENT_KEYS):
            return element
    known = near_matches(str(name), [element_name(e) for e in elements if element_name(e)])
    problems.append(Problem(place, f"'{name}': the wall has no such element; {known}"))
    return None
