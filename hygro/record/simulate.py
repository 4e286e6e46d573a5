"""From walls, climates and rooms to Datasets, and the repetition of a stored run."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import xarray as xr

from hygro.errors import HygroError, InputError, must_be
from hygro.record.check import check_bounds
from hygro.record.dataset import to_dataset
from hygro.record.given import given_loads, stored_loads
from hygro.record.provenance import attributes, checked, stored_settings, stored_wall
from hygro.room.models import Room
from hygro.solve.ensemble import PeriodicResult, Result, run_many, run_many_periodic
from hygro.solve.lane import Told
from hygro.solve.march import Progress
from hygro.solve.march import run as march
from hygro.solve.periodic import Cycle, check_rounds, run_periodic
from hygro.solve.rooms import Memory
from hygro.solve.settings import Settings, settings_of
from hygro.solve.setup import Run
from hygro.wall.loads import LoadMaker, Loads, closed_loads
from hygro.wall.wall import Wall

if TYPE_CHECKING:
    from hygro.solve.card.arena import Arena


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


Given = tuple[Wall, Loads | xr.Dataset] | tuple[Wall, xr.Dataset | LoadMaker, Room]
"""A run: a wall with its loads or boundary data, or with a climate (or its maker of loads) and a
room."""
_A_RUN = "(Wall, loads) or (Wall, climate, Room)"


def simulate_many(
    runs: Iterable[Given],
    *,
    settings: Settings | None = None,
    provenance: dict[str, object] | Sequence[dict[str, object]] | None = None,
    periodic: bool = False,
    rounds: int | None = None,
    progress: Callable[[float], None] | None = None,
    told: Told | None = None,
    threads: int | None = None,
    device: str = "cpu",
) -> Iterator[tuple[int, xr.Dataset | HygroError]]:
    """Do many runs side by side.

    The records are those of `simulate`, `simulate_loads` or `simulate_periodic`, to the same bits;
    see `hygro.solve.ensemble.run_many` for what walls must have in common to run side by side.

    Parameters
    ----------
    runs : iterable of (Wall, loads) or (Wall, climate, Room)
        What to run; loads as `simulate_loads` takes them.
    settings
        For all of them.
    provenance : dict or sequence of dict, optional
        As in `simulate`, for all of them or for each.
    periodic, rounds
        Whether all of them are runs of `simulate_periodic`, and its rounds.
    progress : callable, optional
        Called after each run with the share of runs that have ended [1].
    told : callable, optional
        Called while they run, from other threads; see `hygro.solve.lane.Told`.
    threads : int, optional
        Batches at a time; all cores when absent.
    device : {"cpu", "gpu"}
        What they march on; see `hygro.solve.ensemble.run_many`.

    Yields
    ------
    (int, Dataset or HygroError)
        Place in `runs` and record, as they come. A run that cannot start or go on, or whose
        balance does not close, gives its error and leaves the others be.

    Raises
    ------
    InputError
        What is no run or no provenance is among those given; rounds or threads is no positive
        number; the device is unknown, or no card answers.
    """
    must_be(runs, Iterable, "runs", "pairs of a wall and loads, or wall, climate and room")
    runs = list(runs)
    for k, run in enumerate(runs):
        must_be(run, tuple, f"runs[{k}]", _A_RUN)
        if len(run) not in (2, 3):
            raise InputError(f"runs[{k}]: has {len(run)} items: must be {_A_RUN}")
    marched = march_many(
        runs, settings=settings, provenance=provenance, periodic=periodic, rounds=rounds,
        told=told, threads=threads, device=device,
    )  # fmt: skip
    for ended, (k, found) in enumerate(marched, start=1):
        if progress is not None:
            progress(ended / len(runs))
        try:
            yield k, found.record() if isinstance(found, Marched) else found
        except HygroError as error:
            yield k, error


def march_many(
    runs: Iterable[Given],
    *,
    settings: Settings | None = None,
    provenance: dict[str, object] | Sequence[dict[str, object]] | None = None,
    periodic: bool = False,
    rounds: int | None = None,
    told: Told | None = None,
    threads: int | None = None,
    device: str = "cpu",
    arena: Arena | None = None,
    memory: Memory = np.empty,
) -> Iterator[tuple[int, Marched | HygroError]]:
    """`simulate_many` without the records, for whoever needs none: a rating, a study.

    `arena` and `memory` as in `hygro.solve.ensemble.run_many`.
    """
    runs, settings = list(runs), settings_of(settings)
    check_rounds(rounds)
    known = _known(provenance, len(runs))
    ready = [_ready(*run, closed=periodic) for run in runs]
    cases = {k: case for k, case in enumerate(ready) if isinstance(case, _Ready)}
    yield from ((k, case) for k, case in enumerate(ready) if isinstance(case, HygroError))
    places, pairs = list(cases), [(case.wall, case.loads) for case in cases.values()]

    def tell(k: int, fraction: float, date: np.datetime64) -> None:
        if told is not None:
            told(places[k], fraction, date)

    how: dict[str, Any] = {
        "threads": threads, "told": tell, "device": device, "arena": arena, "memory": memory,
    }  # fmt: skip
    got = (
        run_many_periodic(pairs, settings, rounds=rounds, **how)
        if periodic
        else run_many(pairs, settings, **how)
    )
    for number, item in got:
        k = places[number]
        yield k, _marched(cases[k], settings, item, {**cases[k].source, **known[k]})


def _known(
    provenance: dict[str, object] | Sequence[dict[str, object]] | None, count: int
) -> list[dict[str, object]]:
    """What the record of each run says beside the rest."""
    if provenance is None or isinstance(provenance, Mapping):
        return [checked(provenance)] * count
    must_be(provenance, (list, tuple), "provenance", "a dict of attributes, or one for each run")
    known = [checked(item) for item in provenance]
    if len(known) != count:
        raise InputError(f"provenance: has {len(known)} dicts: must have {count}, one for each run")
    return known


class _Ready(NamedTuple):
    """A run with its loads made."""

    wall: Wall
    loads: Loads
    source: dict[str, object]


def _ready(
    wall: Wall, given: Loads | LoadMaker | xr.Dataset, room: Room | None = None, *, closed: bool
) -> _Ready | HygroError:
    try:
        loads, source = given_loads(wall, given, room)
        return _Ready(wall, closed_loads(loads) if closed else loads, source)
    except HygroError as error:
        return error


def _marched(
    case: _Ready,
    settings: Settings,
    result: Result | PeriodicResult,
    known: dict[str, object],
) -> Marched | HygroError:
    if isinstance(result, HygroError):
        return result
    if isinstance(result, Run):
        return Marched(case.wall, case.loads, settings, result, known)
    return _repeated(case.wall, case.loads, settings, *result, known)


def _repeated(
    wall: Wall, loads: Loads, settings: Settings, run: Run, cycle: Cycle, known: dict[str, object]
) -> Marched:
    rounds = {"periodic_rounds": cycle.years, "periodic_drift": cycle.drift}
    return Marched(wall, loads, settings, run, {**known, **rounds})


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
    return _repeated(wall, loads, settings, result, cycle, provenance).record()


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
