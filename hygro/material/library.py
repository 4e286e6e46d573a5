"""Where materials are found: the shipped library, and the user's own files. Owns the lookup.

The shipped data are read on first use and kept; a user's file is read, checked and returned.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources
from pathlib import Path
from types import MappingProxyType

from hygro.data_files import read_tables
from hygro.declare import plain
from hygro.errors import InputError, must_be, near_matches
from hygro.material.check import check
from hygro.material.model import AnyMaterial, from_dict
from hygro.spelling import of_a_file


@cache
def library() -> Mapping[str, AnyMaterial]:
    """Return every shipped material and sheet by key, in the order of the data files.

    The shipped data are checked by the tests, not on every start.
    """
    found: dict[str, AnyMaterial] = {}
    folder = resources.files("hygro.material") / "data"
    for entry in sorted(folder.iterdir(), key=lambda item: item.name):
        if entry.name.endswith(".toml"):
            tables = tomllib.loads(entry.read_text(encoding="utf-8"))
            found |= {key: _read(key, table, entry.name) for key, table in tables.items()}
    return MappingProxyType(found)


def keys() -> list[str]:
    """Return the keys of the shipped library."""
    return list(library())


def get(key: str, *, extra: Mapping[str, AnyMaterial] | None = None) -> AnyMaterial:
    """Return the material of that key; `extra` (the user's own) goes before the library.

    Raises
    ------
    InputError
        No such key; the message offers near matches.
    """
    if extra and key in extra:
        return extra[key]
    if key in library():
        return library()[key]
    raise InputError(f"material '{key}': unknown; " + near_matches(key, [*(extra or ()), *keys()]))


def get_material(key: str, /, **changes: object) -> AnyMaterial:
    """Return a material or sheet of the library, as it is or with properties changed and checked.

    Parameters
    ----------
    key : str
        Key in the library.
    **changes
        Properties by name, as in a case file: `get_material("osb", key="dense-osb", density=720)`.
        What is changed has the source "given by the user" unless `sources` says otherwise.

    Raises
    ------
    InputError
        An unknown key or property, or a material that is physically impossible.
    """
    must_be(key, str, "material", "the key of a material, a text")
    found = get(key)
    return derived(found, changes, "given by the user") if changes else found


def derived(
    start: AnyMaterial, changes: Mapping[str, object], source: str, folder: str | Path = "."
) -> AnyMaterial:
    """Return a material with properties replaced, and `source` as the source of each of them."""
    table = plain(start)
    own = changes.get("sources", {})
    if not isinstance(own, Mapping):
        raise InputError(f"sources: {own!r}: must be a table")
    given = {k: source for k in changes if k not in (*own, "sources", "key", "name", "group")}
    changed = {**table, **changes, "sources": {**table["sources"], **given, **own}}
    place = f"material '{changed['key']}'"
    return check(from_dict(changed, place=place, folder=folder))


def load_file(path: str | Path) -> dict[str, AnyMaterial]:
    """Read and check a TOML file whose top tables are materials or sheets.

    Raises
    ------
    InputError
        The file cannot be read or parsed, or a material fails its check.
    """
    path = Path(path)
    try:
        tables, _ = read_tables(path)
    except InputError as error:
        raise InputError(f"{path}: {error}") from error
    with of_a_file():
        found = {key: _read(key, table, path.name, path.parent) for key, table in tables.items()}
        for key, material in found.items():
            check(material, place=f"{path.name}, table [{key}]")
    return found


def _read(key: str, table: object, file: str, folder: str | Path = ".") -> AnyMaterial:
    place = f"{file}, table [{key}]"
    if not isinstance(table, Mapping):
        raise InputError(f"{place} = {table!r}: must be a table that describes one material")
    return from_dict({"key": key} | dict(table), place=place, folder=folder)
