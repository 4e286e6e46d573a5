"""What is wrong with a case file, said so that it can be mended. Owns the wording of problems.

Turns validation findings into lines "file: table path: value, bound, likely cause"; knows the
models only by their fields.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from types import UnionType
from typing import Any, NamedTuple, get_args, get_origin

from pydantic import BaseModel, Tag, ValidationError

from hygro.errors import InputError, near_matches

Location = tuple[int | str, ...]


class Problem(NamedTuple):
    """One finding: the path in the file ("" for the file itself) and what is wrong there."""

    path: str
    text: str


class CaseError(InputError):
    """A case file with one or more problems; `problems` has them one by one."""

    def __init__(self, source: str | Path, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        lines = (": ".join(part for part in (str(source), *p) if part) for p in self.problems)
        super().__init__("\n".join(lines))


def findings(
    error: ValidationError, data: Mapping[str, Any], model: type[BaseModel]
) -> list[Problem]:
    """Return a problem for every finding of a validation, in the order of the file.

    Parameters
    ----------
    error : ValidationError
        What the model answered.
    data : mapping
        The tables that were validated.
    model : type
        The model that validated them.
    """
    found: dict[Problem, None] = {}
    for item in error.errors(include_url=False):
        where, keys = _follow(item["loc"], data, model)
        found[Problem(where, _text(item, keys))] = None
    return list(found)


_SHAPES = {
    "model_type": "a table",
    "dict_type": "a table",
    "list_type": "a list [...]",
    "string_type": "text in quotes",
    "bool_type": "true or false",
    "int_type": "a whole number",
    "float_type": "a number",
}


def _text(item: Mapping[str, Any], keys: tuple[str, ...]) -> str:
    kind, value, context = item["type"], item.get("input"), item.get("ctx", {})
    if kind == "extra_forbidden":
        return f"unknown key; {near_matches(str(item['loc'][-1]), keys)}"
    if kind == "missing":
        return "missing; this key is needed"
    if kind == "value_error":
        return str(context["error"])
    if kind == "literal_error":
        wanted = str(context["expected"])
        known = [part.strip("' ") for part in wanted.replace(" or ", ", ").split(", ")]
        return f"{value!r}: must be {wanted}; {near_matches(str(value), known)}"
    if kind in ("union_tag_not_found", "union_tag_invalid"):
        return _tag_text(value, context)
    if kind in _SHAPES:
        return f"{_brief(value)}: must be {_SHAPES[kind]}"
    message = str(item["msg"])
    return f"{_brief(value)}: {message[0].lower()}{message[1:]}"


def _tag_text(value: Any, context: Mapping[str, Any]) -> str:
    if not isinstance(value, Mapping):
        return f"{_brief(value)}: must be a table {{...}}"
    if "tag" in context:
        known = [part.strip("' ") for part in str(context["expected_tags"]).split(", ")]
        return f"kind = {context['tag']!r}: unknown; {near_matches(str(context['tag']), known)}"
    wanted = str(context.get("discriminator", ""))
    if "kind" in wanted and "element" not in wanted:
        return "kind: missing; this key is needed"
    return "must have exactly one of the keys 'material', 'membrane', 'gap'; it has " + (
        ", ".join(f"'{key}'" for key in value) or "none"
    )


def _brief(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 40 else text[:37] + "..."


def _follow(loc: Location, data: Any, model: type[BaseModel]) -> tuple[str, tuple[str, ...]]:
    """Return the path as people write it and the keys known at the place of the last part."""
    parts: list[str] = []
    here: Any = model
    label = ""
    for i, part in enumerate(loc):
        here = _plain(here)
        if isinstance(part, str) and (tagged := _tagged(here, part)) is not None:
            here = tagged
            continue
        if (
            get_origin(here) in (UnionType, None)
            and not _is_model(here)
            and not isinstance(part, int)
        ):
            continue  # the branch of a union of plain types
        known = _keys(here)
        data = _step(data, part)
        parts, label = _write(parts, part, data, label)
        if i < len(loc) - 1:
            here = _descend(here, part)
    return "".join(parts).removeprefix(".") + label, known if loc else ()


def _write(parts: list[str], part: int | str, data: Any, label: str) -> tuple[list[str], str]:
    if isinstance(part, str):
        bare = part.replace("_", "").replace("-", "").isalnum()
        return [*parts, f".{part}" if bare else f'."{part}"'], label
    if parts and parts[-1] == ".wall" and isinstance(data, Mapping) and data.get("name"):
        return [*parts, f'."{data["name"]}"'], label
    if isinstance(data, Mapping):
        name = next((data[k] for k in ("name", "material", "membrane", "gap") if data.get(k)), "")
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
    if get_origin(annotation) is UnionType and len(options) == 1:
        return _plain(options[0])
    return annotation


def _has_tag(annotation: Any) -> bool:
    return any(isinstance(m, Tag) for m in getattr(annotation, "__metadata__", ()))


def _is_model(annotation: Any) -> bool:
    return isinstance(annotation, type) and issubclass(annotation, BaseModel)


def _tagged(annotation: Any, part: str) -> Any:
    """Return the branch of a tagged union that carries the tag, or of a union by model name."""
    for option in get_args(annotation):
        for meta in getattr(option, "__metadata__", ()):
            if isinstance(meta, Tag) and meta.tag == part:
                return option.__origin__
        if _is_model(option) and part in (option.__name__, *_kinds(option)):
            return option
    return None


def _kinds(model: type[BaseModel]) -> tuple[str, ...]:
    field = model.model_fields.get("kind")
    return get_args(field.annotation) if field else ()


def _keys(annotation: Any) -> tuple[str, ...]:
    return tuple(annotation.model_fields) if _is_model(annotation) else ()


def _descend(annotation: Any, part: int | str) -> Any:
    if _is_model(annotation) and isinstance(part, str) and part in annotation.model_fields:
        return annotation.model_fields[part].annotation
    arguments = get_args(annotation)
    return arguments[-1] if get_origin(annotation) in (list, dict) else annotation
