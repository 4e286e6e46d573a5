"""Files written in one move: the whole file or none. A leaf; knows nothing of what is written."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from hygro.errors import InputError


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """Give a temporary file beside the target; on success it takes the target's place.

    Raises
    ------
    InputError
        The folder does not exist or cannot be written, or the target is a folder.
    """
    if path.is_dir():
        raise InputError(f"{path}: is a folder; a file name is needed")
    try:
        handle, name = tempfile.mkstemp(
            prefix=f".{path.stem}-", suffix=path.suffix, dir=path.parent
        )
    except OSError as error:
        raise InputError(f"{path}: cannot be written: {error.strerror}") from error
    os.close(handle)
    temporary = Path(name)
    try:
        yield temporary
        temporary.chmod(0o666 & ~_umask())
        temporary.replace(path)
    except OSError as error:
        raise InputError(f"{path}: cannot be written: {error.strerror}") from error
    finally:
        temporary.unlink(missing_ok=True)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def write_text(path: Path, text: str) -> None:
    """Write a text file in one move; raises `InputError` where it cannot be written."""
    with replacing(path) as temporary:
        temporary.write_text(text, encoding="utf-8")


def check_folder(path: Path) -> None:
    """Make sure that a folder can be made and written, without leaving anything.

    Raises
    ------
    InputError
        The nearest folder that exists is a file, or may not be written.
    """
    there = next(parent for parent in (path, *path.absolute().parents) if parent.exists())
    try:
        with tempfile.TemporaryFile(dir=there):
            return
    except NotADirectoryError:
        raise InputError(f"{path}: cannot be written: {there} is a file, no folder") from None
    except OSError as error:
        raise InputError(f"{path}: cannot be written: {error.strerror}") from error


def writable_folder(path: Path) -> Path:
    """Make a folder where there is none and make sure that files can be put there.

    Raises
    ------
    InputError
        It cannot be made or written.
    """
    try:
        path.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=path):
            return path
    except OSError as error:
        raise InputError(f"{path}: cannot be written: {error.strerror}") from error
