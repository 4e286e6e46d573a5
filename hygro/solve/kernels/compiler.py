"""How the kernels are compiled and where the compiled code is kept.

The compiler's own cache watches one file only. Here its folder is named by a hash of all sources
that a kernel can see, so that a change of any of them compiles anew.
"""

from __future__ import annotations

import hashlib
import logging
import os
import sys
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numba
from numba import config, njit
from numba.core.event import Listener, install_listener

from hygro.solve.lanes import Number

# no kernel allocates, so the compiler may leave out counting references: a quarter of the time
_OPTIONS: Any = {"nogil": True, "error_model": "numpy", "_nrt": False}
Kernel = Callable[..., Number]
_log = logging.getLogger(__name__)


def compiled(kernel: Kernel) -> Kernel:
    """A kernel that others call."""
    return njit(**_OPTIONS)(kernel)


def inlined(kernel: Kernel) -> Kernel:
    """A kernel that becomes part of those that call it."""
    return njit(**_OPTIONS, forceinline=True)(kernel)


def entry(kernel: Kernel) -> Kernel:
    """A kernel that Python calls; its code is kept on disk where a folder can be written."""
    folder = cache_folder()
    if folder is None:
        return njit(**_OPTIONS)(kernel)
    kept = config.CACHE_DIR  # type: ignore[attr-defined]
    config.CACHE_DIR = str(folder)  # type: ignore[attr-defined]
    try:
        return njit(**_OPTIONS, cache=True)(kernel)
    finally:
        config.CACHE_DIR = kept  # type: ignore[attr-defined]


def by_width(kernel: Any) -> Kernel:
    """An entry whose first argument holds walls and whose types follow from how many lanes it has.

    The compiler's own call looks at each array of each argument: 0.2 ms for the march. Here they
    are looked at once for each number of lanes.
    """
    if not hasattr(kernel, "typeof_pyval"):
        return kernel
    codes: dict[int, Kernel] = {}

    def call(pb: Any, *args: object) -> Any:
        code = codes.get(pb.cells.width)
        if code is None:
            types = tuple(kernel.typeof_pyval(x) for x in (pb, *args))
            with install_listener("numba:compile", _Telling(types)):
                code = codes[pb.cells.width] = kernel.compile(types)
        return code(pb, *args)

    return call


class _Telling(Listener):
    """Tells of code for some types that is not kept and has to be compiled."""

    def __init__(self, types: tuple[Any, ...]) -> None:
        self.types = types

    def on_start(self, event: Any) -> None:
        if event.data["args"] == self.types:
            _tell()

    def on_end(self, event: Any) -> None:
        pass


@cache
def _tell() -> None:
    _log.info("compiling the solver, once: a few minutes")


@cache
def cache_folder() -> Path | None:
    """Where this version of the kernels is kept: `NUMBA_CACHE_DIR`, the package, or the user's."""
    package = Path(__file__).parents[2]
    home = os.environ.get("XDG_CACHE_HOME") or "~/.cache"
    given = os.environ.get("NUMBA_CACHE_DIR")
    tried = [given] if given else [f"{package}/solve/__pycache__", f"{home}/hygro"]
    name = f"kernels-{_digest(package)}"
    for base in tried:
        folder = Path(base).expanduser() / name
        if _writable(folder):
            return folder
    sys.stderr.write(
        f"hygro: compiled code cannot be kept in {' or '.join(tried)}: it is made anew "
        "in each process (a minute or two); NUMBA_CACHE_DIR names a folder that can be written\n"
    )
    return None


def _digest(package: Path) -> str:
    """Of the sources that kernels can see, and of the compiler."""
    beside = (
        "constants.py",
        "solve/columns.py",
        "solve/control.py",
    )
    folders = (package / "solve" / name for name in ("kernels", "lanes", "dual"))
    kernels = [path for folder in folders for path in sorted(folder.glob("*.py"))]
    weather = [package.parent / "weather" / name for name in ("constants.py", "moistair.py")]
    sources = [*kernels, *(package / name for name in beside), *weather]
    seen = hashlib.sha256(f"{numba.__version__} {sys.version}".encode())
    for path in sources:
        seen.update(path.name.encode() + b"\0" + path.read_bytes())
    return seen.hexdigest()[:16]


def _writable(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return True
    except (OSError, RuntimeError):
        return False
