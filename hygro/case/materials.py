"""Materials of a case: the library, further files, and materials written in the case itself.

Owns `like` (start from a library material) and the search order own, files, library; reads no
walls.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from hygro.errors import InputError
from hygro.material import AnyMaterial, from_dict, library
from hygro.material.check import check
from hygro.problems import Problem, RefusedError


def shelf(
    tables: Mapping[str, object], folder: Path
) -> tuple[dict[str, AnyMaterial], list[Problem]]:
    """Read the own materials of a case and return them with what is wrong with them.

    Parameters
    ----------
    tables : mapping
        Tables of the case, of which `materials` and `material_files` are read.
    folder : Path
        Folder of the case file; material files are sought there.
    """
    found: dict[str, AnyMaterial] = {}
    problems: list[Problem] = []
    files, own = tables.get("material_files", []), tables.get("materials", {})
    for i, name in enumerate(files if isinstance(files, list) else []):
        try:
            found |= _from_file(folder / str(name))
        except (InputError, OSError) as error:
            problems += [Problem(f"material_files[{i}]", x) for x in str(error).splitlines()]
    for key, table in own.items() if isinstance(own, dict) else ():
        place = f"materials.{key}"
        try:
            found[key] = _from_table(key, table, found, folder)
        except RefusedError as error:
            problems += [Problem(f"{place}.{p.path}".rstrip("."), p.text) for p in error.problems]
        except InputError as error:
            problems.append(Problem(place, str(error)))
    return found, problems


def _from_file(path: Path) -> dict[str, AnyMaterial]:
    if not path.is_file():
        raise InputError(f"{path}: no such file")
    return dict(library.load_file(path))


def _from_table(
    key: str, table: object, found: Mapping[str, AnyMaterial], folder: Path
) -> AnyMaterial:
    if not isinstance(table, dict):
        raise InputError(f"{table!r}: must be a table")
    values = dict(table)
    like = values.pop("like", None)
    if like is not None:
        start = library.get(str(like), extra=found)
        return library.derived(start, {**values, "key": key}, "given in the case", folder)
    values["key"] = key
    values.setdefault("name", key.replace("_", " "))
    values.setdefault("group", "own")
    return check(from_dict(values, place=f"materials.{key}", folder=folder))
