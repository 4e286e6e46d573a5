"""Paths by which a single value in nested tables is set: ``wall."all outboard".layers[2].depth``.

Owns their syntax; a leaf that knows no table by name.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Mapping, Sequence
from typing import Any

from hygro.errors import InputError, near_matches
from hygro.types import Data

ELEMENT_KEYS = ("material", "membrane", "gap")
"""The key that says what an element of a wall is."""


NAMES = (*ELEMENT_KEYS, "kind", "form", "name", "note", "base", "like", "room")
"""Keys whose value is a word that tells what something is, and no number."""


def check_number(path: str) -> None:
    """Refuse a path whose end is a word and not a number.

    Raises
    ------
    InputError
        The path is malformed, or ends in one of `NAMES`.
    """
    last = split_path(path)[-1]
    if last in NAMES:
        raise InputError(f"path {path!r}: '{last}' is a word; a path to a number is needed")


def element_name(element: Mapping[str, object]) -> str:
    """Return the name of an element: its own, or what it is made of."""
    for key in ("name", *ELEMENT_KEYS):
        if isinstance(element.get(key), str) and element[key]:
            return str(element[key])
    return ""


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


def set_value(data: Mapping[str, object], path: str, value: object) -> Data:
    """Return the tables with the value at a path replaced.

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
        here[place_in(here, last, path)] = value
    elif isinstance(here, dict):
        here[str(last)] = value
    else:
        raise InputError(f"path {path!r}: '{last}' lies inside a single value")
    return out


def _enter(here: Any, part: str | int, path: str) -> Any:
    if isinstance(here, list):
        return here[place_in(here, part, path)]
    if not isinstance(here, dict):
        raise InputError(f"path {path!r}: '{part}' lies inside a single value")
    return here.setdefault(str(part), {})


def place_in(rows: Sequence[Any], part: str | int, path: str) -> int:
    """Return the place of an element in a list, by its number or name.

    Raises
    ------
    InputError
        There is none; how many there are, and near names or keys, stand in the message.
    """
    names = [element_name(row) if isinstance(row, dict) else "" for row in rows]
    if isinstance(part, int) and part < len(rows):
        return part
    if part in names:
        return names.index(str(part))
    raise InputError(f"path {path!r}: {_lacks(part, names, rows)}")


def _lacks(part: str | int, names: Sequence[str], rows: Sequence[Any]) -> str:
    """Say what a list lacks, and what it has: how many, and their names, or else their keys."""
    many = f"there are {len(rows)}, [0] to [{len(rows) - 1}]"
    many = many if len(rows) > 1 else "there is one, [0]" if rows else "there are none"
    known = [name for name in names if name]
    if isinstance(part, int):
        what = f"there is no [{part}] ({many})"
    else:
        what = f"nothing is called '{part}' ({many})"
        known = known or [key for row in rows if isinstance(row, dict) for key in row]
    return f"{what}; {near_matches(part, known)}" if known else what
