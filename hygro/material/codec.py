"""Plain dictionaries to curve forms and back. Owns the table of forms and the reading errors.

A form is written as {"form": tag, field: value, ...} with SI numbers. Links to the storage of
the same material are not written; they are set again on reading.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import MISSING, fields
from typing import Any

from hygro.errors import InputError, near_matches
from hygro.material import liquid, storage, thermal, vapour

FORMS: dict[str, dict[str, Any]] = {
    kind: {cls.tag: cls for cls in classes}
    for kind, classes in {
        "storage": (
            storage.TableStorage,
            storage.VanGenuchten,
            storage.VanGenuchtenHead,
            storage.BForm,
            storage.Hansen,
            storage.LinearStorage,
            storage.MoistAir,
            storage.WoodSorption,
            storage.RationalSorption,
        ),
        "vapour": (
            vapour.ConstantMu,
            vapour.DryWetMu,
            vapour.PermeabilityTable,
            vapour.PermeanceOfThickness,
            vapour.ExponentialPermeability,
            vapour.BenchmarkPermeability,
            vapour.ConstantPermeability,
        ),
        "permeance": (
            vapour.SheetPerm,
            vapour.SheetConstant,
            vapour.SheetAirLayer,
            vapour.SheetPermTable,
        ),
        "thermal": (
            thermal.ConstantConductivity,
            thermal.LinearConductivity,
            thermal.ConductivityTable,
        ),
        "liquid": (
            liquid.PolynomialConductivity,
            liquid.ConductivityOverWater,
            liquid.ConductivityOverSuction,
            liquid.ConstantDiffusivity,
            liquid.AbsorptionDiffusivity,
            liquid.DiffusivityTable,
        ),
    }.items()
}
"""Kind of curve -> tag -> class."""


def encode(form: Any) -> dict[str, Any]:
    """Write a form as a plain dictionary; fields that are None and links are left out."""
    values = {
        f.name: plain(getattr(form, f.name)) for f in fields(form) if "link" not in f.metadata
    }
    return {"form": form.tag} | {name: value for name, value in values.items() if value is not None}


def plain(value: Any) -> Any:
    """Turn tuples into lists, all the way down."""
    return [plain(item) for item in value] if isinstance(value, tuple | list) else value


def decode(kind: str, table: Any, place: str, **links: Any) -> Any:
    """Read a form of the kind from a plain dictionary.

    Raises
    ------
    InputError
        The form or a key is unknown or missing, or a value has the wrong type.
    """
    cls = _form_class(kind, table, place)
    known = [f for f in fields(cls) if "link" not in f.metadata]
    given = {key: value for key, value in table.items() if key != "form"}
    refuse_unknown(given, [f.name for f in known], place)
    values = {f.name: links[f.metadata["link"]] for f in fields(cls) if "link" in f.metadata}
    for f in known:
        if f.name in given:
            values[f.name] = read(given[f.name], str(f.type), f"{place}, key '{f.name}'")
        elif f.default is MISSING:
            raise InputError(f"{place}: form '{cls.tag}' needs key '{f.name}'")
    return cls(**values)


def _form_class(kind: str, table: Any, place: str) -> Any:
    if not isinstance(table, Mapping) or "form" not in table:
        raise InputError(f"{place}: needs a table with a key 'form'; " + _offer(kind))
    cls = FORMS[kind].get(table["form"])
    if cls is None:
        raise InputError(
            f"{place}, key 'form' = '{table['form']}': unknown; "
            + near_matches(str(table["form"]), FORMS[kind])
        )
    return cls


def _offer(kind: str) -> str:
    return "one of " + ", ".join(FORMS[kind])


def refuse_unknown(given: Mapping[str, Any], known: list[str], place: str) -> None:
    """Raise with near matches if a key is not known."""
    for key in given:
        if key not in known:
            raise InputError(f"{place}: unknown key '{key}'; " + near_matches(key, known))


def read(value: Any, annotation: str, place: str) -> Any:
    """Read one value as its annotation says: number, text, flag, numbers or points."""
    wanted = annotation.split(" | ")[0]
    if value is None and "None" in annotation:
        return None
    if wanted == "float":
        return number(value, place)
    if wanted == "bool":
        return _typed(value, bool, "true or false", place)
    if wanted == "tuple[float, ...]":
        return tuple(number(v, place) for v in _typed(value, list | tuple, "a list", place))
    if wanted == "Points":
        return _points(value, place)
    return _typed(value, str, "text", place)


def number(value: Any, place: str) -> float:
    """Read a finite number."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError(f"{place} = {value!r}: must be a number")
    if not math.isfinite(value):
        raise InputError(f"{place} = {value!r}: must be finite")
    return float(value)


def _typed(value: Any, wanted: Any, words: str, place: str) -> Any:
    if not isinstance(value, wanted):
        raise InputError(f"{place} = {value!r}: must be {words}")
    return value


def _points(value: Any, place: str) -> tuple[tuple[float, ...], ...]:
    rows = _typed(value, list | tuple, "a list of [x, y] points", place)
    for row in rows:
        if not isinstance(row, list | tuple) or len(row) < 2:
            raise InputError(f"{place}: {row!r} is not a point; points are written [x, y]")
    return tuple(tuple(number(v, place) for v in row) for row in rows)
