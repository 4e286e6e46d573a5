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
from hygro.problems import ToldError
from hygro.spelling import by_door

ANY = "*"
"""Among the keys of faulty materials: a file of unknown materials could not be read."""
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
    if value not in (*own, *library.keys()) and {value, ANY} & set(context.get("faulty", ())):
        raise ToldError(f"material '{value}' is faulty")
    return library.get(value, extra=own)


def _layer_material(value: object, info: ValidationInfo) -> object:
    found = _found(value, info)
    if isinstance(found, SheetMaterial):
        key = found.key
        way = by_door(f'{{membrane = "{key}"}}', f'hygro.Membrane("{key}")')
        raise InputError(f"'{key}' is a sheet, a membrane: write {way}")
    return found


def _sheet_material(value: object, info: ValidationInfo) -> object:
    found = _found(value, info)
    if isinstance(found, Material):
        key = found.key
        way = by_door(f'{{material = "{key}", thickness = ...}}', f'hygro.Layer("{key}", ...)')
        raise InputError(f"'{key}' is no sheet but a layer material: write {way}")
    return found


LayerMaterial = Annotated[
    InstanceOf[Material], BeforeValidator(_layer_material), WithJsonSchema(_KEY)
]
"""A material with thickness and storage."""
Sheet = Annotated[InstanceOf[SheetMaterial], BeforeValidator(_sheet_material), WithJsonSchema(_KEY)]
"""A membrane, paint or facing."""
