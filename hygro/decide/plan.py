"""The plan of a study: every run with the hash of all it depends on, before the first is made.

A run is a point of the study and a choice of leaks. Owns hashes, the order of runs and their cost;
runs nothing.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from hygro.decide.base import Base
from hygro.decide.climates import Climate
from hygro.decide.dimension import Dimension, dimension, settle_many
from hygro.decide.draw import Method, Points, points
from hygro.decide.engine import device_name, engine_hash
from hygro.decide.tree import Digests, Tables
from hygro.errors import InputError
from hygro.study.plan import Scenario
from hygro.study.varied import Leaking, Varied
from hygro.types import Data, Plain

WALL_YEARS_PER_SECOND = 9.0
"""Of one core, walls side by side with their rating, as measured on a shared x86-64 machine; for
the time that a plan says it will take before anything was run."""


class PlannedRun(NamedTuple):
    """One run of a plan.

    Attributes
    ----------
    number, point : int
        Place in the plan, and of its point in the study.
    scenario : str
        Which leaks are on.
    sha256 : str
        Of all that the result depends on.
    """

    number: int
    point: int
    scenario: Scenario
    sha256: str


@dataclass(frozen=True)
class Plan:
    """All runs of a study.

    Attributes
    ----------
    base : Base
        The run that varies.
    dimensions : tuple of Dimension
        What varies.
    points : Points
        The values of each point.
    leaks : str
        See `StudyEntry`.
    device : str
        What marches the runs, one of `hygro.solve.ensemble.DEVICES`. The bits of a card differ from
        those of the processor, so the hashes of its runs do.
    """

    base: Base
    dimensions: tuple[Dimension, ...]
    points: Points
    leaks: Leaking
    device: str = "cpu"
    _climates: dict[str, Climate] = field(default_factory=dict, repr=False)

    @cached_property
    def runs(self) -> tuple[PlannedRun, ...]:
        """Every run, with its hash."""
        return tuple(self._runs())

    @cached_property
    def distinct(self) -> dict[str, PlannedRun]:
        """The runs that differ, by their hash."""
        found: dict[str, PlannedRun] = {}
        for run in self.runs:
            found.setdefault(run.sha256, run)
        return found

    @cached_property
    def sha256(self) -> str:
        """Of all runs in their order."""
        return hashlib.sha256("".join(run.sha256 for run in self.runs).encode()).hexdigest()

    def _runs(self) -> Iterator[PlannedRun]:
        digests, device = Digests(self.base.tables), device_name(self.device)
        made_by = {"engine": engine_hash(), **({"device": device} if device else {})}
        number = 0
        for point in range(len(self.points)):
            tables = self.tables(point)
            climate = self.climate(tables)
            for scenario in self.scenarios(tables):
                content = {**leaking(tables, scenario), "climate": climate.sha256}
                sha = digests.of({**content, **made_by})
                yield PlannedRun(number, point, scenario, sha)
                number += 1

    def tables(self, point: int) -> Tables:
        """Tables of a point, with all leaks of the wall."""
        found = self.base.tables
        for row, k, d in zip(
            self.points.settled, self.points.place[point], self.dimensions, strict=True
        ):
            found = d.slot.put(found, row[k])
        return found

    def tables_of(self, run: PlannedRun) -> Tables:
        """Tables of a run."""
        return leaking(self.tables(run.point), run.scenario)

    def scenarios(self, tables: Tables) -> tuple[Scenario, ...]:
        """Which leaks are on, one run each."""
        if self.leaks == "none":
            return ("tight",)
        known = scenarios(tables["wall"])
        return known if self.leaks == "verdict" else known[-1:]

    def climate(self, tables: Tables) -> Climate:
        """Weather of some tables."""
        key = str(tables["climate"])
        if key not in self._climates:
            self._climates[key] = self.base.climates.at(tables["climate"])
        return self._climates[key]

    @cached_property
    def climates(self) -> dict[str, Climate]:
        """Weather of all runs, by its hash."""
        _ = self.runs
        return {climate.sha256: climate for climate in self._climates.values()}

    def wall_years(self, runs: Sequence[PlannedRun] | None = None) -> float:
        """How many years of one wall some runs are; all that differ where none are given. [a]"""
        wanted = self.distinct.values() if runs is None else runs
        if len(self._climates) == 1:
            (only,) = self._climates.values()
            return len(wanted) * only.years
        return sum(self.climate(self.tables(run.point)).years for run in wanted)

    def coordinates(self, point: int) -> Data:
        """Values of a point by the name of what varies."""
        return dict(zip([d.name for d in self.dimensions], self.points.at(point), strict=True))


def make_plan(
    base: Base,
    vary: Mapping[str, Varied],
    *,
    leaks: Leaking = "verdict",
    samples: int = 256,
    method: Method = "sobol",
    seed: int = 1,
    device: str = "cpu",
) -> Plan:
    """Return the plan of a study; the parameters are those of `StudyEntry` and `Plan`.

    Raises
    ------
    InputError
        Nothing varies, a name leads nowhere, a value is out of its bounds, the device is unknown or
        lacks its package: before anything runs.
    """
    if not vary:
        raise InputError("study: nothing varies; give at least one entry in 'vary'")
    device_name(device)  # refuses one that cannot be
    dimensions = tuple(dimension(name, how, base) for name, how in vary.items())
    laid = points(dimensions, samples=samples, method=method, seed=seed)
    return Plan(base, dimensions, laid, leaks, device)


def at_points(plan: Plan, columns: Sequence[Sequence[Plain]]) -> Plan:
    """Return a plan at other points, given as one column of values a dimension, in its unit."""
    rows = [list(column) for column in columns]
    settled = [settle_many(d, row) for d, row in zip(plan.dimensions, rows, strict=True)]
    count = len(rows[0])
    place = np.repeat(np.arange(count, dtype=np.int64)[:, None], len(rows), axis=1)
    return replace(plan, points=Points(rows, settled, place, (count,)))


def scenarios(wall: Tables) -> tuple[Scenario, ...]:
    """Tight, and each kind of leak that a wall has alone and together."""
    leaks = wall["leaks"]
    rain = bool(leaks["rain"] or leaks["wetting"])
    air = bool(leaks["air"] or wall.get("air_flow"))
    found: list[Scenario] = ["tight"]
    found += ["rain"] if rain else []
    found += ["air"] if air else []
    return (*found, "both") if rain and air else tuple(found)


def leaking(tables: Tables, scenario: Scenario) -> Tables:
    """Tables of a run with the leaks of a scenario alone."""
    wall = tables["wall"]
    none: Tables = {"rain": [], "wetting": [], "air": []}
    if scenario == "both":
        return tables
    if scenario == "air":
        kept = {**wall, "leaks": {**wall["leaks"], "rain": [], "wetting": []}}
        return {**tables, "wall": kept}
    leaks = {**wall["leaks"], "air": []} if scenario == "rain" else none
    kept = {key: value for key, value in wall.items() if key != "air_flow"}
    return {**tables, "wall": {**kept, "leaks": leaks}}
