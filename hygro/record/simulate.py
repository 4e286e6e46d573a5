"""From walls, climates and rooms to Datasets, and the repetition of a stored run."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from typing import Any

import numpy as np
import xarray as xr

from hygro.errors import HygroError
from hygro.record.dataset import to_dataset
from hygro.record.loads import stored_loads
from hygro.record.provenance import attributes, climate_attributes
from hygro.solve.ensemble import run_many
from hygro.solve.march import Run
from hygro.solve.march import run as march
from hygro.solve.periodic import run_periodic
from hygro.solve.settings import Settings
from hygro.wall.assembly import Wall
from hygro.wall.loads import Loads, build_loads, closed_loads
from hygro.wall.room_models import Room
from hygro.wall.serial import restored

Progress = Callable[[float, np.datetime64], None]


def simulate(
    wall: Wall,
    climate: xr.Dataset,
    room: Room,
    *,
    settings: Settings | None = None,
    provenance: dict[str, Any] | None = None,
    progress: Progress | None = None,
) -> xr.Dataset:
    """Run a wall through a climate with a room behind it.

    Parameters
    ----------
    wall : Wall
        Elements from outside to inside.
    climate : Dataset
        Canonical hourly climate of the `weather` package.
    room : Room
        Indoor climate rule.
    settings : Settings, optional
        Numerical settings.
    provenance : dict, optional
        More attributes for the record (case text, file hashes).
    progress : callable, optional
        Called with the finished share [1] and the simulated date.

    Returns
    -------
    Dataset
        As `hygro.record.variables.TABLE`; the attributes hold wall, settings, closures, versions.

    Raises
    ------
    InputError, SolveError
    """
    loads = build_loads(wall, climate, room)
    more = {**climate_attributes(climate), **(provenance or {})}
    return simulate_loads(wall, loads, settings=settings, provenance=more, progress=progress)


def simulate_loads(
    wall: Wall,
    loads: Loads,
    *,
    settings: Settings | None = None,
    provenance: dict[str, Any] | None = None,
    progress: Progress | None = None,
) -> xr.Dataset:
    """Run a wall through ready-made loads; see `simulate`."""
    settings = settings or Settings()
    result = march(wall, loads, settings, progress=progress)
    return _recorded(wall, loads, settings, result, provenance or {})


def _recorded(
    wall: Wall, loads: Loads, settings: Settings, result: Run, provenance: dict[str, Any]
) -> xr.Dataset:
    """The Dataset of a run with its attributes; raises `SolveError` where a balance is open."""
    attrs = attributes(wall, loads, settings, result.closure, result.counters, provenance)
    return to_dataset(wall, loads, result, attrs)


def simulate_many(
    cases: Iterable[tuple[Wall, Loads]],
    *,
    settings: Settings | None = None,
    provenance: dict[str, Any] | None = None,
    threads: int | None = None,
) -> Iterator[tuple[int, xr.Dataset | HygroError]]:
    """Run many walls through ready-made loads, those of one structure side by side.

    The records are those of `simulate_loads`, to the same bits; see
    `hygro.solve.ensemble.run_many` for what walls must have in common to run side by side.

    Parameters
    ----------
    cases : iterable of (Wall, Loads)
        What to run.
    settings, provenance
        For all of them, as in `simulate`.
    threads : int, optional
        Batches at a time; all cores when absent.

    Yields
    ------
    (int, Dataset or HygroError)
        Place in `cases` and record, as they come. A wall that cannot start or go on, or whose
        balance does not close, gives its error and leaves the others be.

    Raises
    ------
    InputError
        threads is not a positive number.
    """
    cases, settings = list(cases), settings or Settings()
    for k, got in run_many(cases, settings, threads=threads):
        if isinstance(got, HygroError):
            yield k, got
            continue
        found: xr.Dataset | HygroError
        try:
            found = _recorded(*cases[k], settings, got, provenance or {})
        except HygroError as error:
            found = error
        yield k, found


def simulate_periodic(
    wall: Wall,
    climate: xr.Dataset,
    room: Room,
    *,
    rounds: int | None = None,
    settings: Settings | None = None,
    provenance: dict[str, Any] | None = None,
    progress: Progress | None = None,
) -> xr.Dataset:
    """Run a wall through whole years again and again until they repeat themselves; see `simulate`.

    The record holds the last round, which starts from the state that the rounds before it led to;
    its attributes `periodic_rounds` and `periodic_drift` [kg/m²] say how many there were and how
    much the water of a layer still changed in the last of them. With `rounds` given, the round
    after that many is recorded even where the years do not repeat themselves by then.
    """
    loads = closed_loads(build_loads(wall, climate, room))
    more = {**climate_attributes(climate), **(provenance or {})}
    return _periodic(wall, loads, settings or Settings(), more, rounds, progress)


def _periodic(
    wall: Wall,
    loads: Loads,
    settings: Settings,
    provenance: dict[str, Any],
    rounds: int | None = None,
    progress: Progress | None = None,
) -> xr.Dataset:
    result, cycle = run_periodic(wall, loads, settings, rounds=rounds, progress=progress)
    known = {**provenance, "periodic_rounds": cycle.years, "periodic_drift": cycle.drift}
    return _recorded(wall, loads, settings, result, known)


def repeat(record: xr.Dataset) -> xr.Dataset:
    """Run again what a record holds: same wall, loads and settings, the same bits."""
    wall = restored(json.loads(record.attrs["wall"]))
    settings = Settings(**json.loads(record.attrs["settings"]))
    loads = stored_loads(record, tuple(json.loads(record.attrs["assumptions"])))
    kept = {k: v for k, v in record.attrs.items() if k not in _MADE_HERE}
    if "periodic_rounds" in record.attrs:
        # It stopped at this round, periodic or not.
        rounds = int(record.attrs["periodic_rounds"])
        return _periodic(wall, loads, settings, kept, rounds)
    return simulate_loads(wall, loads, settings=settings, provenance=kept)


_MADE_HERE = (
    "schema", "title", "wall", "settings", "loads_sha256", "wall_sha256", "closure_energy",
    "closure_moisture", "steps", "steps_rejected", "stage_retries", "evaluations", "assumptions",
    "versions", "Conventions", "periodic_rounds", "periodic_drift",
)  # fmt: skip
