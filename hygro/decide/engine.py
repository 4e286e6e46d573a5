"""What computes the runs: a hash of the sources that a result can depend on."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.metadata import version
from pathlib import Path

import weather
from hygro.record.provenance import versions
from hygro.solve.ensemble import check_device

FOLDERS = ("assess", "material", "record", "room", "solve", "study", "wall")
"""Folders of the package whose code or data a result can depend on."""
SUFFIXES = (".py", ".toml")
COMPILED = ("numpy", "scipy", "numba", "pvlib")
"""Packages whose version a result can depend on."""


@cache
def engine_hash() -> str:
    """SHA-256 over the sources, the shipped data and the versions that results depend on."""
    root, outdoors = Path(__file__).parents[1], Path(weather.__file__).parent
    folders = [*(root / name for name in FOLDERS), outdoors]
    files = [*root.glob("*.py"), *(f for folder in folders for f in folder.rglob("*"))]
    files += [Path(__file__).with_name(name) for name in ("digest.py", "rate.py")]
    digest = hashlib.sha256()
    for file in sorted(set(files)):
        if file.suffix in SUFFIXES:
            digest.update(file.relative_to(root.parent).as_posix().encode())
            digest.update(file.read_bytes())
    for name in COMPILED:
        digest.update(f"{name} {version(name)}".encode())
    return digest.hexdigest()


def device_name(device: str) -> str:
    """What marches runs beside the engine; empty for the processor.

    Raises
    ------
    InputError
        The device is unknown, or what it needs is not installed.
    """
    check_device(device)
    if device == "cpu":
        return ""
    from hygro.solve.card.device import compiler_name

    return f"{device}, {compiler_name()}"


def engine_name() -> str:
    """Version and the first letters of the hash, for people."""
    return f"{versions()['hygro']}+{engine_hash()[:10]}"
