"""A wall on its way in a lane: put there, given some hours, taken out where it ends."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Generic, TypeVar

import numpy as np

from hygro.errors import HygroError
from hygro.solve.march import Job, Progress, go_on
from hygro.solve.settings import Settings
from hygro.solve.setup import Checkpoint, Setup, prepare
from hygro.solve.turn import Turn, advance, make_batch
from hygro.wall.loads import Loads
from hygro.wall.wall import Wall

Case = tuple[Wall, Loads]
Got = TypeVar("Got")
Start = Callable[[Setup, Progress], Job[Got]]
"""Makes the job of a wall."""
Told = Callable[[int, float, np.datetime64], None]
"""Called with the place of a case, the fraction done and the date reached."""
Steps = Callable[[Sequence[Checkpoint]], Iterator[Turn]]
"""Some hours of every wall from where it stands."""


class Lane(Generic[Got]):
    """A wall on its way: where it stands in the cases, and from where it wants to go on."""

    def __init__(self, place: int, setup: Setup, job: Job[Got]) -> None:
        self.place, self.setup, self.job = place, setup, job
        self.point: Checkpoint = next(job)

    def go_on(self, turn: Turn) -> None:
        """Give the wall its hours, or the error that stopped it; StopIteration has its result."""
        self.point = go_on(self.job, turn)


def start_lanes(
    places: Sequence[int],
    cases: Sequence[Case],
    settings: Settings,
    start: Start[Got],
    tell: Told,
    lanes: list[Lane[Got]],
    laid: Callable[[Wall, Loads, Settings], Setup] = prepare,
) -> Iterator[tuple[int, HygroError]]:
    """Put walls on their way among `lanes`; yields those that cannot start."""
    for place in places:
        try:
            setup = laid(*cases[place], settings)
            lanes.append(Lane(place, setup, start(setup, partial(tell, place))))
        except HygroError as error:
            yield place, error


def steps_of(setups: Sequence[Setup]) -> Steps:
    """What gives some walls their hours side by side."""
    return partial(advance, make_batch(setups))


def turn_of(
    lanes: Sequence[Lane[Got]], steps: Steps
) -> Iterator[tuple[Lane[Got], Got | HygroError]]:
    """Some hours of every lane; yields those that have ended, with what came out."""
    for lane, turn in zip(lanes, steps([lane.point for lane in lanes]), strict=True):
        yield from ((lane, result) for result in ended(lane, turn))


def ended(lane: Lane[Got], turn: Turn) -> Iterator[Got | HygroError]:
    """Give a wall its hours; yields what came out where it has ended."""
    try:
        lane.go_on(turn)
    except StopIteration as end:
        yield end.value
    except HygroError as error:
        yield error
