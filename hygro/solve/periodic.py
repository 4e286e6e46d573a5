"""The same year again and again until the annual cycle repeats itself."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from hygro.errors import SolveError
from hygro.solve.balance import layer_sums
from hygro.solve.control import DRIFT
from hygro.solve.march import (
    Checkpoint,
    Progress,
    Run,
    Setup,
    begin,
    chunks,
    prepare,
    run_from,
)
from hygro.solve.settings import Settings
from hygro.wall.loads import Loads
from hygro.wall.wall import Wall


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
    cycle = until_periodic(setup, most=rounds or 40, strict=rounds is None, progress=progress)
    return run_from(setup, cycle.start, progress=progress), cycle


def until_periodic(
    setup: Setup,
    *,
    drift: float = DRIFT,
    most: int = 40,
    strict: bool = True,
    progress: Progress | None = None,
) -> Cycle:
    """Repeat the loads until no layer gains or loses more than `drift` in a year.

    Parameters
    ----------
    setup : Setup
        Whole years of loads whose last instant equals the first.
    drift : float
        Water per layer and round. [kg/m²]
    most : int
        Rounds before giving up.
    strict : bool
        Giving up is an error; else the cycle after `most` rounds is returned as it is.
    progress : callable, optional
        Called with 0 and the date, which starts anew in each round.

    Raises
    ------
    SolveError
        The cycle is not periodic after `most` rounds: the wall gains water year after year, or
        dries very slowly.
    """
    point = begin(setup)
    for years in range(1, most + 1):
        before = _water(setup, point)
        for _, after in chunks(setup, point):
            end = after
            if progress is not None:
                progress(0.0, setup.loads.time[end.hour])
        change = float(np.abs(_water(setup, end) - before).max())
        point = begin(setup)._replace(
            T=end.T, u=end.u, X=end.X, slope=end.slope, memory=end.memory, start=end.X.copy()
        )
        if change <= drift or (years == most and not strict):
            return Cycle(point, years, change)
    raise SolveError(
        f"wall '{setup.wall.name}': after {most} rounds a layer changes by {change:.3g} kg/m² "
        f"a round: must be at most {drift:g}; the wall gains water, or give it more rounds"
    )


def _water(setup: Setup, point: Checkpoint) -> np.ndarray:
    grid = setup.grid
    per_cell = point.X[:, 1] / grid.thickness
    return layer_sums(per_cell[None, :], grid.thickness, grid.layer)[0]
