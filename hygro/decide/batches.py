"""Batches of up to eight runs whose walls can share lanes. Owns which runs go together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator

from hygro.decide.base import wall_of
from hygro.decide.plan import Plan, PlannedRun
from hygro.decide.tree import Digests, Tables
from hygro.decide.work import Task
from hygro.errors import HygroError
from hygro.solve.ensemble import batches
from hygro.solve.lanes import WIDTH
from hygro.solve.problem import structure
from hygro.wall.grid import build_grid

WINDOW = 1024
"""Runs that are looked at together to find some of one structure."""
ROOM = 4e8
"""Bytes that the raw results of a batch may take."""
BYTES = (600, 40)
"""Of an hour of a result, and of every cell in it more."""


class Batcher:
    """Makes batches of the runs of a plan."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._digests = Digests(plan.base.tables)
        self._shapes: dict[str, tuple[Hashable, int]] = {}

    def batches(self, runs: Iterable[PlannedRun]) -> Iterator[tuple[Task, ...]]:
        """Yield batches; runs of one structure are put together as far as a window reaches."""
        groups: dict[Hashable, list[Task]] = defaultdict(list)
        for seen, run in enumerate(runs, start=1):
            task, key, width = self._task(run)
            groups[key].append(task)
            if len(groups[key]) == width:
                yield tuple(groups.pop(key))
            if seen % WINDOW == 0:
                yield from _rest(groups)
        yield from _rest(groups)

    def _task(self, run: PlannedRun) -> tuple[Task, Hashable, int]:
        """The task of a run, the structure it has, and how many of it make a batch."""
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
        return task, (shape, hours, str(tables["settings"])), width

    def _shape(self, tables: Tables) -> tuple[Hashable, int]:
        """Structure of a wall and its number of cells; looked up by what they can depend on."""
        wall, settings = tables["wall"], tables["settings"]
        seen = self._digests.of([_outline(wall), settings])
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


def _rest(groups: dict[Hashable, list[Task]]) -> Iterator[tuple[Task, ...]]:
    """What is left of each structure; too few for lanes in small tasks of their own."""
    for key in list(groups):
        tasks = groups.pop(key)
        for places in batches(list(range(len(tasks)))):
            yield tuple(tasks[k] for k in places)
