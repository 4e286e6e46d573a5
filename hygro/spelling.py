"""How a message writes keys and values: as a Python call, or as TOML where a file is read."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_toml: ContextVar[bool] = ContextVar("toml", default=False)


@contextmanager
def of_a_file() -> Iterator[None]:
    """Spell messages as TOML while a file is read."""
    before = _toml.set(True)
    try:
        yield
    finally:
        _toml.reset(before)


def by_door(file: str, call: str) -> str:
    """Return the words for whoever writes a file, or for whoever writes a call."""
    return file if _toml.get() else call


def spelled(key: str, value: str | float) -> str:
    """Write a key with its value: `thick = true` in a file, `thick=True` in a call."""
    return by_door(f"{key} = {json.dumps(value, ensure_ascii=False)}", f"{key}={value!r}")


def key_word() -> str:
    """Return what a key is called."""
    return by_door("key", "argument")
