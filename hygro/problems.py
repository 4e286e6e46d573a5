"""What is wrong with an input, said so that it can be mended. Owns the wording of problems.

Turns the findings of a validation into lines "place: path: value, bound, likely cause"; knows
declared classes only by their fields.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from pathlib import Path
from types import UnionType
from typing import Any, NamedTuple, NoReturn, Union, get_args, get_origin

from pydantic import Tag, ValidationError
from pydantic_core import ErrorDetails

from hygro.errors import InputError, brief, near_matches
from hygro.homes import home
from hygro.paths import ELEMENT_KEYS
from hygro.spelling import by_door, key_word, spelled
from hygro.types import Data

MOST_LINES = 30
"""Problems that a message tells one by one."""
LONGEST = 300
"""Characters of a line of a message after the source; what is longer loses its middle."""
Location = tuple[int | str, ...]


class Problem(NamedTuple):
    """One finding: the path in the file or call ("" for all of it) and what is wrong there."""

    path: str
    text: str


class RefusedError(InputError):
    """An input with one or more problems; `problems` has them one by one."""

    def __init__(self, source: str | Path, problems: Iterable[Problem]) -> None:
        self.source = source
        self.problems = tuple(problems)
        told = [_line(*problem) for problem in self.problems[:MOST_LINES]]
        if len(self.problems) > MOST_LINES:
            told.append(f"... and {len(self.problems) - MOST_LINES} more")
        super().__init__("\n".join(f"{source}: {line}" if str(source) else line for line in told))

    def __reduce__(self) -> tuple[object, ...]:
        """Rebuild from source and problems in another process."""
        return type(self), (self.source, self.problems)


class ToldError(InputError):
    """Something refused only for what is told elsewhere, such as a material that is faulty."""


def _line(*parts: str) -> str:
    text = ": ".join(part for part in parts if part)
    text = "".join(c if c.isprintable() else ascii(c)[1:-1] for c in text)
    return text if len(text) <= LONGEST else f"{text[:195]} ... {text[-100:]}"


def refuse(path: str, text: str) -> NoReturn:
    """Raise one problem of a declared value under its key."""
    raise RefusedError("", [Problem(path, text)])


def one_key(**given: bool) -> None:
    """Refuse none or several of the keys that exclude each other."""
    found = [key for key, there in given.items() if there]
    if len(found) != 1:
        raise InputError(_exactly_one(given, found))


def together(key: str, words: str, *, given: object, wanted: bool) -> None:
    """Refuse a key that is given (not None, not 0) without what it goes with, or missing there."""
    if given and not wanted:
        refuse(key, f"{brief(given)}: goes with {words}, and only there")
    if wanted and not given:
        refuse(key, f"missing; {words} needs it")


def _exactly_one(keys: Iterable[str], found: Iterable[str]) -> str:
    wanted, there = (", ".join(f"'{key}'" for key in names) for names in (keys, found))
    return f"must have exactly one of the {key_word()}s {wanted}; it has {there or 'none'}"


def findings(error: ValidationError, data: object, kind: object) -> list[Problem]:
    """Return a problem for every finding of a validation, in the order of the input.

    Parameters
    ----------
    error : ValidationError
        What the validation answered.
    data : mapping
        The table or the arguments that were validated.
    kind : type
        The declared class, or union of them, that validated them.
    """
    found: dict[Problem, None] = {}
    items = error.errors(include_url=False)
    for item in items:
        if _misspelt(item, items):
            continue
        inner = item.get("ctx", {}).get("error")
        path, label, known = _follow(item["loc"], data, kind)
        if isinstance(inner, ToldError):
            continue
        if isinstance(inner, RefusedError):
            for path_in, text in inner.problems:
                whole = ".".join(part for part in (path, path_in) if part)
                found[Problem(whole + label, text)] = None
        else:
            found[Problem(path + label, _text(item, known))] = None
    return list(found)


def _misspelt(item: ErrorDetails, items: Iterable[ErrorDetails]) -> bool:
    """Whether a key that is missing stands beside, spelt otherwise, which is told."""
    if item["type"] not in _MISSING:
        return False
    *table, key = item["loc"]
    beside = [
        str(x["loc"][-1]) for x in items if x["type"] in _UNKNOWN and table == [*x["loc"][:-1]]
    ]
    return bool(get_close_matches(str(key), beside, n=1, cutoff=SPELT))


_TABLE = "a table"
_IN_PYTHON = {_TABLE: "a dict", "a list [...]": "a list", "true or false": "True or False"}
SPELT = 0.75
"""Likeness from which a key counts as misspelt, not as misplaced. [1]"""
_SHAPES = {
    "model_type": _TABLE,
    "dataclass_type": _TABLE,
    "dict_type": _TABLE,
    "mapping_type": _TABLE,
    "model_attributes_type": _TABLE,
    "list_type": "a list [...]",
    "tuple_type": "a list [...]",
    "string_type": "text in quotes",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "int_parsing": "a whole number",
    "float_type": "a number",
    "float_parsing": "a number",
    "finite_number": "a finite number",
}
_LIMITS = {
    "greater_than": ("above", "gt"),
    "greater_than_equal": ("at least", "ge"),
    "less_than": ("below", "lt"),
    "less_than_equal": ("at most", "le"),
}
_UNKNOWN = (
    "extra_forbidden", "unexpected_keyword_argument", "unexpected_positional_argument",
)  # fmt: skip

_MISSING = ("missing", "missing_argument")


def _text(item: ErrorDetails, known: tuple[str, ...]) -> str:
    kind, value, context = item["type"], item.get("input"), item.get("ctx", {})
    if kind in _UNKNOWN:
        return f"unknown {key_word()}; {_hint(str(item['loc'][-1]), known)}"
    if kind in _MISSING:
        return f"missing; this {key_word()} is needed"
    if kind == "value_error":
        return str(context["error"])
    if kind == "literal_error":
        wanted = str(context["expected"])
        names = [part.strip("' ") for part in wanted.replace(" or ", ", ").split(", ")]
        return f"{brief(value)}: must be {wanted}; {near_matches(str(value), names)}"
    if kind in ("union_tag_not_found", "union_tag_invalid"):
        return _tag_text(value, context)
    if kind in _LIMITS:
        word, key = _LIMITS[kind]
        return f"{brief(value)}: must be {word} {context[key]:g}"
    if kind == "is_instance_of":
        return f"{brief(value)}: must be a {context['class']}"
    if kind in _SHAPES:
        return f"{brief(value)}: must be {_shape(kind, context)}"
    message = str(item["msg"])
    return f"{brief(value)}: {message[0].lower()}{message[1:]}"


def _hint(key: str, known: tuple[str, ...]) -> str:
    """Return a key that is spelt nearly so, or where this one belongs, or what is known."""
    if get_close_matches(key, known, n=1, cutoff=SPELT):
        return near_matches(key, known)
    return home(key) or near_matches(key, known)


def _shape(kind: str, context: Mapping[str, object]) -> str:
    words = _SHAPES[kind]
    if words == _TABLE and "class_name" in context:
        return by_door(words, f"a hygro.{context['class_name']} or a dict")
    return by_door(words, _IN_PYTHON.get(words, words))


def _tag_text(value: object, context: Mapping[str, object]) -> str:
    if not isinstance(value, Mapping):
        return f"{brief(value)}: must be {by_door('a table {...}', 'a declared object or a dict')}"
    key = str(context.get("discriminator", "")).strip("'")
    if "tag" in context:
        names = [part.strip("' ") for part in str(context["expected_tags"]).split(", ")]
        word = key if key in ("kind", "form") else "kind"
        tag = str(context["tag"])
        return f"{spelled(word, tag)}: unknown; {near_matches(tag, names)}"
    if key in ("kind", "form"):
        return f"{key}: missing; this {key_word()} is needed"
    return _exactly_one(ELEMENT_KEYS, value)


def _follow(loc: Location, data: object, kind: object) -> tuple[str, str, tuple[str, ...]]:
    """Return the path as people write it, the name of its end, and the keys known there."""
    parts: list[str] = []
    here = kind
    label = ""
    if loc and isinstance(loc[0], int) and _fields(_plain(kind)):
        loc = (_positional(kind, loc[0]), *loc[1:])  # an argument given by its place in a call
    for i, part in enumerate(loc):
        here = _plain(here)
        if isinstance(part, str) and (tagged := _tagged(here, part)) is not None:
            here = tagged
            continue
        if _is_union(here) and not isinstance(part, int):
            continue  # the branch of a union of plain types
        known = tuple(_fields(here))
        data = _step(data, part)
        parts, label = _write(parts, part, data, label)
        if i < len(loc) - 1:
            here = _descend(here, part)
    return "".join(parts).removeprefix("."), label, known if loc else ()


def _positional(kind: object, number: int) -> str | int:
    names = [n for n, f in _plain(kind).__pydantic_fields__.items() if not f.kw_only]
    return names[number] if number < len(names) else number


def _write(parts: list[str], part: int | str, data: object, label: str) -> tuple[list[str], str]:
    if isinstance(part, str):
        part = part if len(part) <= 60 else part[:57] + "..."
        bare = part.replace("_", "").replace("-", "").isalnum()
        return [*parts, f".{part}" if bare else f'."{part}"'], label
    if parts and parts[-1] == ".wall" and isinstance(data, Mapping) and data.get("name"):
        return [*parts, f'."{data["name"]}"'], label
    if isinstance(data, Mapping):
        name = next((data[k] for k in ("name", *ELEMENT_KEYS) if data.get(k)), "")
        label = f" ({name})" if name else label
    return [*parts, f"[{part}]"], label


def _step(data: Any, part: int | str) -> Any:
    try:
        return data[part]
    except (KeyError, IndexError, TypeError):
        return None


def _plain(annotation: Any) -> Any:
    """Strip `Annotated` and `None` from a type."""
    while hasattr(annotation, "__metadata__") and not _has_tag(annotation):
        annotation = annotation.__origin__
    options = [a for a in get_args(annotation) if a is not type(None)]
    if _is_union(annotation) and len(options) == 1:
        return _plain(options[0])
    return annotation


def _is_union(annotation: object) -> bool:
    return get_origin(annotation) in (UnionType, Union) or (
        get_origin(annotation) is None and not _fields(annotation)
    )


def _has_tag(annotation: object) -> bool:
    return any(isinstance(m, Tag) for m in getattr(annotation, "__metadata__", ()))


def _fields(annotation: object) -> Data:
    """Fields of a declared class by key; none for anything else."""
    known = getattr(annotation, "__pydantic_fields__", {}) if isinstance(annotation, type) else {}
    return {f.alias or name: f for name, f in known.items() if not f.exclude}


def _tagged(annotation: object, part: str) -> object:
    """Return the branch of a tagged union that carries the tag, or of a union by class name."""
    if not _is_union(annotation):
        return None
    for option in get_args(annotation):
        for meta in getattr(option, "__metadata__", ()):
            if isinstance(meta, Tag) and meta.tag == part:
                return _plain(option.__origin__)
        bare = _plain(option)
        if _fields(bare) and part in (bare.__name__, *_kinds(bare)):
            return bare
    return None


def _kinds(cls: type) -> tuple[str, ...]:
    known = _fields(cls)
    return tuple(
        x for key in ("kind", "form") if key in known for x in get_args(known[key].annotation)
    )


def _descend(annotation: Any, part: int | str) -> object:
    known = _fields(annotation)
    if known:
        field = known.get(str(part)) or annotation.__pydantic_fields__.get(str(part))
        return field.annotation if field is not None else None
    arguments = [a for a in get_args(annotation) if a is not Ellipsis]
    return arguments[-1] if arguments and not _is_union(annotation) else annotation
