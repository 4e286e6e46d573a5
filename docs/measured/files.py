"""Files of results, and tables of them."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parents[1] / "results"


@cache
def read(name: str) -> Any:
    """Return a file of results."""
    return json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))


def versions(name: str) -> str:
    """Return the versions of the packages that made a file."""
    return ", ".join(f"{package} {v}" for package, v in read(name)["versions"].items())


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a Markdown table."""
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)
