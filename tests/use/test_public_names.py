"""Every public name stands in the reference, has a docstring, and tells each of its arguments."""

from __future__ import annotations

import ast
import inspect
import itertools
import re
import textwrap
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

import hygro
import weather
from hygro.assess.accessor import RecordAccessor, RecordFigures
from hygro.declare import keys
from hygro.describe import meanings, section
from hygro.study.varied import StudyEntry

PAGES = Path(__file__).parents[2] / "docs" / "reference"
PACKAGES = {"python.md": hygro, "weather.md": weather}
OPEN = (inspect.Parameter.VAR_POSITIONAL, inspect.Parameter.VAR_KEYWORD)


def named(package: ModuleType) -> list[tuple[str, Any]]:
    return [(f"{package.__name__}.{name}", getattr(package, name)) for name in package.__all__]


NAMED = [item for package in PACKAGES.values() for item in named(package)]
FUNCTIONS = [item for item in NAMED if inspect.isfunction(item[1])]
CLASSES = [item for item in NAMED if inspect.isclass(item[1])]
OWNERS = [
    *CLASSES,
    ("RecordAccessor", RecordAccessor),
    ("RecordFigures", RecordFigures),
]


def methods(cls: type) -> Iterator[tuple[str, Any]]:
    """What a class says of itself under a public name."""
    for name, member in vars(cls).items():
        if not name.startswith("_") and (
            inspect.isfunction(member) or isinstance(member, property)
        ):
            yield name, member


METHODS = [(f"{label}.{name}", m) for label, cls in OWNERS for name, m in methods(cls)]


def arguments(function: Callable[..., Any]) -> list[str]:
    """Names of the arguments, but `self` and what is passed on as it comes."""
    found = inspect.signature(function).parameters.values()
    return [p.name for p in found if p.kind not in OPEN and p.name != "self"]


def told(value: Any, title: str = "Parameters") -> set[str]:
    """Names that a section of a docstring has a line for."""
    heads = [x for x in section(value, title).splitlines() if x[:1].strip()]
    return {name.strip() for head in heads for name in head.partition(" : ")[0].split(",")}


def noted(cls: type) -> set[str]:
    """Fields of a class that have a text of their own below them."""
    body = ast.parse(textwrap.dedent(inspect.getsource(cls))).body[0].body
    return {
        field.target.id
        for field, text in itertools.pairwise(body)
        if isinstance(field, ast.AnnAssign)
        and isinstance(text, ast.Expr)
        and isinstance(text.value, ast.Constant)
    }


@pytest.mark.parametrize("page", PACKAGES)
def test_the_reference_has_every_public_name_and_no_other(page: str) -> None:
    package = PACKAGES[page]
    text = (PAGES / page).read_text(encoding="utf-8")
    listed = re.findall(rf"^\.\. (?:auto\w+|py:data):: {package.__name__}\.(\w+)$", text, re.M)
    assert sorted(listed) == sorted(package.__all__)


@pytest.mark.parametrize(("name", "value"), [*CLASSES, *FUNCTIONS, *METHODS])
def test_a_public_name_has_a_docstring(name: str, value: Any) -> None:
    assert value.__doc__
    assert len(value.__doc__.split()) > 2


@pytest.mark.parametrize(("name", "function"), FUNCTIONS)
def test_a_public_function_tells_each_of_its_arguments(name: str, function: Any) -> None:
    assert [a for a in arguments(function) if a not in told(function)] == []


@pytest.mark.parametrize(("name", "cls"), CLASSES)
def test_a_public_class_tells_each_of_its_arguments(name: str, cls: type) -> None:
    """In the docstrings of its own and of its bases, by the name of the key or of the field.

    The tag that tells one kind from another is none.
    """
    if issubclass(cls, Exception):
        return
    known = {*meanings(cls), *told(cls), *told(cls, "Attributes"), *noted(cls), "kind"}
    if cls is hygro.Study:  # "see `StudyEntry`", which takes these by the same names
        known |= set(meanings(StudyEntry))
    fields = keys(cls) if hasattr(cls, "__pydantic_fields__") else {}
    assert [a for a in arguments(cls) if not {a, fields.get(a)} & known] == []
