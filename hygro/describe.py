"""What a declaration says of itself: its keys with unit, bound, default and meaning, for pages.

Reads declared classes and the "Parameters" of their docstrings; knows none by name.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from typing import Any, NamedTuple, get_args

from hygro.declare import adapter, keys


class Key(NamedTuple):
    """One key of a table."""

    key: str
    type: str
    """What may be written: number, text, list, table, names of choices."""
    bound: str
    default: str
    meaning: str


def summary(cls: type) -> str:
    """Return what a docstring says before its first section."""
    return inspect.cleandoc(cls.__doc__ or "").split("\n\nParameters\n", 1)[0].strip()


def described(cls: type) -> list[Key]:
    """Return every key of a declared class, in the order of the declaration."""
    told = meanings(cls)
    schema = _own(adapter(cls).json_schema())
    names = keys(cls)
    found = []
    for key, row in schema["properties"].items():
        name = names.get(key, key)
        if key in ("kind", "form"):
            continue
        required = key in schema.get("required", ())
        found.append(
            Key(key, _type(row), _bound(row), _default(cls, name, required), told.get(name, ""))
        )
    return found


def meanings(cls: type) -> dict[str, str]:
    """Return what the docstrings of a class and its bases say of each parameter."""
    found: dict[str, str] = {}
    for base in reversed(cls.__mro__):
        found |= _parameters(inspect.cleandoc(base.__doc__ or "")) if is_dataclass(base) else {}
    return found


def _parameters(doc: str) -> dict[str, str]:
    if "\nParameters\n" not in doc:
        return {}
    section = doc.split("\nParameters\n", 1)[1].split("\n", 1)[1]
    section = re.split(r"\n\n[A-Z][A-Za-z]+\n-+\n", section)[0]
    found: dict[str, str] = {}
    names: list[str] = []
    for line in section.splitlines():
        if line and not line[0].isspace():
            head, _, rest = line.partition(" : ")
            names = [name.strip() for name in head.split(",")]
            # a short form says all on the line of the name
            found |= dict.fromkeys(names, rest if "[" in rest or " " in rest else "")
        elif line.strip():
            for name in names:
                before = found[name] if not _is_type(found[name]) else ""
                found[name] = f"{before} {line.strip()}".strip()
    return found


def _is_type(text: str) -> bool:
    return text.split(",")[0].split(" ")[0] in (
        "float", "int", "str", "bool", "list", "table", "tables", "path", "Schedule", "Buffer",
    ) or text.startswith(("{", "Initial", "Joints", "Framing", "Washing", "Material", "Sheet",
                          "Leaks", "Outside", "Inside", "Rain", "float,"))  # fmt: skip


def _own(schema: Mapping[str, Any]) -> Mapping[str, Any]:
    """The part of a schema that describes the class itself."""
    if "$ref" in schema:
        found: Mapping[str, Any] = schema["$defs"][schema["$ref"].rsplit("/", 1)[1]]
        return found
    return schema


def _options(row: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    options = row.get("anyOf") or row.get("oneOf") or [row]
    flat = [x for option in options for x in (_options(option) if option is not row else [option])]
    return [option for option in flat if option.get("type") != "null"]


def _type(row: Mapping[str, Any]) -> str:
    words: dict[str, None] = {}
    for option in _options(row):
        if "enum" in option:
            words |= dict.fromkeys(f'"{value}"' for value in option["enum"])
        elif "const" in option:
            words[f'"{option["const"]}"'] = None
        elif "$ref" in option:
            words["table"] = None
        else:
            kinds = option.get("type", "value")
            for kind in kinds if isinstance(kinds, list) else [kinds]:
                words[_WORDS.get(str(kind), str(kind))] = None
    return " or ".join(words)


_WORDS = {
    "string": "text",
    "integer": "whole number",
    "boolean": "true or false",
    "array": "list",
    "object": "table",
}


def _bound(row: Mapping[str, Any]) -> str:
    for option in [row, *row.get("anyOf", ()), *row.get("oneOf", ())]:
        if "x-bounds" in option:
            return f"{option['x-bounds']}; units {', '.join(option['x-units'])}"
    for option in _options(row):
        if "minimum" in option and "maximum" in option:
            return f"{option['minimum']:g} to {option['maximum']:g}"
    return ""


def _default(cls: type, name: str, required: bool) -> str:
    if required:
        return "needed"
    field = next((f for f in fields(cls) if f.name == name), None)
    if field is None or field.default in (None, MISSING, "", ()) or name in _SETTLED:
        return "left out"
    value = field.default
    if is_dataclass(value):
        return "its defaults"
    if isinstance(value, bool):
        return str(value).lower()
    return (
        f"{value:g}"
        if isinstance(value, float)
        else f'"{value}"'
        if isinstance(value, str)
        else str(value)
    )


_SETTLED = ("thickness", "diameter")
"""Keys whose default 0 stands for left out."""


def forms(union: Any) -> tuple[type, ...]:
    """Return the classes of an annotated union, such as the forms of a curve."""
    return get_args(get_args(union)[0])
