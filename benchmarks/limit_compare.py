"""Does `limit` judge what `compare` judges? Random walls, places, rooms and numbers.

`python -m benchmarks.limit_compare --pairs 200` draws pairs of a wall (of the forty, in its place
and room) and a number of it, runs `limit` over a range, and asks `compare` on each side of every
edge found and at both ends of the range. Prints a line a pair and how many verdicts agree;
`--first` continues a series.
"""

from __future__ import annotations

import argparse
import random
from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

import xarray as xr

import weather
from benchmarks.forty_walls import climate, room, rows
from hygro.room.models import Constant, Room
from hygro.solve.settings import Settings
from hygro.study.along import along, limit
from hygro.study.compare import compare
from hygro.study.limit import Limit
from hygro.study.plan import Repeat
from hygro.wall.elements import Layer
from hygro.wall.leaks import AirLeak, Leaks, RainLeak
from hygro.wall.wall import Wall, unrained

SETTINGS = Settings(accuracy="draft", tolerance=10.0)
"""Coarse: the question is whether two ways give one verdict, not whether it is right."""


class Pair(NamedTuple):
    """A wall in its place and room, and a number of it with a range."""

    wall: Wall
    place: str
    room: Room
    path: str
    low: float
    high: float
    repeat: Repeat = "once"

    @property
    def climate(self) -> xr.Dataset:
        """Weather of the place, a year from July on."""
        return climate(self.place)


class Verdicts(NamedTuple):
    """What both say at a value."""

    value: float
    limit: bool
    compare: bool

    @property
    def agree(self) -> bool:
        """Whether both say the same."""
        return self.limit is self.compare


def pair(number: int, only: str = "") -> Pair:
    """The pair of that number; the same in every run. `only` keeps the paths that hold it."""
    draw = random.Random(number)
    row = draw.choice(rows())
    wet = weather.has_rain(climate(row.place))
    wall = _leaky(row.wall, draw, wet=wet)
    numbers = list(_numbers(wall, room(row.room)))
    path, low, high = draw.choice([item for item in numbers if only in item[0]] or numbers)
    repeat: Repeat = draw.choice(("once", "once", "as needed"))
    return Pair(wall, row.place, room(row.room), path, low, high, repeat)


def _leaky(wall: Wall, draw: random.Random, *, wet: bool) -> Wall:
    """The wall with leaks of random strength, without rain where the weather has none."""
    at = wall.sheathing or wall.solids[1].name
    rain = RainLeak(at, draw.choice((0.002, 0.01, 0.03)))
    air = AirLeak(at, rate=draw.choice((1e-6, 1e-5, 5e-5)))
    found = Leaks(rain=(rain,) if wet and draw.random() < 0.7 else (), air=(air,))
    turned = replace(wall, leaks=found, azimuth=draw.choice((0.0, 90.0, 180.0, 270.0)))
    return turned if wet else unrained(turned)


def _numbers(wall: Wall, inside: Room) -> Iterator[tuple[str, float, float]]:
    """Numbers that may be varied: path, low and high in SI."""
    yield "leaks.air[0].rate", 0.0, 2e-4
    if wall.leaks.rain:
        yield "leaks.rain[0].fraction", 0.0, 0.10
    if isinstance(inside, Constant):
        yield "room.rh", 0.15, 0.75
    for element in wall.layers:
        if isinstance(element, Layer) and element.material.group == "insulation":
            yield f'layers."{element.name}".thickness', 0.02, 0.30


def searched(given: Pair) -> Limit:
    run = {"settings": SETTINGS, "repeat": given.repeat}
    place = given.wall, given.climate, given.room
    return limit(*place, given.path, given.low, given.high, **run)


def asked(given: Pair, found: Limit) -> Iterator[Verdicts]:
    """Ask `compare` at the ends of the range and on both sides of every edge."""
    trials = {trial.value: trial.passed for trial in found.trials}
    edges = [edge for w in found.windows for edge in (w.low, w.high) if edge is not None]
    values = {given.low, given.high, *(x for e in edges for x in (e.inside, e.outside))}
    build = along(given.wall, given.room, given.path)
    for value in sorted(values):
        wall, inside = build(value)
        told = compare(wall, given.climate, inside, settings=SETTINGS, repeat=given.repeat)
        passed = bool(told.walls) and told.walls[0].passed is True
        yield Verdicts(value, trials[value], passed)


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--pairs", type=int, default=200)
    options.add_argument("--first", type=int, default=0)
    options.add_argument("--only", default="", help="part of the paths to vary, where there is one")
    chosen = options.parse_args()
    agree = edges = verdicts = 0
    for number in range(chosen.first, chosen.first + chosen.pairs):
        given = pair(number, chosen.only)
        found = searched(given)
        both = list(asked(given, found))
        turns = sum(e is not None for w in found.windows for e in (w.low, w.high))
        bad = [item for item in both if not item.agree]
        agree, edges, verdicts = agree + (not bad), edges + turns, verdicts + len(both)
        said = f"DISAGREE {bad}" if bad else "agree"
        name, tried = f"{given.wall.name}, {given.path}", len(found.trials)
        here = f"{tried} trials, {turns} edges, {len(both)} verdicts, {said}"
        so_far = f"{agree} pairs agree, {edges} edges, {verdicts} verdicts"
        print(f"{number}: {name}: {here}; so far {so_far}", flush=True)


if __name__ == "__main__":
    main()
