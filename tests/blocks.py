"""Blocks of code in the pages: found, and run. Owns no expected value."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from markdown_it import MarkdownIt
from typer.testing import CliRunner

from hygro.cli import app

ROOT = Path(__file__).parents[1]
PAGES = [
    ROOT / "README.md",
    ROOT / "DEVELOPERS.md",
    ROOT / "CHANGELOG.md",
    *sorted((ROOT / "docs").rglob("*.md")),
]
SET_UP = re.compile(
    r"python3? -m (venv|sphinx)\b|\. |pip install\b|pytest\b|ruff\b|mypy\b|lint-imports\b"
)
"""What sets up an environment or checks the project: done by `.ci/run`, in an environment of its
own."""


class Block(NamedTuple):
    """A block: its page, line, language, and text; indented ones have no language."""

    page: str
    line: int
    language: str
    text: str


def blocks(path: Path) -> Iterator[Block]:
    """Every block of a page; what Sphinx makes of a directive is none."""
    name = path.relative_to(ROOT).as_posix()
    for token in MarkdownIt("commonmark").enable("table").parse(path.read_text("utf-8")):
        if token.type in ("fence", "code_block") and not token.info.startswith("{"):
            yield Block(name, (token.map or [0])[0] + 1, token.info, token.content)


def of(name: str, language: str) -> list[str]:
    """The texts of a page in one language."""
    return [b.text for b in blocks(ROOT / name) if b.language == language]


def commands(text: str) -> list[list[str]]:
    """The commands of a shell block, without the folder of their environment."""
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    parts = [part.strip() for line in lines for part in line.split(" && ")]
    return [shlex.split(part.removeprefix(".venv/bin/")) for part in parts]


def run(arguments: list[str]) -> str:
    """Run `hygro` as typed and return what it prints."""
    done = CliRunner().invoke(app, arguments)
    assert done.exit_code == 0, f"{arguments}: {done.output}"
    return done.output


def execute(texts: list[str], names: dict[str, Any]) -> dict[str, Any]:
    """Run the blocks of a page in order; they share their names."""
    for text in texts:
        exec(text, names)
    return names
