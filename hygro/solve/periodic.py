"""The same year again and again until the annual cycle repeats itself."""

from __future__ import annotations

from collections.abc import Generator
from typing import NamedTuple

import numpy as np

from hygro.errors import InputError, SolveError, must_be
from hygro.solve.balance import layer_sums
from hygro.solve.control import DRIFT
from hygro.solve.march import Job, Progress, alone, whole
from hygro.solve.rooms import Memory
from hygro.solve.settings import Settings
from hygro.solve.setup import Array, Bare, Checkpoint, Chunk, Run, Setup, begin, prepare
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
    """March through the periodic cycle, and return it with how it was reached; see `periodic`."""
    setup = prepare(wall, loads, settings)
    return alone(setup, periodic(setup, rounds=rounds, progress=progress))


def until_periodic(
    setup: Setup,
    *,
    drift: float = DRIFT,
    most: int = MOST,
    strict: bool = True,
    progress: Progress | None = None,
) -> Cycle:
    """Repeat the loads of a wall by itself; see `cycle`."""
    return alone(setup, cycle(setup, drift=drift, most=most, strict=strict, progress=progress))


def check_rounds(rounds: object) -> None:
    """Refuse what is no number of rounds; raises `InputError`."""
    words = "a whole number of at least 1, left out for rounds until the years repeat themselves"
    must_be(rounds, (int, type(None)), "rounds", words)
    if isinstance(rounds, int) and (isinstance(rounds, bool) or rounds < 1):
        raise InputError(f"rounds = {rounds}: must be {words}")


def periodic(
    setup: Setup,
    *,
    rounds: int | None = None,
    progress: Progress | None = None,
    memory: Memory = np.empty,
) -> Job[tuple[Run, Cycle]]:
    """The job of the periodic cycle of a wall; `memory` as in `whole`.

    `progress` is told the date with the share 0 until the cycle is periodic. With `rounds` given,
    the round after that many is returned even where the cycle is not periodic by then.
    """
    found = yield from cycle(setup, most=rounds or MOST, strict=rounds is None, progress=progress)
    run = yield from whole(setup, found.start, progress, memory)
    return run, found


def cycle(
    setup: Setup,
    *,
    drift: float = DRIFT,
    most: int = MOST,
    strict: bool = True,
    progress: Progress | None = None,
) -> Job[Cycle]:
    """The job of repeating the loads until no layer gains or loses more than `drift` in a year.

    Parameters
    ----------
    setup : Setup
        Whole years of loads whose last instant equals the first.
    drift : float
        Water per layer and round. [kg/m²]
    most : int
        Rounds before giving up.
    strict : bool
        Giving up is an error: the wall gains water year after year, or dries very slowly. Else the
        cycle after `most` rounds is returned as it is.
    progress : callable, optional
        Called with 0 and the date, which starts anew in each round.

    Raises
    ------
    SolveError
        The cycle is not periodic after `most` rounds.
    """
    point, change = begin(setup), np.inf
    for years in range(1, most + 1):
        before = _water(setup, point)
        end = yield from _through(setup, point, progress)
        change = float(np.abs(_water(setup, end) - before).max())
        point = _anew(setup, end)
        if change <= drift or (years == most and not strict):
            return Cycle(point, years, change)
    raise SolveError(
        f"wall '{setup.wall.name}': after {most} rounds a layer changes by {change:.3g} kg/m² "
        f"a round: must be at most {drift:g}; the wall gains water, or give it more rounds"
    )


def _through(
    setup: Setup, point: Checkpoint, progress: Progress | None
) -> Generator[Checkpoint, tuple[Chunk, Checkpoint], Checkpoint]:
    """One round."""
    while point.hour < setup.loads.hours:
        _, point = yield Bare(*point)
        if progress is not None:
            progress(0.0, setup.loads.time[point.hour])
    return point


def _anew(setup: Setup, end: Checkpoint) -> Checkpoint:
    """The end of a round as the start of the next."""
    return begin(setup)._replace(
        T=end.T, u=end.u, X=end.X, slope=end.slope, memory=end.memory, start=end.X.copy()
    )


def _water(setup: Setup, point: Checkpoint) -> Array:
    """Water of the layers. [kg/m²]"""
    grid = setup.grid
    per_cell = point.X[:, 1] / grid.thickness
    return layer_sums(per_cell[None, :], grid.thickness, grid.layer)[0]
