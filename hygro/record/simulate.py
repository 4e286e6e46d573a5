"""From walls, climates and rooms to Datasets, and the repetition of a stored run."""

from __future__ import annotations

import xarray as xr

from hygro.errors import must_be
from hygro.record.given import given_loads, stored_loads
from hygro.record.marched import Marched, repeated
from hygro.record.provenance import checked, stored_settings, stored_wall
from hygro.room.models import Room
from hygro.solve.march import Progress
from hygro.solve.march import run as march
from hygro.solve.periodic import check_rounds, run_periodic
from hygro.solve.settings import Settings, settings_of
from hygro.wall.loads import Loads, closed_loads
from hygro.wall.wall import Wall


def simulate(
    wall: Wall,
    climate: xr.Dataset,
    room: Room,
    *,
    settings: Settings | None = None,
    provenance: dict[str, object] | None = None,
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
        More attributes for the record (case text, file hashes); `question` is "service" or
        "closing in".
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
    given = checked(provenance)
    loads, source = given_loads(wall, climate, room)
    known = {**source, **given}
    return simulate_loads(wall, loads, settings=settings, provenance=known, progress=progress)


def simulate_loads(
    wall: Wall,
    loads: Loads | xr.Dataset,
    *,
    settings: Settings | None = None,
    provenance: dict[str, object] | None = None,
    progress: Progress | None = None,
) -> xr.Dataset:
    """Run a wall through ready-made loads, or boundary data in a Dataset; see `simulate`.

    Parameters
    ----------
    wall : Wall
        Elements from outside to inside.
    loads : Loads or Dataset
        Of `build_loads`, or boundary data; these are checked by `hygro.wall.loads.boundary`, which
        says what they must hold.
    settings, provenance, progress
        As in `simulate`.

    Raises
    ------
    InputError, SolveError
    """
    settings, known = settings_of(settings), checked(provenance)
    loads, _ = given_loads(wall, loads, None)
    result = march(wall, loads, settings, progress=progress)
    return Marched(wall, loads, settings, result, known).record()


def simulate_periodic(
    wall: Wall,
    climate: xr.Dataset | Loads,
    room: Room | None = None,
    *,
    rounds: int | None = None,
    settings: Settings | None = None,
    provenance: dict[str, object] | None = None,
    progress: Progress | None = None,
) -> xr.Dataset:
    """Run a wall through whole years again and again until they repeat themselves; see `simulate`.

    The record holds the last round, which starts from the state that the rounds before it led to;
    its attributes `periodic_rounds` and `periodic_drift` [kg/m²] say how many there were and how
    much the water of a layer still changed in the last of them. With `rounds` given, the round
    after that many is recorded even where the years do not repeat themselves by then.

    Parameters
    ----------
    wall : Wall
        Elements from outside to inside.
    climate : Dataset or Loads
        Whole years; without a room what `simulate_loads` takes.
    room : Room, optional
        Indoor climate rule.
    rounds : int, optional
        Most rounds before the recorded one; left out: until the years repeat themselves.
    settings, provenance, progress
        As in `simulate`.

    Raises
    ------
    InputError, SolveError
    """
    given = checked(provenance)
    check_rounds(rounds)
    loads, source = given_loads(wall, climate, room)
    known = {**source, **given}
    return _periodic(wall, closed_loads(loads), settings_of(settings), known, rounds, progress)


def _periodic(
    wall: Wall,
    loads: Loads,
    settings: Settings,
    provenance: dict[str, object],
    rounds: int | None = None,
    progress: Progress | None = None,
) -> xr.Dataset:
    result, cycle = run_periodic(wall, loads, settings, rounds=rounds, progress=progress)
    return repeated(wall, loads, settings, result, cycle, provenance).record()


def repeat(record: xr.Dataset) -> xr.Dataset:
    """Run again what a record holds: same wall, loads and settings, the same bits.

    Parameters
    ----------
    record : Dataset
        As made or opened; it holds wall, loads and settings.

    Raises
    ------
    InputError
        No record.
    """
    must_be(record, xr.Dataset, "record", "a record, an xarray Dataset")
    wall, settings = stored_wall(record), stored_settings(record)
    loads = stored_loads(record)
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
