"""Batches of up to eight runs whose walls can share lanes. Owns which runs go together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator
from typing import NamedTuple

from hygro.decide.base import wall_of
from hygro.decide.plan import Plan, PlannedRun
from hygro.decide.tree import Digests, Tables
from hygro.decide.work import Task
from hygro.errors import HygroError
from hygro.solve.lanes import WIDTH
from hygro.solve.order import grouped
from hygro.solve.structure import structure
from hygro.wall.grid import build_grid

WINDOW = 1024
"""Runs that are looked at together to find some of one structure."""
ROOM = 4e8
"""Bytes that the raw results of a batch may take."""
BYTES = (600, 40)
"""Of an hour of a result, and of every cell in it more."""


class Key(NamedTuple):
    """Runs share lanes that have the first two in common, at less cost all three."""

    company: Hashable
    width: int
    shape: Hashable


Groups = dict[Key, list[Task]]


class Batcher:
    """Makes batches of the runs of a plan."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._digests = Digests(plan.base.tables)
        self._shapes: dict[str, tuple[Hashable, int]] = {}
        self._lately: dict[str, tuple[Hashable, int]] = {}

    def batches(self, runs: Iterable[PlannedRun]) -> Iterator[tuple[Task, ...]]:
        """Yield batches; runs of one structure are put together as far as a window reaches."""
        groups: Groups = defaultdict(list)
        for seen, run in enumerate(runs, start=1):
            key, task = self._task(run)
            groups[key].append(task)
            if len(groups[key]) == key.width:
                yield tuple(groups.pop(key))
            if seen % WINDOW == 0:
                yield from _rest(groups)
        yield from _rest(groups)

    def _task(self, run: PlannedRun) -> tuple[Key, Task]:
        """The task of a run, and what it may share a batch with."""
        tables = self._plan.tables_of(run)
        climate = self._plan.climate(tables)
        task = Task(
            run.sha256,
            tables["wall"],
            tables["room"],
            tables["settings"],
            climate.sha256,
            climate.rained,
            run.scenario,
        )
        hours = climate.data.sizes["time"]
        shape, cells = self._shape(tables)
        width = int(max(1, min(WIDTH, ROOM / (hours * (BYTES[0] + cells * BYTES[1])))))
        return Key((hours, str(tables["settings"])), width, shape), task

    def _shape(self, tables: Tables) -> tuple[Hashable, int]:
        """Structure of a wall and its number of cells; looked up by what they can depend on."""
        wall, settings = tables["wall"], tables["settings"]
        same = self._digests.of([wall, settings])
        if same not in self._lately:
            if len(self._lately) == WINDOW:
                self._lately.clear()
            self._lately[same] = self._shape_of(tables)
        return self._lately[same]

    def _shape_of(self, tables: Tables) -> tuple[Hashable, int]:
        seen = self._digests.of([_outline(tables["wall"]), tables["settings"]])
        if seen not in self._shapes:
            self._shapes[seen] = self._structure(tables)
        return self._shapes[seen]

    def _structure(self, tables: Tables) -> tuple[Hashable, int]:
        base = self._plan.base
        try:
            wall = wall_of(tables["wall"], base.wall.name)
            grid = build_grid(wall, base.settings.accuracy, parts=base.settings.parts)
            return structure(wall, grid, base.settings).key(), len(grid.layer)
        except HygroError:
            return "none", 1  # its row will say why


def _outline(wall: Tables) -> list[object]:
    """What the structure of a wall depends on: sizes, which materials, where leaks act."""
    layers = [
        {
            **{key: value for key, value in e.items() if key not in ("material", "membrane")},
            "material": (e.get("material") or e.get("membrane") or {}).get("key"),
            "liquid": (e.get("material") or {}).get("liquid") is not None,
        }
        for e in wall["layers"]
    ]
    leaks = [
        [kind, [[r.get(k) for k in ("at", "face", "depth")] for r in rows]]
        for kind, rows in wall["leaks"].items()
    ]
    return [layers, leaks, wall.get("air_flow") is not None]


def _rest(groups: Groups) -> Iterator[tuple[Task, ...]]:
    """What is left, structures beside each other; one by one where too few are left for lanes."""
    left: dict[tuple[Hashable, int], list[Task]] = defaultdict(list)
    for key in list(groups):
        left[key.company, key.width] += groups.pop(key)
    for (_, width), tasks in left.items():
        for first in range(0, len(tasks), width):
            yield from map(tuple, grouped(tasks[first : first + width]))
