"""Series that take long to make, kept on disk for the next process; knows nothing of what they are.

A file is named by a hash of all that its series follow from: function, arguments, the sources of
this package, libraries and processor. It begins with a seal; one that does not bear it is as none.
"""

from __future__ import annotations

import json
import os
import platform
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import is_dataclass
from functools import cache
from hashlib import sha256
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import numpy as np

from weather.arrays import Array

MOST = 2**26
"""All files together; the oldest go (our choice: thirty climates of three years). [B]"""
Series = dict[str, Array]
"""Values by name, all of one length."""
Folder = Callable[[], Path | None]

_folder: Folder = lambda: None  # noqa: E731


@contextmanager
def keeping(folder: Folder) -> Iterator[None]:
    """Let `kept` keep its series in a folder; asked for when the first is made, None for none.

    For the time of a command, in all threads: what a program or test computes is computed.
    """
    global _folder
    before, _folder = _folder, folder
    try:
        yield
    finally:
        _folder = before


def kept(make: Callable[..., Series], *given: object) -> Series:
    """Return `make(*given)`, to the bit, from its file where there is one.

    Parameters
    ----------
    make : callable
        A function of a module, of nothing but its arguments.
    given : object
        Arrays, numbers, text, None, and tuples, lists and dataclasses of them.
    """
    folder = _folder()
    if folder is None:
        return make(*given)
    try:
        key = _key(make, given)
    except (OSError, PackageNotFoundError):  # what it follows from cannot be seen
        return make(*given)
    path = folder / key.hex()[:32]
    found = _read(path, key)
    if found is None:
        found = make(*given)
        with suppress(OSError):
            _write(path, key, found)
    return found


def _read(path: Path, key: bytes) -> Series | None:
    try:
        whole = path.read_bytes()
    except OSError:
        return None
    seal, content = whole[:32], whole[32:]
    if seal != sha256(key + content).digest():
        return None
    names, _, values = content.partition(b"\n")
    rows = np.frombuffer(values).reshape(-1, len(values) // (8 * len(json.loads(names)))).copy()
    return dict(zip(json.loads(names), rows, strict=True))


def _write(path: Path, key: bytes, series: Series) -> None:
    """Put a file in its place in one move; whether it was whole on the disk is told by its seal."""
    content = json.dumps(list(series)).encode() + b"\n" + np.stack([*series.values()]).tobytes()
    if len(content) > MOST:
        return
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent)
    try:
        with open(handle, "wb") as file:
            file.write(sha256(key + content).digest() + content)
        os.replace(name, path)
    finally:
        Path(name).unlink(missing_ok=True)
    _drop_oldest(path.parent)


def _drop_oldest(folder: Path) -> None:
    known = sorted(((x.stat(), x) for x in folder.iterdir()), key=lambda item: -item[0].st_mtime)
    total = 0
    for known_as, path in known:
        total += known_as.st_size
        if total > MOST:
            path.unlink()


def _key(make: Callable[..., Series], given: tuple[object, ...]) -> bytes:
    name = f"{make.__module__}.{make.__qualname__}".encode()
    return sha256(b"\0".join([_made_by(), name, _code(given)])).digest()


def _code(value: object) -> bytes:
    """Return bytes that no other value has."""
    if isinstance(value, np.ndarray):
        return f"{value.dtype.str}{value.shape}".encode() + value.tobytes()
    if is_dataclass(value):
        value = tuple(vars(value).values())
    if isinstance(value, tuple | list):
        return b"(" + b",".join(map(_code, value)) + b")"
    if value is None or isinstance(value, str | int | float):
        return repr(value).encode()
    raise TypeError(f"{type(value).__name__}: no part of a key")


@cache
def _made_by() -> bytes:
    """Return a hash of what makes the series: code, libraries, and the processor that rounds."""
    package = Path(__file__).parent
    libraries = [version(name) for name in ("numpy", "scipy", "pandas", "pvlib")]
    instructions = np.show_config(mode="dicts").get("SIMD Extensions")
    seen = sha256(repr((libraries, instructions, platform.platform(), sys.version)).encode())
    for path in sorted(package.rglob("*.py")):
        seen.update(path.name.encode() + b"\0" + path.read_bytes())
    return seen.digest()
