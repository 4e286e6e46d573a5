"""Reads all that a worker of a study needs, compiled code included.

Imported by the process that workers are copies of, so that each of them finds it in memory.
"""

from __future__ import annotations

import gc
from contextlib import suppress

import pvlib.irradiance
import pvlib.solarposition  # noqa: F401  sun on walls

from hygro.assess import verdict
from hygro.assess.hourly import of_run
from hygro.decide import work as work
from hygro.errors import HygroError
from hygro.material import Material
from hygro.material.library import get_material
from hygro.record.simulate import march_many
from hygro.solve.kernels.compiler import cache_folder
from hygro.solve.lanes import WIDTH
from hygro.wall.elements import Layer
from hygro.wall.series import constant_loads
from hygro.wall.wall import Wall


def read_kernels() -> None:
    """Run eight plain walls for an hour and rate them, if that needs no compiling."""
    folder = cache_folder()
    if folder is None or not any(folder.rglob("march.march-*.nbi")):
        return  # whoever compiles shall be open to Ctrl-C
    board = get_material("osb")
    assert isinstance(board, Material)
    wall = Wall("plain", (Layer(board, 0.011),))
    loads = constant_loads(1, (275.0, 600.0), (294.0, 1200.0))
    for _, went in march_many([(wall, loads)] * WIDTH, threads=1):
        if not isinstance(went, HygroError):
            verdict(of_run(went))


with suppress(HygroError, OSError):  # each worker meets what is wrong by itself, and tells it
    read_kernels()
gc.freeze()  # looking for garbage would make each copy its own
