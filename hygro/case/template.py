"""Walls that say only how they differ from another wall. Owns `base`, `change` and `remove`.

Works on the plain tables before validation, so that a derived wall is checked like any other; also
owns the paths by which a study sets a single value.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Mapping
from typing import Any

from hygro.errors import InputError, near_matches
from hygro.problems import Problem

ELEMENT_KEYS = ("material", "membrane", "gap")
MERGED = ("outside", "inside", "leaks", "initial")
"""Tables of a wall that are merged key by key; every other key is replaced as a whole."""


def expand(data: Mapping[str, Any]) -> tuple[dict[str, Any], list[Problem]]:
    """Return the tables with every derived wall written out, and what went wrong with that."""
    out = copy.deepcopy(dict(data))
    walls = out.get("wall")
    if not isinstance(walls, list) or not all(isinstance(wall, dict) for wall in walls):
        return out, []
    problems = _repeated(walls)
    by_name = {str(wall.get("name")): wall for wall in walls}
    done: dict[str, dict[str, Any]] = {}
    out["wall"] = [_resolve(wall, by_name, done, (), problems) for wall in walls]
    return out, problems


def _repeated(walls: list[dict[str, Any]]) -> list[Problem]:
    names = [wall.get("name") for wall in walls]
    return [
        Problem(
            f'wall."{name}"', f"name: {names.count(name)} walls have this name; names must differ"
        )
        for name in dict.fromkeys(names)
        if name is not None and names.count(name) > 1
    ]


def _resolve(
    wall: dict[str, Any],
    by_name: Mapping[str, dict[str, Any]],
    done: dict[str, dict[str, Any]],
    trail: tuple[str, ...],
    problems: list[Problem],
) -> dict[str, Any]:
    name, base = str(wall.get("name")), wall.get("base")
    if base is None or name in done:
        return done.get(name, wall) if base is not None else wall
    place = f'wall."{name}".base'
    if base not in by_name:
        problems.append(
            Problem(place, f"'{base}': no such wall; {near_matches(str(base), by_name)}")
        )
        return wall
    if base == name or base in trail:
        problems.append(Problem(place, f"'{base}': walls are based on each other in a circle"))
        return wall
    parent = _resolve(by_name[base], by_name, done, (*trail, name), problems)
    done[name] = _derive(parent, wall, problems)
    return done[name]


def _derive(
    parent: Mapping[str, Any], wall: Mapping[str, Any], problems: list[Problem]
) -> dict[str, Any]:
    out = copy.deepcopy({k: v for k, v in parent.items() if k not in ("change", "remove", "note")})
    for key, value in wall.items():
        if key in MERGED and isinstance(value, dict) and isinstance(out.get(key), dict):
            out[key] = out[key] | copy.deepcopy(value)
        else:
            out[key] = copy.deepcopy(value)
    place = f'wall."{wall.get("name")}"'
    for name, keys in _table(wall.get("change")).items():
        _change(out, name, keys, f"{place}.change", problems)
    for name in wall.get("remove") or []:
        element = _find(out, name, f"{place}.remove", problems)
        if element is not None:
            out["layers"].remove(element)
    return out


def _table(value: Any) -> dict[str, Any]:
    return value if isinstance(value, dict) else {}


def _change(
    wall: dict[str, Any], name: str, keys: Any, place: str, problems: list[Problem]
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


def element_name(element: Mapping[str, Any]) -> str:
    """Return the name of an element: its own, or what it is made of."""
    for key in ("name", *ELEMENT_KEYS):
        if element.get(key):
            return str(element[key])
    return ""


def _find(
    wall: Mapping[str, Any], name: str, place: str, problems: list[Problem]
) -> dict[str, Any] | None:
    layers = wall.get("layers")
    elements = [e for e in layers if isinstance(e, dict)] if isinstance(layers, list) else []
    for element in elements:
        if element_name(element) == name or name in (element.get(k) for k in ELEMENT_KEYS):
            return element
    known = near_matches(str(name), [element_name(e) for e in elements if element_name(e)])
    problems.append(Problem(place, f"'{name}': the wall has no such element; {known}"))
    return None


_PART = re.compile(r'"([^"]+)"|\[(\d+)\]|([^.\[\]"]+)')


def split_path(path: str) -> list[str | int]:
    """Split ``wall."all outboard".layers[2].thickness`` into its parts.

    Raises
    ------
    InputError
        The path is empty or is not made of names, quoted names and [numbers] joined by points.
    """
    parts: list[str | int] = [
        int(index) if index else quoted or bare for quoted, index, bare in _PART.findall(path)
    ]
    rest = _PART.sub("", path).strip(".")
    if not parts or rest:
        raise InputError(
            f'path {path!r}: must look like wall."name".layers[0].thickness, blanks in quotes'
        )
    return parts


def set_value(data: Mapping[str, Any], path: str, value: Any) -> dict[str, Any]:
    """Return the expanded tables with the value at a path replaced.

    Walls and elements are found by name, or by number counted from 0 at the outside.

    Raises
    ------
    InputError
        The path leads nowhere.
    """
    out = copy.deepcopy(dict(data))
    here: Any = out
    parts = split_path(path)
    for part in parts[:-1]:
        here = _enter(here, part, path)
    last = parts[-1]
    if isinstance(here, list):
        here[_index(here, last, path)] = value
    elif isinstance(here, dict):
        here[str(last)] = value
    else:
        raise InputError(f"path {path!r}: '{last}' lies inside a single value")
    return out


def _enter(here: Any, part: str | int, path: str) -> Any:
    if isinstance(here, list):
        return here[_index(here, part, path)]
    if not isinstance(here, dict):
        raise InputError(f"path {path!r}: '{part}' lies inside a single value")
    return here.setdefault(str(part), {})


def _index(rows: list[Any], part: str | int, path: str) -> int:
    names = [element_name(row) if isinstance(row, dict) else "" for row in rows]
    if isinstance(part, int) and part < len(rows):
        return part
    if part in names:
        return names.index(str(part))
    raise InputError(f"path {path!r}: nothing is called '{part}'; {near_matches(str(part), names)}")
