"""The page of the numerics numbers its equations as the docstrings of the kernels do."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator

import pytest
from blocks import ROOT

PAGE = (ROOT / "docs" / "numerics.md").read_text(encoding="utf-8")
EQUATIONS = re.findall(r"\*\*[^*]+\*\* \(`([\w/.]+)`\).*?\$\$ \(eq-(\d+)\)", PAGE, re.DOTALL)
"""File and number of each equation of the page, in order."""


def cited() -> Iterator[tuple[str, int]]:
    """File and number where a docstring of a kernel numbers an equation: at the end of a line, or
    in a sentence.
    """
    for path in sorted((ROOT / "hygro" / "solve" / "kernels").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Module | ast.FunctionDef | ast.ClassDef):
                text = ast.get_docstring(node) or ""
                for number in re.findall(r"(?<![\w)])\(([1-9]\d?)\)(?=[.:; \n]|$)", text):
                    yield f"solve/kernels/{path.name}", int(number)


def test_the_numbers_of_the_page_run_without_a_gap() -> None:
    """Sphinx numbers in the order of the page, so label and number agree."""
    assert [int(number) for _, number in EQUATIONS] == list(range(1, 18))


@pytest.mark.parametrize(("file", "number"), sorted(set(cited())))
def test_an_equation_of_a_kernel_is_on_the_page_beside_its_file(file: str, number: int) -> None:
    assert (file, str(number)) in EQUATIONS


def test_every_file_of_the_page_is_there() -> None:
    assert all((ROOT / "hygro" / file).is_file() for file, _ in EQUATIONS)
    assert {n for _, n in cited()} == set(range(2, 17)) - {4}  # the code names 4 in words
