"""Materials of a case: the library, further files, and materials written in the case itself.

Owns `like` (start from a library material) and the search order own, files, library; reads no
walls.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from hygro.case.trouble import Problem
from hygro.errors import InputError
from hygro.material import AnyMaterial, Material, SheetMaterial, from_dict, library, to_dict
from hygro.material.check import check


class Shelf:
    """The materials that the walls of one case may name."""

    def __init__(self, own: Mapping[str, AnyMaterial]) -> None:
        self._own = dict(own)

    def get(self, key: str) -> AnyMaterial:
        """Return the material of that key; raises `InputError` with near matches."""
        return library.get(key, extra=self._own)

    def layer(self, key: str) -> Material:
        """Return a material with thickness and storage."""
        material = self.get(key)
        if not isinstance(material, Material):
            raise InputError(f"'{key}' is a sheet; write {{membrane = \"{key}\"}}")
        return material

    def sheet(self, key: str) -> SheetMaterial:
        """Return a sheet."""
        material = self.get(key)
        if not isinstance(material, SheetMaterial):
            raise InputError(
                f"'{key}' is no sheet; write {{material = \"{key}\", thickness = ...}}"
            )
        return material


def shelf(
    own: Mapping[str, Mapping[str, Any]], files: list[str], folder: Path
) -> tuple[Shelf, list[Problem]]:
    """Read the own materials of a case and return them with what is wrong with them.

    Parameters
    ----------
    own : mapping
        The table `[materials]`.
    files : list of str
        Material files, relative to the folder of the case.
    folder : Path
        Folder of the case file.
    """
    found: dict[str, AnyMaterial] = {}
    problems: list[Problem] = []
    for i, name in enumerate(files):
        try:
            found |= _from_file(folder / name)
        except (InputError, OSError) as error:
            problems.append(Problem(f"material_files[{i}]", str(error)))
    for key, table in own.items():
        place = f"materials.{key}"
        try:
            found[key] = _from_table(key, table, found)
        except InputError as error:
            text = str(error).removeprefix(place).lstrip(",: ")
            problems.append(Problem(place, text))
    return Shelf(found), problems


def _from_file(path: Path) -> dict[str, AnyMaterial]:
    if not path.is_file():
        raise InputError(f"{path}: no such file")
    return dict(library.load_file(path))


def _from_table(
    key: str, table: Mapping[str, Any], found: Mapping[str, AnyMaterial]
) -> AnyMaterial:
    values = dict(table)
    like = values.pop("like", None)
    if like is not None:
        start = to_dict(library.get(str(like), extra=found))
        sources = {**start.get("sources", {}), **values.get("sources", {})}
        own_sources = values.get("sources", {})
        sources |= {k: "given in the case" for k in values if k not in (*own_sources, "sources")}
        values = {**start, **values, "sources": sources}
    values["key"] = key
    values.setdefault("name", key.replace("_", " "))
    values.setdefault("group", "own")
    return check(from_dict(values, place=f"materials.{key}"))


def with_permeance(sheet: SheetMaterial, permeance: float) -> SheetMaterial:
    """Return the sheet with a constant permeance. [kg/(m²·s·Pa)]"""
    table = to_dict(sheet) | {"permeance": {"form": "permeance", "value": permeance}}
    changed = from_dict(table | {"sources": {**sheet.sources, "permeance": "given in the case"}})
    assert isinstance(changed, SheetMaterial)  # a sheet's own image
    return changed
