"""How far one number of a wall may go: the windows of a range in which the wall is within limits.

Owns the search and the ready-made parameters (leaks, indoor humidity, outboard insulation); knows
no case file. A run is a pure function, so every trial starts from the same initial state.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from itertools import pairwise
from typing import Any, NamedTuple

import xarray as xr

from hygro.assess.judge import verdict
from hygro.assess.verdict import Finding, Verdict
from hygro.declare import plain
from hygro.errors import HygroError, InputError
from hygro.record import simulate_many, simulate_periodic
from hygro.record.provenance import loads_hash
from hygro.room.models import Constant, Room
from hygro.solve.settings import Settings
from hygro.study.runs import Judging
from hygro.wall.elements import Layer
from hygro.wall.leaks import AirLeak, RainLeak, Source
from hygro.wall.loads import Loads, build_loads
from hygro.wall.resistance import conductivity
from hygro.wall.wall import Wall, tight

Variant = Callable[[float], tuple[Wall, Room]]
"""Wall and room at a value of the parameter."""
SAMPLES = 8
"""Values over the whole range that are tried first; as many as run side by side."""
STEEP = 20.0
"""From this ratio of the ends on the first values are spaced by equal ratios. [1]"""
FINENESS = 64
"""Parts of the range, one of which is the width at which an edge counts as found."""


class Trial(NamedTuple):
    """One value: whether all runs pass, and the hard criteria, with their runs, that do not."""

    value: float
    passed: bool
    blamed: tuple[str, ...] = ()
    """What fails: criterion, place and run."""
    reasons: tuple[str, ...] = ()
    """The same in full sentences."""


Judge = Callable[[Sequence[float]], Sequence[Trial]]
"""Trials at some values, in their order."""


class Edge(NamedTuple):
    """Where the verdict turns: the last value within limits, the first one not, and why."""

    inside: float
    outside: float
    blamed: tuple[str, ...]
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Window:
    """Values next to each other at which the wall is within limits.

    Attributes
    ----------
    low, high : Edge or None
        Where it ends; None where the range ends first.
    first, last : float
        Lowest and highest value tried in it.
    """

    first: float
    last: float
    low: Edge | None
    high: Edge | None


@dataclass(frozen=True)
class Limit:
    """What a search found: all trials by value, and the windows that pass."""

    trials: tuple[Trial, ...]

    @property
    def windows(self) -> tuple[Window, ...]:
        """Windows from low to high."""
        found, start = [], None
        for i, trial in enumerate(self.trials):
            start = i if trial.passed and start is None else start
            ends = i + 1 == len(self.trials) or not self.trials[i + 1].passed
            if start is not None and trial.passed and ends:
                low, high = self._edge(start, start - 1), self._edge(i, i + 1)
                found.append(Window(self.trials[start].value, trial.value, low, high))
                start = None
        return tuple(found)

    def _edge(self, inside: int, outside: int) -> Edge | None:
        if not 0 <= outside < len(self.trials):
            return None
        _, _, blamed, reasons = self.trials[outside]
        return Edge(self.trials[inside].value, self.trials[outside].value, blamed, reasons)

    @property
    def lowest(self) -> Edge | None:
        """Lower edge of the lowest window."""
        return self.windows[0].low if self.windows else None

    @property
    def highest(self) -> Edge | None:
        """Upper edge of the highest window."""
        return self.windows[-1].high if self.windows else None

    def to_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return {
            "windows": [asdict_of(window) for window in self.windows],
            "trials": [trial._asdict() for trial in self.trials],
        }

    def lines(self, what: str, unit: str = "") -> list[str]:
        """Say the result in words, `what` being the name of the parameter."""
        ends = f"{_said(self.trials[0].value, unit)} to {_said(self.trials[-1].value, unit)}"
        head = f"{what}: tried {ends}, {len(self.trials)} values"
        if not self.windows:
            worst = self.trials[-1].reasons
            return [head, "above limit at every value tried; at the highest:", *_listed(worst)]
        told = [head]
        for window in self.windows:
            told.append(_passes(window, unit))
            told += _turn("below", window.low, unit) + _turn("above", window.high, unit)
        if len(self.windows) > 1:
            told.append("more than one window: between them the wall is above its limits")
        return told


def asdict_of(window: Window) -> dict[str, Any]:
    """Return a window as plain values, its edges as tables."""
    edges = {k: None if e is None else e._asdict() for k, e in _edges(window).items()}
    return {**asdict(replace(window, low=None, high=None)), **edges}


def _edges(window: Window) -> dict[str, Edge | None]:
    return {"low": window.low, "high": window.high}


def _said(value: float, unit: str) -> str:
    return f"{value:.4g} {unit}".strip()


def _passes(window: Window, unit: str) -> str:
    if window.low is None and window.high is None:
        return "within limits at every value tried"
    if window.first == window.last:
        return f"within limits at {_said(window.first, unit)}"
    return f"within limits between {window.first:.4g} and {_said(window.last, unit)}"


def _turn(side: str, edge: Edge | None, unit: str) -> list[str]:
    if edge is None:
        return []
    return [f"{side} that, at {_said(edge.outside, unit)}:", *_listed(edge.reasons)]


def _listed(reasons: Sequence[str]) -> list[str]:
    return [f"  {reason}" for reason in reasons]


def limit(
    judge: Judge,
    low: float,
    high: float,
    *,
    within: float | None = None,
    max_trials: int = 60,
) -> Limit:
    """Find the windows of a range in which a wall is within its limits.

    `SAMPLES` values over the whole range come first, then each pair of neighbours between which
    the verdict turns is halved. A window narrower than the first spacing can be missed. A verdict
    with a hard criterion that could not be judged counts as failing.

    Parameters
    ----------
    judge : callable
        Trials at values; see `judged`.
    low, high : float
        Range, in the unit of the parameter.
    within : float, optional
        Width of the bracket at an edge, in the unit of the parameter; by default one of
        `FINENESS` parts of the range, equal ratios where the range is `STEEP`.
    max_trials : int
        Upper bound on the number of values.

    Raises
    ------
    InputError
        Empty range or non-positive width, or more values needed than `max_trials`.
    """
    if not (low < high and (within is None or within > 0.0)):
        raise InputError(
            f"limit: low = {low:g}, high = {high:g}, within = {within}: need low < high and "
            "within > 0; are low and high swapped?"
        )
    scale = _Scale(low, high)
    trials = {trial.value: trial for trial in judge(scale.values(SAMPLES))}
    while middles := _between(trials, scale, within):
        if len(trials) + len(middles) > max_trials:
            raise InputError(f"limit: {max_trials} values were not enough; choose a wider 'within'")
        trials |= {trial.value: trial for trial in judge(middles)}
    return Limit(tuple(trials[value] for value in sorted(trials)))


class _Scale(NamedTuple):
    """The range, spaced evenly or, where it is steep, by equal ratios."""

    low: float
    high: float

    @property
    def steep(self) -> bool:
        return self.low > 0.0 and self.high / self.low > STEEP

    def to(self, value: float) -> float:
        return math.log(value) if self.steep else value

    def values(self, count: int) -> list[float]:
        a, b = self.to(self.low), self.to(self.high)
        inner = [self.back(a + (b - a) * i / (count - 1)) for i in range(1, count - 1)]
        return [self.low, *inner, self.high]

    def back(self, place: float) -> float:
        """Value at a place, in four digits, so that what is said is what was run."""
        return float(f"{math.exp(place) if self.steep else place:.4g}")

    def narrow(self, a: float, b: float, within: float | None) -> bool:
        if within is not None:
            return b - a <= within
        return self.to(b) - self.to(a) <= (self.to(self.high) - self.to(self.low)) / FINENESS

    def middle(self, a: float, b: float) -> float:
        exact = 0.5 * (self.to(a) + self.to(b))
        value = self.back(exact)
        return value if a < value < b else 0.5 * (a + b)


def _between(trials: dict[float, Trial], scale: _Scale, within: float | None) -> list[float]:
    """Middles of the neighbours between which the verdict turns and that are not yet near."""
    return [
        scale.middle(a, b)
        for a, b in pairwise(sorted(trials))
        if trials[a].passed is not trials[b].passed and not scale.narrow(a, b, within)
    ]


def judged(
    variant: Variant,
    climate: xr.Dataset,
    *,
    settings: Settings | None = None,
    judging: Judging | None = None,
    sheathing: str | None = None,
    periodic: bool = False,
) -> Judge:
    """Return trials as a function of a parameter: build, run without and with leaks, judge.

    Walls of one structure run side by side; a run that an earlier trial made is not made again.
    """
    rule, chosen = judging or Judging(), settings or Settings()
    known: dict[str, Verdict] = {}

    def rate(ds: xr.Dataset) -> Verdict:
        return verdict(
            ds,
            sheathing=sheathing,
            criteria=rule.criteria,
            skip_days=rule.skip_days,
            mould_model=rule.mould_model,  # type: ignore[arg-type]
        )

    def judge(values: Sequence[float]) -> list[Trial]:
        plans = [_runs(*variant(value), climate) for value in values]
        wanted = {run.key: run for runs in plans for run in runs if run.key not in known}
        runs = list(wanted.values())
        records = _periodic(runs, climate, chosen) if periodic else _records(runs, chosen)
        known.update((key, rate(ds)) for key, ds in records)
        return [
            _trial(value, {run.leaks: known[run.key] for run in runs})
            for value, runs in zip(values, plans, strict=True)
        ]

    return judge


class _Run(NamedTuple):
    """A wall with its loads; `key` says what its record depends on."""

    wall: Wall
    room: Room
    loads: Loads
    leaks: bool
    key: str


def _runs(wall: Wall, room: Room, climate: xr.Dataset) -> list[_Run]:
    """The runs that `compare` makes of a wall."""
    found = []
    for leaks in (False, True) if wall.leaky else (False,):
        built = wall if leaks else tight(wall)
        loads = build_loads(built, climate, room)
        key = loads_hash(loads) + json.dumps(plain(built), sort_keys=True)
        found.append(_Run(built, room, loads, leaks, key))
    return found


def _records(runs: Sequence[_Run], settings: Settings) -> Iterator[tuple[str, xr.Dataset]]:
    """Yield key and record, side by side where walls are alike."""
    for k, ds in simulate_many([(run.wall, run.loads) for run in runs], settings=settings):
        if isinstance(ds, HygroError):
            raise ds
        yield runs[k].key, ds


def _periodic(
    runs: Sequence[_Run], climate: xr.Dataset, settings: Settings
) -> Iterator[tuple[str, xr.Dataset]]:
    for run in runs:
        yield run.key, simulate_periodic(run.wall, climate, run.room, settings=settings)


def _trial(value: float, verdicts: dict[bool, Verdict]) -> Trial:
    blamed = [
        (leaks, finding)
        for leaks, found in verdicts.items()
        for finding in found.findings
        if finding.hard and finding.passed is not True
    ]
    passed = all(found.passed is True for found in verdicts.values())
    return Trial(
        value,
        passed,
        tuple(_criterion(leaks, finding) for leaks, finding in blamed),
        tuple(f"leaks {_on(leaks)}: {finding.reason}" for leaks, finding in blamed),
    )


def _criterion(leaks: bool, finding: Finding) -> str:
    return f"{finding.criterion.key} at {finding.place}, leaks {_on(leaks)}"


def _on(leaks: bool) -> str:
    return "on" if leaks else "off"


def rain_leak_fraction(wall: Wall, room: Room, at: RainLeak | None = None) -> Variant:
    """Parameter: fraction of the driving rain that leaks. [1]

    Acts where the wall's own rain leaks act, or where `at` does, which replaces them.
    """
    leaks = wall.leaks.rain if at is None else (at,)
    _some(leaks, "rain leak")

    def build(x: float) -> tuple[Wall, Room]:
        rain = tuple(replace(leak, fraction=x) for leak in leaks)
        return replace(wall, leaks=replace(wall.leaks, rain=rain)), room

    return build


def air_leak_rate(wall: Wall, room: Room, at: AirLeak | None = None) -> Variant:
    """Parameter: constant rate of leaking indoor air, replacing the wall's own. [m³/(s·m²)]"""
    leaks = wall.leaks.air if at is None else (at,)
    _some(leaks, "air leak")

    def build(x: float) -> tuple[Wall, Room]:
        air = tuple(replace(leak, rate=x, permeance=None) for leak in leaks)
        return replace(wall, leaks=replace(wall.leaks, air=air)), room

    return build


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


def _some(places: Sequence[Source], what: str) -> None:
    if not places:
        raise InputError(f"limit: the wall has no {what} and no place for one was given")
