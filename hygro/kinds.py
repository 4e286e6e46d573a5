"""What a file is, so that only one of the same kind takes its place. Knows no kind itself.

A file is known by what it holds: a text that stands in all files of its kind and in no other, or
what a table says of itself.
"""

from __future__ import annotations

import csv
import io
import json
import mmap
import re
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from hygro.errors import InputError

READ = 1 << 16
"""Characters of a table that are read to know it."""
_ENTRY = re.compile(r'"(\w+)": ("(?:[^"\\]|\\.)*")')


class Kind(NamedTuple):
    """What a file is, as a message names it, and whether a file that is not empty is the same.

    Attributes
    ----------
    words : str
        What it is.
    holds : callable
        Whether a file is the same.
    found : callable
        What a file is that differs by its names alone; empty where it is another altogether.
    instead : str
        What it is beside one that differs by its names alone; empty: `words`.
    """

    words: str
    holds: Callable[[Path], bool]
    found: Callable[[Path], str] = lambda _: ""
    instead: str = ""


def marked(words: str, mark: str) -> Kind:
    """Return the kind of the files that hold a text: one that all of them have, and no other."""

    def holds(path: Path) -> bool:
        with path.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as whole:
            return whole.find(mark.encode()) >= 0

    return Kind(words, holds)


def named(words: str, begins: Mapping[str, str], **names: str) -> Kind:
    """Return the kind of tables that say themselves what they are of.

    Parameters
    ----------
    words : str
        What a table is, with its names in braces.
    begins : mapping
        By suffix: what every such file begins with; the heads of a CSV. A file of another suffix
        is known by the JSON beside it.
    **names
        What the first row of a CSV, and the first entries of a JSON, have under these keys.
    """

    def told(path: Path) -> Mapping[str, str]:
        table = path if path.suffix in begins else path.with_suffix(".json")
        if not table.is_file():
            return {}
        with table.open(encoding="utf-8", errors="replace", newline="") as file:
            head = file.read(READ)
        if not head.startswith(begins[table.suffix]):
            return {}
        return _first_row(head, names) if table.suffix == ".csv" else _first_entries(head)

    def found(path: Path) -> str:
        says = told(path)
        return words.format(**says) if says.keys() >= names.keys() else ""

    return Kind(words.format(**names), lambda path: told(path).items() >= names.items(), found)


def _first_row(head: str, names: Mapping[str, str]) -> Mapping[str, str]:
    """By their heads; heads alone are those of any table, as nothing could be lost."""
    with suppress(csv.Error):
        return next(csv.DictReader(io.StringIO(head, newline="")), names)
    return {}


def _first_entries(head: str) -> Mapping[str, str]:
    """The first text of each key, however deep it lies."""
    found: dict[str, str] = {}
    with suppress(ValueError):
        for key, text in _ENTRY.findall(head):
            found.setdefault(key, json.loads(text))
    return found


def refuse_other(path: Path, kind: Kind) -> None:
    """Refuse to put a file where one of another kind is: nobody would get that back.

    Raises
    ------
    InputError
        There is one, or it cannot be read.
    """
    try:
        other = path.is_file() and path.stat().st_size > 0 and not kind.holds(path)
        found = kind.found(path) if other else ""
    except OSError as error:
        raise InputError(f"{path}: cannot be read: {error.strerror or error}") from error
    if found:
        raise InputError(
            f"{path}: is {found}, not {kind.instead or kind.words}, so it is not replaced; name "
            "another file or folder, or remove it"
        )
    if other:
        raise InputError(
            f"{path}: is not {kind.words}, so it is not replaced; name another file, or remove it"
        )
