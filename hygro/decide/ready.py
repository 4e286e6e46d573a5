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
from hygro.solve.lanes import WIDTH
from hygro.study.ahead import kept, run_plain

with suppress(HygroError, OSError):  # each worker meets what is wrong by itself, and tells it
    if kept():  # whoever compiles shall be open to Ctrl-C
        run_plain(WIDTH)
gc.freeze()  # looking for garbage would make each copy its own
