"""Opens files for the readers: there, of sane size, text; knows no format."""

from __future__ import annotations

import os
from pathlib import Path

from weather.errors import fault

GREATEST_SIZE = 2**29
"""Larger files are refused: a century of hours in all variables takes a quarter of it. [B]"""


def require_file(path: str | Path) -> Path:
    """Return the path of an existing file of sane size.

    Raises
    ------
    WeatherError
        When there is no such file, its name cannot be one, or it is too large.
    """
    if not isinstance(path, str | os.PathLike):
        raise fault("file", f"is {type(path).__name__}", "must be the name of a file")
    found = Path(path)
    try:
        there = "\0" not in str(path) and found.is_file()
        size = found.stat().st_size if there else 0
    except OSError as error:
        raise fault(repr(str(path))[:200], f"cannot be opened ({error.strerror})") from error
    if not there:
        cause = "check the path and the working folder"
        if "\0" in str(path):
            raise fault(repr(str(path)), "no file name: it holds a NUL character", cause)
        raise fault(str(path), "is a folder" if found.is_dir() else "no such file", cause)
    check_size(found.name, size)
    return found


def check_size(name: str, size: int) -> None:
    """Refuse more bytes than any weather has."""
    if size > GREATEST_SIZE:
        raise fault(
            name,
            f"{size / 2**20:.0f} MiB: must be at most {GREATEST_SIZE / 2**20:.0f} MiB",
            "is it weather of one place?",
        )


def read_text(path: Path, *, lossy: bool = False) -> str:
    """Return the text of a file, in UTF-8 with or without a byte-order mark.

    Parameters
    ----------
    path : Path
        From `require_file`.
    lossy : bool
        Put a mark for each byte that is no UTF-8, as in the names of old files.

    Raises
    ------
    WeatherError
        When the file cannot be read or is no text.
    """
    try:
        raw = path.read_bytes()
        text = raw.decode("utf-8-sig", errors="replace" if lossy else "strict")
    except OSError as error:
        raise fault(path.name, f"cannot be read ({error.strerror})") from error
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise fault(f"{path.name}, line {line}", "no UTF-8 text", "save it as UTF-8") from error
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        cause = "is the file damaged, of another format, or UTF-16?"
        raise fault(f"{path.name}, line {line}", "a NUL character: no text", cause)
    return text
