"""Materials of a case: the library, further files, and materials written in the case itself.

Owns `like` (start from a library material) and the search order own, files, library; reads no
walls.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from hygro.errors import InputError
from hygro.material import AnyMaterial, from_dict, library
from hygro.material.check import check
from hygro.problems import Problem, RefusedError, ToldError
from hygro.types import Data
from hygro.wall.layer_material import ANY


def shelf(
    tables: Mapping[str, object], folder: Path
) -> tuple[dict[str, AnyMaterial], set[str], list[Problem]]:
    """Read the own materials of a case.

    Returns the sound ones by key, the keys of faulty ones, and what is wrong with these.

    Parameters
    ----------
    tables : mapping
        Tables of the case, of which `materials` and `material_files` are read.
    folder : Path
        Folder of the case file; material files are sought there.
    """
    found: dict[str, AnyMaterial] = {}
    faulty: set[str] = set()
    problems: list[Problem] = []
    files, own = tables.get("material_files", []), tables.get("materials", {})
    for i, name in enumerate(files if isinstance(files, list) else []):
        try:
            found |= _from_file(folder / str(name))
        except (InputError, OSError) as error:
            problems += [Problem(f"material_files[{i}]", x) for x in str(error).splitlines()]
            faulty.add(ANY)
    for key, table in _in_order(own) if isinstance(own, dict) else ():
        place = f"materials.{key}"
        before = len(problems)
        try:
            found[key] = _from_table(key, table, found, faulty, folder)
        except ToldError:
            faulty.add(key)
        except RefusedError as error:
            problems += [Problem(f"{place}.{p.path}".rstrip("."), p.text) for p in error.problems]
        except InputError as error:
            problems.append(Problem(place, str(error)))
        faulty |= {key} if len(problems) > before else set()
    return found, faulty, problems


def _in_order(own: Data) -> Iterator[tuple[str, object]]:
    """Materials of a case, each after the one that it starts from, wherever that stands."""
    left = dict(own)
    while left:
        after = [k for k, table in left.items() if isinstance(table, dict) and _like(table) in left]
        first = [key for key in left if key not in after] or list(left)  # or they are in a circle
        yield from ((key, left.pop(key)) for key in first)


def _like(table: Data) -> str:
    return str(table.get("like"))


def _from_file(path: Path) -> dict[str, AnyMaterial]:
    if not path.is_file():
        raise InputError(f"{path}: no such file")
    return dict(library.load_file(path))


def _from_table(
    key: str, table: object, found: Mapping[str, AnyMaterial], faulty: set[str], folder: Path
) -> AnyMaterial:
    if not isinstance(table, dict):
        raise InputError(f"{table!r}: must be a table")
    values = dict(table)
    like = values.pop("like", None)
    if like is not None:
        if str(like) in faulty:
            raise ToldError(f"material '{like}' is faulty")
        start = library.get(str(like), extra=found)
        return library.derived(start, {**values, "key": key}, "given in the case", folder)
    values["key"] = key
    values.setdefault("name", key.replace("_", " "))
    values.setdefault("group", "own")
    return check(from_dict(values, place=f"materials.{key}", folder=folder))
