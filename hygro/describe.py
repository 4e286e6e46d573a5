"""What a declaration says of itself: its keys with unit, bound, default and meaning, for pages.

Reads declared classes and the "Parameters" of their docstrings; knows none by name.
"""

from __future__ import annotations

import inspect
import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import MISSING, fields, is_dataclass
from typing import NamedTuple, get_args

from hygro.declare import adapter, field_infos, keys, plain
from hygro.types import Data


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
    return section(cls, "").strip()


def section(cls: type, name: str) -> str:
    """Return a section of a docstring ("References"), empty where it has none."""
    parts = re.split(r"(?:^|\n\n)([A-Z][A-Za-z]+)\n-+\n", inspect.cleandoc(cls.__doc__ or ""))
    return dict(zip(["", *parts[1::2]], parts[0::2], strict=True)).get(name, "")


def described(cls: type) -> list[Key]:
    """Return every key of a declared class, in the order of the declaration."""
    told = meanings(cls)
    schema = _own(adapter(cls).json_schema())
    known = field_infos(cls)
    names = keys(cls)
    found = []
    for key, row in schema["properties"].items():
        name = names.get(key, key)
        if (key in ("kind", "form") and "const" in row) or known[name].exclude:
            continue
        required = key in schema.get("required", ())
        bound = _bound(row) or _checked(known[name].metadata)
        found.append(Key(key, _type(row), bound, _default(cls, name, required), told.get(name, "")))
    return found


def tag_of(cls: type) -> str:
    """Return the `form` or `kind` that tells a class from its siblings, as a table writes it."""
    for key in ("form", "kind"):
        row = _own(adapter(cls).json_schema())["properties"].get(key, {})
        if "const" in row:
            return f'{key} = "{row["const"]}"'
    return ""


def nested(cls: type) -> Iterator[tuple[str, type]]:
    """Yield the declared classes that the keys of a class hold, each with its key."""
    known = field_infos(cls)
    for key, name in keys(cls).items():
        for inner in dict.fromkeys(_declared(known[name].annotation)):
            yield key, inner


def _declared(annotation: object) -> Iterator[type]:
    if isinstance(annotation, type) and hasattr(annotation, "__pydantic_fields__"):
        yield annotation
    for inner in get_args(annotation):
        yield from _declared(inner)


def meanings(cls: type) -> dict[str, str]:
    """Return what the docstrings of a class and its bases say of each parameter."""
    found: dict[str, str] = {}
    for base in reversed(cls.__mro__):
        found |= _parameters(section(base, "Parameters")) if is_dataclass(base) else {}
    return found


def _parameters(text: str) -> dict[str, str]:
    found: dict[str, str] = {}
    names: list[str] = []
    long = re.search(r"^ +\S", text, re.MULTILINE) is not None
    for line in text.splitlines():
        if line and not line[0].isspace():
            head, _, rest = line.partition(" : ")
            names = [name.strip() for name in head.split(",")]
            found |= dict.fromkeys(names, "" if long else rest)  # a short form says all at once
        elif line.strip():
            found |= {name: f"{found[name]} {line.strip()}".strip() for name in names}
    return found


def _own(schema: Data) -> Data:
    """The part of a schema that describes the class itself."""
    if "$ref" in schema:
        found: Data = schema["$defs"][schema["$ref"].rsplit("/", 1)[1]]
        return found
    return schema


def _options(row: Data) -> list[Data]:
    options = row.get("anyOf") or row.get("oneOf") or [row]
    flat = [x for option in options for x in (_options(option) if option is not row else [option])]
    return [option for option in flat if option.get("type") != "null"]


def _type(row: Data) -> str:
    if "x-axes" in row:
        return f"points [{', '.join(row['x-axes'])}] or a CSV file"
    words: dict[str, None] = {}
    for option in _options(row):
        words |= dict.fromkeys(_words(option))
    return " or ".join(words)


def _words(option: Data) -> list[str]:
    if "enum" in option or "const" in option:
        return [json.dumps(value) for value in option.get("enum", [option.get("const")])]
    if "$ref" in option:
        return ["table " + str(option["$ref"]).rsplit("/", 1)[1]]
    kinds = option.get("type", "value")
    if kinds == "array" and (items := option.get("items") or option.get("prefixItems", [{}])[0]):
        return [f"list of {_type(items)}"]
    if kinds == "object" and isinstance(option.get("additionalProperties"), Mapping):
        return [f"table of {_type(option['additionalProperties'])}".removesuffix(" of value")]
    return [_WORDS.get(str(k), str(k)) for k in (kinds if isinstance(kinds, list) else [kinds])]


_WORDS = {
    "string": "text",
    "integer": "whole number",
    "boolean": "true or false",
    "array": "list",
    "object": "table",
}


def _bound(row: Data) -> str:
    """The bound of the first number that a row speaks of, and its units."""
    if "x-bounds" in row:
        return f"{row['x-bounds']}; units {', '.join(row['x-units'])}"
    low, high = row.get("minimum"), row.get("maximum")
    if low is not None:
        return f"{low:g} to {high:g}" if high is not None else f"at least {low:g}"
    if "exclusiveMinimum" in row:
        return f"above {row['exclusiveMinimum']:g}"
    inner = [*row.get("anyOf", ()), *row.get("oneOf", ())]
    if isinstance(row.get("items"), Mapping) and "x-axes" not in row:
        inner.append(row["items"])
    return next((found for found in map(_bound, inner) if found), "") if "x-axes" not in row else ""


def _checked(metadata: list[object]) -> str:
    """Bounds of a field that stand beside its type, such as greater than 0."""
    words = {"gt": "above", "ge": "at least", "lt": "below", "le": "at most"}
    found = [f"{said} {getattr(m, k):g}" for m in metadata for k, said in words.items()
             if isinstance(getattr(m, k, None), int | float)]  # fmt: skip
    return ", ".join(found)


def _default(cls: type, name: str, required: bool) -> str:
    if required:
        return "needed"
    field = next((f for f in fields(cls) if f.name == name), None)
    if field is None or field.default in (None, MISSING, "", ()) or name in _SETTLED:
        return "left out"
    value = field.default
    if is_dataclass(value):
        return _throughout(plain(value)) or "its defaults"
    return f"{value:g}" if type(value) is float else json.dumps(value, ensure_ascii=False)


def _throughout(table: Data) -> str:
    """The one value of a table that repeats it, such as a schedule of zeros."""
    rows = [row for row in table.values() if isinstance(row, list) and len(row) > 1]
    same = len(table) == len(rows) == 1 and len(set(rows[0])) == 1
    return f"{rows[0][0]:g}" if same else ""


_SETTLED = ("thickness", "diameter")
"""Keys whose default 0 stands for left out."""


def forms(union: object) -> tuple[type, ...]:
    """Return the classes of an annotated union, such as the forms of a curve."""
    return get_args(get_args(union)[0])
