"""What a file is, so that only one of the same kind takes its place. Knows no kind itself.

A file is known by a text that stands in all files of its kind and in no other.
"""

from __future__ import annotations

import mmap
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from hygro.errors import InputError


class Kind(NamedTuple):
    """What a file is, as a message names it, and whether a file that is not empty is the same."""

    words: str
    holds: Callable[[Path], bool]


def marked(words: str, mark: str, suffix: str = "") -> Kind:
    """Return the kind of the files that hold a text: one that all of them have, and no other.

    With a suffix the text stands in the file beside that has the same name and ends so.
    """

    def holds(path: Path) -> bool:
        told = path.with_suffix(suffix) if suffix else path
        if not told.is_file() or not told.stat().st_size:
            return False
        with told.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as whole:
            return whole.find(mark.encode()) >= 0

    return Kind(words, holds)


def refuse_other(path: Path, kind: Kind) -> None:
    """Refuse to put a file where one of another kind is: nobody would get that back.

    Raises
    ------
    InputError
        There is one, or it cannot be read.
    """
    try:
        other = path.is_file() and path.stat().st_size > 0 and not kind.holds(path)
    except OSError as error:
        raise InputError(f"{path}: cannot be read: {error.strerror or error}") from error
    if other:
        raise InputError(
            f"{path}: is not {kind.words}, so it is not replaced; name another file, or remove it"
        )
