"""Plain tables as a tree: a place by its path, copies with one place changed, a digest of content.

Owns the three for lists and tables of numbers and texts; knows no table by name.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping

from hygro.errors import InputError
from hygro.paths import element_name, place_in
from hygro.types import Data, Plain

Keys = tuple[str | int, ...]
Tables = Data


def locate(tables: Plain, parts: list[str | int], path: str) -> Keys:
    """Return the keys that lead to a place; keys of tables may be ones that are not set yet.

    Elements of a list are found by number or by name; a list of one may be passed over.

    Raises
    ------
    InputError
        The path leads nowhere; near matches stand in the message.
    """
    found: list[str | int] = []
    here = tables
    for part in parts:
        if isinstance(here, list) and len(here) == 1 and _is_inside(here[0], part):
            found.append(0)
            here = here[0]
        if isinstance(here, list):
            part = place_in(here, part, path)
            here = here[part]
        elif here is None or isinstance(here, Mapping):
            here = None if here is None else here.get(part)
        else:
            raise InputError(f"path {path!r}: '{part}' lies inside a single value")
        found.append(part)
    return tuple(found)


def _is_inside(row: Plain, part: str | int) -> bool:
    return isinstance(row, Mapping) and isinstance(part, str) and element_name(row) != part


def value_at(tables: Plain, keys: Keys) -> Plain:
    """Return what stands at a place; None where nothing does."""
    here = tables
    for key in keys:
        try:
            here = here[key]
        except (KeyError, IndexError, TypeError):
            return None
    return here


def changed(tables: Plain, keys: Keys, value: Plain) -> Plain:
    """Return the tables with the value at a place replaced; what is beside it is shared."""
    if not keys:
        return value
    key, *rest = keys
    if isinstance(tables, list):
        assert isinstance(key, int)
        return [*tables[:key], changed(tables[key], tuple(rest), value), *tables[key + 1 :]]
    return {**tables, key: changed(tables.get(key, {}), tuple(rest), value)}


class Digests:
    """Digests of tables; those of a base are kept, so that a changed copy costs its change alone.

    Equal tables have equal digests, whatever the order of their keys.
    """

    def __init__(self, base: Plain = None) -> None:
        self._kept: dict[int, bytes] = {}
        self._base = base  # keeps the identities alive
        self._keep(base)

    def of(self, tables: Plain) -> str:
        """SHA-256 of the content of some tables."""
        return hashlib.sha256(self._bytes(tables)).hexdigest()

    def _keep(self, tables: Plain) -> None:
        for inner in _inner(tables):
            self._keep(inner)
        if isinstance(tables, Mapping | list):
            self._kept[id(tables)] = self._bytes(tables)

    def _bytes(self, tables: Plain) -> bytes:
        kept = self._kept.get(id(tables))
        if kept is not None:
            return kept
        if isinstance(tables, Mapping):
            names = sorted(str(key) for key, value in tables.items() if value is not None)
            parts = [b"{", *(x for k in names for x in (k.encode(), b"=", self._bytes(tables[k])))]
        elif isinstance(tables, list | tuple):
            parts = [b"[", *(self._bytes(value) for value in tables)]
        else:
            return _leaf(tables)
        return hashlib.sha256(b"".join(parts)).digest()


def _inner(tables: Plain) -> list[Plain]:
    if isinstance(tables, Mapping):
        return list(tables.values())
    return tables if isinstance(tables, list) else []


def _leaf(value: Plain) -> bytes:
    if isinstance(value, bool) or value is None:
        return f"f{value};".encode()
    if isinstance(value, int | float):
        return f"n{float(value)!r};".encode()
    text = str(value).encode()
    return b"t%d:%s" % (len(text), text)
