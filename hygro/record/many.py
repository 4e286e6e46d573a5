"""Many walls side by side: their records, or their runs without one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import xarray as xr

from hygro.errors import HygroError, InputError, must_be
from hygro.record.given import given_loads
from hygro.record.marched import Marched, repeated
from hygro.record.provenance import checked
from hygro.room.models import Room
from hygro.solve.ensemble import PeriodicResult, Result, run_many, run_many_periodic
from hygro.solve.lane import Told
from hygro.solve.periodic import check_rounds
from hygro.solve.rooms import Memory
from hygro.solve.settings import Settings, settings_of
from hygro.solve.setup import Run
from hygro.wall.loads import LoadMaker, Loads, closed_loads
from hygro.wall.wall import Wall

if TYPE_CHECKING:
    from hygro.solve.card.arena import Arena


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
    return repeated(case.wall, case.loads, settings, *result, known)
