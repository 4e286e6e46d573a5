"""A case whose values are of another kind or size than they should be, or stand elsewhere."""

from __future__ import annotations

import copy
import json
import tomllib
from typing import Any

from tests.fuzz.draw import Draw
from tests.fuzz.mutate_bytes import HOSTILE

VALUES: tuple[Any, ...] = (
    0, -1, 1, 3, 10**400, 1e308, -1e308, 1e-300, float("nan"), float("inf"), True, False, "", " ",
    [], {}, [[]], [{}], [1], {"a": 1}, {"material": "osb"}, "osb", "100 %", "-5 degC", "1e9 mm",
    "5", "mm", "R-11.25", "1 perm", "N", "until periodic", [0.1] * 500, ["osb"] * 300, "x" * 5000,
    {"low": 1, "high": 0, "steps": 3}, {"low": "0 %", "high": "1 m", "steps": 10**9}, *HOSTILE[:12],
)  # fmt: skip
"""What stands in the place of a value."""


def turned(text: str, draw: Draw) -> str:
    """The case with one to three values changed, lost, doubled or moved."""
    data = tomllib.loads(text)
    for _ in range(draw.of([1, 1, 2, 3])):
        _change(data, draw)
    return toml(data)


def toml(data: dict[str, Any]) -> str:
    """Tables as TOML, one key a line."""
    return "\n".join(f"{_key(k)} = {_written(v)}" for k, v in data.items()) + "\n"


def _change(data: dict[str, Any], draw: Draw) -> None:
    places = list(_places(data))
    if not places:
        return
    holder, key = draw.of(places)
    way = draw.of(["value", "value", "value", "lost", "renamed", "moved"])
    if way == "value":
        holder[key] = copy.deepcopy(draw.of(VALUES))
    elif way == "moved":
        other, place = draw.of(places)
        holder[key] = copy.deepcopy(other[place])
    else:
        found = holder.pop(key)
        if way == "renamed" and isinstance(holder, dict):
            holder[draw.of(["x", f"{key}s", str(key)[:-1], "", "name", "a b", "\N{SNOWMAN}"])] = (
                found
            )


def _places(data: Any) -> Any:
    """Every place that holds a value: the table or list, and its key."""
    pairs = data.items() if isinstance(data, dict) else enumerate(data)
    for key, value in list(pairs):
        yield data, key
        if isinstance(value, dict | list):
            yield from _places(value)


def _key(key: str) -> str:
    return json.dumps(key, ensure_ascii=True)


def _written(value: Any) -> str:
    """A value in TOML."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_key(k)} = {_written(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_written, value)) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int | float):
        return repr(value)
    return json.dumps(str(value), ensure_ascii=True)
