"""How much a wall bears: the value of one parameter at which the verdict just turns.

Owns the bisection and the ready-made parameters (leaks, indoor humidity, outboard insulation);
knows no case file. A run is a pure function, so every trial starts from the same initial state.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import xarray as xr

from hygro.assess.verdict import Verdict, worst
from hygro.errors import InputError
from hygro.solve.settings import Settings
from hygro.study.plan import Repeat, plan
from hygro.study.runs import Judging, judge_run
from hygro.wall.assembly import AirLeak, Layer, Place, RainLeak, Wall
from hygro.wall.resistance import conductivity
from hygro.wall.room_models import Constant, Room

Variant = Callable[[float], tuple[Wall, Room]]
"""Wall and room at a value of the parameter."""
Side = Literal["highest", "lowest"]


@dataclass(frozen=True)
class Tolerance:
    """Where a verdict turns.

    Attributes
    ----------
    kept : float or None
        Last value tried at which the wall passes; None: it fails over the whole range.
    broken : float or None
        First value beyond it at which it fails; None: it passes over the whole range.
    reasons : tuple of str
        Why it fails at `broken`, one for each hard criterion beyond its limit.
    trials : tuple of (value, passed)
        Every run, in order.
    """

    kept: float | None
    broken: float | None
    reasons: tuple[str, ...]
    trials: tuple[tuple[float, bool], ...]

    def lines(self, what: str) -> list[str]:
        """Say the result in words, `what` being the name of the parameter."""
        if self.kept is None:
            told = [f"{what}: fails over the whole range, at {self.broken:.4g} too"]
        elif self.broken is None:
            told = [f"{what}: passes over the whole range, at {self.kept:.4g} too"]
        else:
            told = [f"{what}: passes at {self.kept:.4g}, fails at {self.broken:.4g}"]
        return [*told, *(f"  {reason}" for reason in self.reasons), f"{len(self.trials)} runs"]


def tolerance(
    judge: Callable[[float], Verdict],
    low: float,
    high: float,
    *,
    side: Side = "highest",
    within: float,
    max_runs: int = 30,
) -> Tolerance:
    """Bisect for the highest (or lowest) value of a parameter at which a verdict passes.

    The verdict is taken to turn once between the ends; where it turns more often, one turn is
    found. A verdict with a hard criterion that could not be judged counts as failing.

    Parameters
    ----------
    judge : callable
        Verdict at a value; see `judged`.
    low, high : float
        Range, in the unit of the parameter.
    side : {"highest", "lowest"}
        "highest": more is worse (leaks, indoor RH); "lowest": less is worse (outboard R).
    within : float
        Width of the bracket at the end, in the unit of the parameter.
    max_runs : int
        Upper bound on the number of runs.

    Raises
    ------
    InputError
        Empty range or non-positive width, or more runs needed than `max_runs`.
    """
    if not (low < high and within > 0.0):
        raise InputError(
            f"tolerance: low = {low:g}, high = {high:g}, within = {within:g}: need low < high and "
            "within > 0; are low and high swapped?"
        )
    trials: list[tuple[float, bool]] = []
    why: dict[float, tuple[str, ...]] = {}

    def passes(value: float) -> bool:
        if len(trials) >= max_runs:
            raise InputError(f"tolerance: {max_runs} runs were not enough for within = {within:g}")
        found = judge(value)
        blamed = found.failed or tuple(f for f in found.unjudged if f.hard)
        why[value] = tuple(f.reason for f in blamed)
        trials.append((value, found.passed is True))
        return trials[-1][1]

    good, bad = (low, high) if side == "highest" else (high, low)
    if passes(bad):
        return Tolerance(bad, None, (), tuple(trials))
    if not passes(good):
        return Tolerance(None, good, why[good], tuple(trials))
    while abs(bad - good) > within:
        middle = 0.5 * (good + bad)
        good, bad = (middle, bad) if passes(middle) else (good, middle)
    return Tolerance(good, bad, why[bad], tuple(trials))


def judged(
    variant: Variant,
    climate: xr.Dataset,
    *,
    settings: Settings | None = None,
    judging: Judging | None = None,
    sheathing: str | None = None,
    repeat: Repeat = "as needed",
) -> Callable[[float], Verdict]:
    """Return the verdict as a function of a parameter: build, run, judge.

    It is that of the scenario that decides, as in a comparison: tight, rain, air or both.
    """
    rule, numbers = judging or Judging(), settings or Settings()

    def judge(value: float) -> Verdict:
        wall, room = variant(value)
        runs = plan([(wall, room, sheathing)], repeat=repeat)
        return worst(judge_run(run, climate, settings=numbers, judging=rule) for run in runs)

    return judge


def rain_leak_fraction(wall: Wall, room: Room, place: Place | None = None) -> Variant:
    """Parameter: fraction of the driving rain that leaks. [1]

    Acts where the wall's own rain leaks act, or at `place`, which replaces them.
    """
    places = [leak.place for leak in wall.rain_leaks] if place is None else [place]
    _some(places, "rain leak")
    return lambda x: (replace(wall, rain_leaks=tuple(RainLeak(p, x) for p in places)), room)


def air_leak_rate(wall: Wall, room: Room, place: Place | None = None) -> Variant:
    """Parameter: constant rate of leaking indoor air, replacing the wall's own. [m³/(s·m²)]"""
    places = [leak.place for leak in wall.air_leaks] if place is None else [place]
    _some(places, "air leak")
    return lambda x: (replace(wall, air_leaks=tuple(AirLeak(p, rate=x) for p in places)), room)


def indoor_rh(wall: Wall, room: Constant) -> Variant:
    """Parameter: constant indoor relative humidity. [1]"""
    return lambda x: (wall, Constant(room.temperature, x))


def outboard_resistance(wall: Wall, room: Room, layer: str) -> Variant:
    """Parameter: thermal resistance of a layer at 50 % RH and 10 °C, by its thickness. [m²·K/W]"""
    found = wall.layer(layer)
    k = conductivity(found.material)

    def build(x: float) -> tuple[Wall, Room]:
        thick = replace(found, thickness=x * k)
        elements = tuple(thick if isinstance(e, Layer) and e is found else e for e in wall.layers)
        return replace(wall, layers=elements), room

    return build


def _some(places: list[Place], what: str) -> None:
    if not places:
        raise InputError(f"tolerance: the wall has no {what} and no place for one was given")
