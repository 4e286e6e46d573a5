"""What a declaration is: a frozen value whose fields carry unit, bound, likely cause and default.

A declared class is called from Python and read from a table by the same checks; `plain` writes it
as a table again. Owns the decorator and both ways; the fields are in `hygro.fields`, the wording of
problems in `hygro.problems`.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Mapping
from typing import Any, TypeVar, dataclass_transform

from pydantic import ConfigDict, Field, TypeAdapter, ValidationError
from pydantic.dataclasses import dataclass
from pydantic.fields import FieldInfo

from hygro.homes import REGISTER
from hygro.problems import RefusedError, findings

T = TypeVar("T")
_CONFIG = ConfigDict(extra="forbid", populate_by_name=True, arbitrary_types_allowed=True)


def tag(*, default: str, kw_only: bool) -> Any:
    """Return the field that tells one declaration from its siblings in a table: `form`, `kind`."""
    return dataclasses.field(default=default, kw_only=kw_only, repr=False)


@dataclass_transform(frozen_default=True, field_specifiers=(Field, dataclasses.field, tag))
def declared(cls: type[T]) -> type[T]:
    """Make a class a declaration: frozen, hashable, checked, every key known.

    A call with something wrong raises `RefusedError`, an `InputError` that tells every problem
    with value, bound and likely cause.
    """
    made: Any = dataclass(frozen=True, repr=False, config=_CONFIG)(cls)
    checked = made.__init__

    @functools.wraps(checked)
    def init(self: object, *args: object, **kwargs: object) -> None:
        try:
            checked(self, *args, **kwargs)
        except ValidationError as error:
            given = dict(zip(_names(type(self)), args, strict=False)) | kwargs
            raise RefusedError(
                _label(type(self), given), findings(error, given, type(self))
            ) from None

    made.__init__ = init
    if cls.__repr__ is object.__repr__:
        made.__repr__ = written
    REGISTER.append(made)
    found: type[T] = made
    return found


def written(value: object, but: tuple[str, ...] = ()) -> str:
    """Write a declared value as a call with what differs from the defaults."""
    parts = [
        f"{f.name}={_brief(getattr(value, f.name))}"
        for f in dataclasses.fields(value)  # type: ignore[arg-type]
        if f.repr and f.init and f.name not in but and not _is_default(value, f)
    ]
    return f"{type(value).__name__}({', '.join(parts)})"


def _is_default(value: object, field: dataclasses.Field[object]) -> bool:
    made = field.default_factory
    default = field.default if made is dataclasses.MISSING else made()
    found = getattr(value, field.name, default)
    return bool(type(found) is type(default) and found == default)


def _brief(value: object) -> str:
    """Write what a key alone brings back, such as a material of the library, by that."""
    if isinstance(value, float):
        return f"{value:.10g}"
    return repr(getattr(value, "by_key", "") or value)


def _names(cls: type) -> list[str]:
    return [f.name for f in dataclasses.fields(cls) if f.init and not f.kw_only]


def _label(cls: type, given: Mapping[str, object]) -> str:
    name = given.get("name")
    return f"{cls.__name__} '{name}'" if isinstance(name, str) and name else cls.__name__


def set_once(value: object, name: str, found: object) -> None:
    """Settle a field of a declared value while it is made."""
    object.__setattr__(value, name, found)


@functools.cache
def adapter(kind: Any) -> TypeAdapter[Any]:
    """Return the reader of a declared class or of a union of them."""
    return TypeAdapter(kind)


def read(kind: object, table: object, **context: object) -> Any:
    """Read a table; raises pydantic's `ValidationError` for `findings` to tell.

    Parameters
    ----------
    kind : type
        A declared class or an annotated union of them.
    table : mapping
        Keys as in a case file.
    **context
        What fields need beyond the table, such as `shelf`, the materials known.
    """
    return adapter(kind).validate_python(table, context=context)


def read_or_refuse(kind: object, table: object, place: str, **context: object) -> Any:
    """`read`, with what is wrong as one `RefusedError` under `place`."""
    try:
        return read(kind, table, **context)
    except ValidationError as error:
        raise RefusedError(place, findings(error, table, kind)) from None


def keys(cls: type) -> dict[str, str]:
    """Return the fields of a declared class by the key that a table uses for each."""
    return {f.alias or name: name for name, f in field_infos(cls).items() if not f.exclude}


def field_infos(cls: type) -> dict[str, FieldInfo]:
    """Return what a declared class says of each field, by its name."""
    found: dict[str, FieldInfo] = vars(cls)["__pydantic_fields__"]
    return found


def plain(value: object) -> Any:
    """Write a declared value as tables, lists, numbers and text; what is None is left out."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        found = {key: getattr(value, name) for key, name in keys(type(value)).items()}
        return {key: plain(item) for key, item in found.items() if item is not None}
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    return [plain(item) for item in value] if isinstance(value, tuple | list) else value
