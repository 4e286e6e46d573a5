"""The same year again and again until the annual cycle repeats itself."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from hygro.errors import SolveError
from hygro.solve.balance import layer_sums
from hygro.solve.control import DRIFT
from hygro.solve.march import (
    CHUNK,
    Batch,
    Checkpoint,
    Progress,
    Run,
    Setup,
    advance,
    begin,
    make_batch,
    prepare,
    run_batch,
)
from hygro.solve.settings import Settings
from hygro.wall.loads import Loads
from hygro.wall.wall import Wall

MOST = 40
"""Rounds after which a cycle that is not periodic is given up."""


class Cycle(NamedTuple):
    """Start of a periodic year.

    Attributes
    ----------
    start : Checkpoint
        Where the last year starts, with its hour set to 0.
    years : int
        Years run before it.
    drift : float
        Largest change of the water of a layer over the last of them. [kg/m²]
    """

    start: Checkpoint
    years: int
    drift: float


def run_periodic(
    wall: Wall,
    loads: Loads,
    settings: Settings,
    *,
    rounds: int | None = None,
    progress: Progress | None = None,
) -> tuple[Run, Cycle]:
    """March through the periodic cycle, and return it with how it was reached.

    `progress` is told the date with the share 0 until the cycle is periodic. With `rounds` given,
    the round after that many is returned even where the cycle is not periodic by then.
    """
    setup = prepare(wall, loads, settings)
    (got,) = run_batch_periodic(
        make_batch((setup,)), [begin(setup)], rounds=rounds, progress=progress
    )
    if isinstance(got, SolveError):
        raise got
    return got


def run_batch_periodic(
    batch: Batch,
    points: Sequence[Checkpoint],
    *,
    rounds: int | None = None,
    progress: Progress | None = None,
) -> list[tuple[Run, Cycle] | SolveError]:
    """`run_periodic` in all lanes; one that is periodic rests until the others are."""
    found = cycles(batch, points, most=rounds or MOST, strict=rounds is None, progress=progress)
    if all(isinstance(item, SolveError) for item in found):
        return [item for item in found if isinstance(item, SolveError)]
    starts = [
        item.start if isinstance(item, Cycle) else point
        for item, point in zip(found, points, strict=True)
    ]
    runs = run_batch(batch, starts, progress)
    return [_ended(item, run) for item, run in zip(found, runs, strict=True)]


def _ended(cycle: Cycle | SolveError, run: Run | SolveError) -> tuple[Run, Cycle] | SolveError:
    if isinstance(cycle, SolveError):
        return cycle
    return run if isinstance(run, SolveError) else (run, cycle)


def until_periodic(
    setup: Setup,
    *,
    drift: float = DRIFT,
    most: int = MOST,
    strict: bool = True,
    progress: Progress | None = None,
) -> Cycle:
    """Repeat the loads until no layer gains or loses more than `drift` in a year; see `cycles`.

    Raises
    ------
    SolveError
        The cycle is not periodic after `most` rounds, or a march stopped.
    """
    batch, start = make_batch((setup,)), [begin(setup)]
    (found,) = cycles(batch, start, drift=drift, most=most, strict=strict, progress=progress)
    if isinstance(found, SolveError):
        raise found
    return found


def cycles(
    batch: Batch,
    start: Sequence[Checkpoint],
    *,
    drift: float = DRIFT,
    most: int = MOST,
    strict: bool = True,
    progress: Progress | None = None,
) -> list[Cycle | SolveError]:
    """Repeat the loads of each lane until no layer gains or loses more than `drift` in a year.

    Parameters
    ----------
    batch : Batch
        Whole years of loads whose last instant equals the first.
    start : sequence of Checkpoint
        The first round starts there.
    drift : float
        Water per layer and round. [kg/m²]
    most : int
        Rounds before giving up.
    strict : bool
        Giving up is an error of the lane: the wall gains water year after year, or dries very
        slowly. Else the cycle after `most` rounds is returned as it is.
    progress : callable, optional
        Called with 0 and the date, which starts anew in each round.
    """
    points = list(start)
    found: dict[int, Cycle | SolveError] = {}
    for years in range(1, most + 1):
        before = _waters(batch, points)
        _through(batch, points, found, progress)
        changes = np.abs(_waters(batch, points) - before).max(axis=1)
        for k, setup in enumerate(batch.setups):
            if k in found:
                continue
            points[k] = _anew(setup, points[k])
            if changes[k] <= drift or (years == most and not strict):
                found[k] = Cycle(points[k], years, float(changes[k]))
            elif years == most:
                found[k] = _unsettled(setup, years, changes[k], drift)
        if len(found) == len(points):
            break
    return [found[k] for k in range(len(points))]


def _through(
    batch: Batch,
    points: list[Checkpoint],
    found: dict[int, Cycle | SolveError],
    progress: Progress | None,
) -> None:
    """March the lanes not yet found through one round; a lane that stops is found."""
    loads = batch.setups[0].loads
    for hour in range(0, loads.hours, CHUNK):
        if len(found) == len(points):
            return
        resting = set(found)
        for k, end in enumerate(advance(batch, points, resting=resting).ends):
            if k in resting:
                continue
            if isinstance(end, SolveError):
                found[k] = end
            else:
                points[k] = end
        if progress is not None:
            progress(0.0, loads.time[min(hour + CHUNK, loads.hours)])


def _anew(setup: Setup, end: Checkpoint) -> Checkpoint:
    """The end of a round as the start of the next."""
    return begin(setup)._replace(
        T=end.T, u=end.u, X=end.X, slope=end.slope, memory=end.memory, start=end.X.copy()
    )


def _unsettled(setup: Setup, years: int, change: float, drift: float) -> SolveError:
    return SolveError(
        f"wall '{setup.wall.name}': after {years} rounds a layer changes by {change:.3g} kg/m² "
        f"a round: must be at most {drift:g}; the wall gains water, or give it more rounds"
    )


def _waters(batch: Batch, points: Sequence[Checkpoint]) -> np.ndarray:
    """Water of the layers in each lane. [kg/m²]"""
    return np.array([_water(s, p) for s, p in zip(batch.setups, points, strict=True)])


def _water(setup: Setup, point: Checkpoint) -> np.ndarray:
    grid = setup.grid
    per_cell = point.X[:, 1] / grid.thickness
    return layer_sums(per_cell[None, :], grid.thickness, grid.layer)[0]
