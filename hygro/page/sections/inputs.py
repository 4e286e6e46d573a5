"""Inputs as given: the tables of the case, each wall's surfaces and starts, and the case text."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping

from hygro.declare import plain
from hygro.page.subject import Section, Subject, wall_of
from hygro.types import Plain
from hygro.wall.wall import Wall

TABLES = {"climate": "Climate", "room": "Rooms", "settings": "Settings", "criteria": "Criteria"}
"""Tables of a case that are listed key by key; walls stand in a section of their own."""
LONG = 160
"""Letters after which a value is cut; the case text holds it whole."""


def inputs(subject: Subject) -> Section:
    """Return the section; without a stored case it shows what the records hold."""
    texts = {
        str(attrs.get("case_file", "")): str(attrs["case_text"])
        for _, attrs in subject.records()
        if attrs.get("case_text")
    }
    groups: dict[str, list[tuple[str, str]]] = {}
    for text in texts.values():
        case = tomllib.loads(text)
        for key, title in TABLES.items():
            groups.setdefault(title, []).extend(_flat(case.get(key, {})))
    data = {
        "groups": [
            (title, rows or [("all keys", "defaults, nothing given")])
            for title, rows in groups.items()
        ],
        "walls": [(item.name, _surfaces(wall_of(item))) for item in subject.walls],
        "texts": list(texts.items()),
    }
    lacks = {} if texts else {"reproduction": "the runs were made in Python; no case is stored"}
    answers = ("initial state", "surfaces", "inputs", *(() if lacks else ("reproduction",)))
    return Section("inputs", "Inputs as given", "inputs.html", data, answers, lacks)


def _flat(value: Plain, path: str = "") -> Iterator[tuple[str, str]]:
    """Keys of nested tables with their values, as they stand in the case."""
    if isinstance(value, Mapping):
        for key, inner in value.items():
            yield from _flat(inner, f"{path}.{key}" if path else str(key))
        return
    told = f"{value:g}" if isinstance(value, float) else str(value)
    told = told.lower() if isinstance(value, bool) else told
    yield path, told if len(told) <= LONG else told[: LONG - 1] + "…"


def _surfaces(wall: Wall) -> list[tuple[str, str]]:
    """Surfaces, start and tilt of a wall, defaults included; SI units."""
    given = plain(wall)
    told = {key: given.get(key, {}) for key in ("outside", "inside", "initial")}
    rows = [row for key, value in told.items() for row in _flat(value, key)]
    for layer in wall.solids:
        if layer.initial is not None:
            rows += list(_flat(plain(layer.initial), f"{layer.name}.initial"))
    return [("azimuth", f"{wall.azimuth:g}°"), ("tilt", f"{wall.tilt:g}°"), *rows]
