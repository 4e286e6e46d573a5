"""Where a key belongs that was given to something that does not know it. Owns the register."""

from __future__ import annotations

from importlib import import_module
from typing import get_args

from hygro.spelling import by_door

REGISTER: list[type] = []
"""Declared classes, in the order of their declaration."""
_DECLARING = ("hygro.wall.wall", "hygro.room.rooms", "hygro.solve.settings")
"""Modules that declare what users call; imported by name, for a message only."""
_IN_PYTHON = {
    "years": "a run is as long as its weather: join files with weather.read_years, or make years "
    "with weather.generate",
    "start_month": "a run starts where its weather starts",
    "room": "give the room to hygro.simulate or hygro.compare, beside the weather",
    "repeat": "give it to hygro.compare; hygro.simulate_periodic repeats one run",
    "skip_days": "give it to hygro.verdict or hygro.compare",
    "mould_model": "give it to hygro.verdict or hygro.compare",
    "criteria": "give them to hygro.verdict or hygro.compare",
}
"""Keys of a case file that are no argument of a declared class."""
MOST = 3
"""Homes that are told; a key that more classes know says little."""


def home(key: str) -> str:
    """Return words for where a key belongs; empty where nothing knows it, or too many do."""
    for module in _DECLARING:
        import_module(module)
    if found := by_door("", _IN_PYTHON.get(key, "")):
        return found
    owners = [cls for cls in REGISTER if key in _keys(cls) and _speaks(cls)]
    if not 0 < len(owners) <= MOST:
        return ""
    names = dict.fromkeys(by_door(_table(cls), f"hygro.{cls.__name__}") for cls in owners)
    return f"it belongs to {' or '.join(names)}"


def _speaks(cls: type) -> bool:
    """Whether users write the class as a table of a file, or call it."""
    return bool(by_door(_table(cls), cls.__name__ if _public(cls) else ""))


def _public(cls: type) -> bool:
    return cls.__name__ in import_module("hygro").__all__


def _keys(cls: type) -> set[str]:
    known = vars(cls)["__pydantic_fields__"]
    return {f.alias or name for name, f in known.items() if not f.exclude}


def _table(cls: type) -> str:
    """The key under which a case file has such a table."""
    for owner in REGISTER:
        for name, field in vars(owner)["__pydantic_fields__"].items():
            if cls in _held(field.annotation):
                return f"'{field.alias or name}'"
    return ""


def _held(annotation: object) -> list[type]:
    inner = [held for part in get_args(annotation) for held in _held(part)]
    own = isinstance(annotation, type) and annotation in REGISTER
    return [annotation, *inner] if own and isinstance(annotation, type) else inner
