"""Materials as fields of a wall: a key of the library or of the case, a table, or a material.

Owns the look-up of a key where it is written.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from pydantic import BeforeValidator, InstanceOf, ValidationInfo, WithJsonSchema

from hygro.errors import InputError
from hygro.material import AnyMaterial, Material, SheetMaterial, from_dict, library
from hygro.material.check import check_own

_KEY = {"description": "Key of a material of the library or of the case", "type": "string"}


def _found(value: object, info: ValidationInfo) -> object:
    context = info.context or {}
    if isinstance(value, Mapping):
        value = from_dict(value, place="", folder=context.get("folder", "."))
    if isinstance(value, Material | SheetMaterial):
        return check_own(value)
    if not isinstance(value, str):
        return value
    own: Mapping[str, AnyMaterial] = context.get("shelf", {})
    return library.get(value, extra=own)


def _layer_material(value: object, info: ValidationInfo) -> object:
    found = _found(value, info)
    if isinstance(found, SheetMaterial):
        raise InputError(
            f"'{found.key}' is a sheet; write {{membrane = \"{found.key}\"}}, in Python "
            f'hygro.Membrane("{found.key}")'
        )
    return found


def _sheet_material(value: object, info: ValidationInfo) -> object:
    found = _found(value, info)
    if isinstance(found, Material):
        key = found.key
        raise InputError(f"'{key}' is no sheet; write {{material = \"{key}\", thickness = ...}}")
    return found


LayerMaterial = Annotated[
    InstanceOf[Material], BeforeValidator(_layer_material), WithJsonSchema(_KEY)
]
"""A material with thickness and storage."""
Sheet = Annotated[InstanceOf[SheetMaterial], BeforeValidator(_sheet_material), WithJsonSchema(_KEY)]
"""A membrane, paint or facing."""
