"""Reads all that a worker of a study needs, compiled code included.

Imported by the process that workers are copies of, so that each of them finds it in memory.
"""

from __future__ import annotations

import gc
from contextlib import suppress

import pvlib.irradiance
import pvlib.solarposition  # noqa: F401  sun on walls

from hygro.decide import work as work
from hygro.errors import HygroError
from hygro.solve.kernels.compiler import cache_folder
from hygro.solve.lanes import WIDTH
from hygro.study.ahead import read_code


def read_kernels() -> None:
    """Have the code of walls side by side at hand, if that needs no compiling."""
    folder = cache_folder()
    if folder is not None and any(folder.rglob("march.march-*.nbi")):
        read_code([WIDTH])  # whoever compiles shall be open to Ctrl-C


with suppress(HygroError, OSError):  # each worker meets what is wrong by itself, and tells it
    read_kernels()
gc.freeze()  # looking for garbage would make each copy its own
