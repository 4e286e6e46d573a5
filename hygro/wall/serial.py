"""A wall as plain data and back, materials inlined, so that a result carries its own wall."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from typing import Any

from hygro.errors import InputError
from hygro.material import Material, SheetMaterial, from_dict, to_dict
from hygro.wall import assembly, interruptions

_CLASSES = {
    cls.__name__: cls
    for cls in (
        assembly.Initial, assembly.Layer, assembly.Membrane, assembly.Openings, assembly.Gap,
        assembly.Place, assembly.RainLeak, assembly.Wetting, assembly.AirLeak, assembly.AirFlow,
        assembly.Outside, assembly.Inside, assembly.Wall, assembly.Channel, assembly.Washing,
        interruptions.Joints, interruptions.Attachment, interruptions.Framing,
    )
}  # fmt: skip


def plain(value: Any) -> Any:
    """Numbers, texts, lists and tables only; every dataclass carries its name under "is"."""
    if isinstance(value, Material | SheetMaterial):
        return {"is": "material", **to_dict(value)}
    if is_dataclass(value) and not isinstance(value, type):
        return {
            "is": type(value).__name__,
            **{f.name: plain(getattr(value, f.name)) for f in fields(value)},
        }
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    return value


def restored(data: Any) -> Any:
    """The value that `plain` wrote; raises `InputError` for what it does not know."""
    if isinstance(data, list):
        return tuple(restored(item) for item in data)
    if not isinstance(data, dict):
        return data
    kind = data.get("is")
    rest = {key: value for key, value in data.items() if key != "is"}
    if kind == "material":
        return from_dict(rest, place="stored wall")
    if kind not in _CLASSES:
        raise InputError(f"stored wall: '{kind}' is not a part of a wall")
    return _CLASSES[kind](**{key: restored(value) for key, value in rest.items()})
