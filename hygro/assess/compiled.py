"""Compiles the loops of ratings; the code is kept beside that of the kernels. Owns that alone."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from numba import config, njit

from hygro.solve.kernels.compiler import cache_folder

Loop = Callable[..., Any]


def compiled(loop: Loop) -> Loop:
    """A loop that is compiled when it is first called; kept on disk where a folder can be written.

    The compiler's own cache watches the file of the loop, so loops call loops of their file only.
    """
    folder = cache_folder()
    if folder is None:
        return njit(loop)
    kept = config.CACHE_DIR  # type: ignore[attr-defined]
    config.CACHE_DIR = str(folder)  # type: ignore[attr-defined]
    try:
        return njit(loop, cache=True)
    finally:
        config.CACHE_DIR = kept  # type: ignore[attr-defined]
