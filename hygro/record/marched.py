"""A run that went to its end, and the record of it."""

from __future__ import annotations

from typing import NamedTuple

import xarray as xr

from hygro.record.check import check_bounds
from hygro.record.dataset import to_dataset
from hygro.record.provenance import attributes
from hygro.solve.periodic import Cycle
from hygro.solve.settings import Settings
from hygro.solve.setup import Run
from hygro.wall.loads import Loads
from hygro.wall.wall import Wall


class Marched(NamedTuple):
    """A run that went to its end, before a record is made of it.

    `provenance` is what its record says beside the rest.
    """

    wall: Wall
    loads: Loads
    settings: Settings
    run: Run
    provenance: dict[str, object]

    def record(self) -> xr.Dataset:
        """The Dataset of the run with its attributes.

        Raises
        ------
        SolveError
            A balance is open.
        RecordError
            A value is out of bounds.
        """
        wall, loads, settings, run, known = self
        attrs = attributes(wall, loads, settings, run.closure, run.counters, known)
        found = to_dataset(wall, loads, run, attrs)
        check_bounds(found, f"wall '{wall.name}'")
        return found


def repeated(
    wall: Wall, loads: Loads, settings: Settings, run: Run, cycle: Cycle, known: dict[str, object]
) -> Marched:
    """A run that went through its loads again and again, which its record says."""
    rounds = {"periodic_rounds": cycle.years, "periodic_drift": cycle.drift}
    return Marched(wall, loads, settings, run, {**known, **rounds})
