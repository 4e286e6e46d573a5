"""Jobs of many walls on a card: those of one structure march together, as many as memory holds."""

from __future__ import annotations

import math
import os
from collections.abc import Iterator, Sequence
from functools import partial
from itertools import groupby
from typing import TypeVar

from hygro.errors import HygroError
from hygro.solve.card.batch import Machine, Results, advance, make_batch
from hygro.solve.ensemble import Case, Lane, Placed, Start, Told, order, start_lanes, turn_of
from hygro.solve.settings import Settings
from hygro.solve.setup import Setup, prepare, shape_of
from hygro.solve.turn import CHUNK

Got = TypeVar("Got")
MOST = 65536
"""Walls at a time at most: beyond, a card of today does no more at once."""
SCRATCH = 1000
"""What a wall needs per cell beside its results. [bytes]"""


def in_tiles(
    cases: Sequence[Case],
    settings: Settings,
    start: Start[Got],
    machine: Machine,
    tell: Told,
) -> Iterator[tuple[int, Got | HygroError]]:
    """March walls group by group: of one structure, under loads equally long."""
    for places in alike(cases, settings):
        while places:
            some, places = _portion(places, cases, settings, machine)
            lanes: list[Lane[Got]] = []
            yield from start_lanes(some, cases, settings, start, tell, lanes)
            yield from _to_the_end(lanes, machine)


def alike(cases: Sequence[Case], settings: Settings) -> list[list[int]]:
    """Places of walls that can march together."""

    def group(placed: Placed) -> tuple[str, int]:
        return repr(placed.key), cases[placed.place][1].hours

    placed = sorted(order([wall for wall, _ in cases], settings), key=group)
    return [[x.place for x in part] for _, part in groupby(placed, group)]


def at_a_time(setup: Setup, free: int) -> int:
    """Walls like this one whose results fit in a quarter of the memory that is free here, and whose
    chunks fit in three quarters of what is `free` [bytes] on the card.
    """
    names = Results._fields
    whole, chunk = (
        8 * sum(math.prod(shape_of(setup, hours, name)) for name in names)
        for hours in (setup.loads.hours, CHUNK)
    )
    scratch = SCRATCH * len(setup.grid.layer)
    here = os.sysconf("SC_AVPHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")
    return max(min(here // (4 * whole), 3 * free // (4 * (chunk + scratch)), MOST), 1)


def _portion(
    places: list[int], cases: Sequence[Case], settings: Settings, machine: Machine
) -> tuple[list[int], list[int]]:
    """The first of some walls alike, as many as fit, and the rest."""
    try:
        most = at_a_time(prepare(*cases[places[0]], settings), machine.free())
    except HygroError:
        most = 1  # it says so again where it starts
    return places[:most], places[most:]


def _to_the_end(lanes: list[Lane[Got]], machine: Machine) -> Iterator[tuple[int, Got | HygroError]]:
    """The card is filled anew where walls have ended: those left march on."""
    while lanes:
        batch = make_batch([lane.setup for lane in lanes], machine)
        ended: dict[int, Got | HygroError] = {}
        while not ended:
            found = turn_of(lanes, partial(advance, batch))
            ended = {lane.place: result for lane, result in found}
        lanes = [lane for lane in lanes if lane.place not in ended]
        yield from ended.items()
