"""Some hours of walls side by side: a lane for each, whatever stands in it and wherever it is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from hygro.errors import SolveError
from hygro.solve.abreast import GIVEN, REPORTED, Abreast, report, report_abreast, stand_abreast
from hygro.solve.columns import FIXED, ledger_entries
from hygro.solve.control import control
from hygro.solve.kernels import arrays
from hygro.solve.kernels.arrays import HourlyLoads, State, WallArrays, Work
from hygro.solve.kernels.compiler import by_width
from hygro.solve.kernels.march import march as march_kernel
from hygro.solve.lanes import WIDTH, LaneArray, each_on_lines, on_lines
from hygro.solve.problem import build_problem, gap_rows
from hygro.solve.setup import CELL_FIELDS, SIDE_FIELDS, Array, Checkpoint, Chunk, Setup
from hygro.solve.sources import places_in, spread

CHUNK = 336
"""Hours per call of the kernel: progress, interruption and checkpoints in between. [h]"""
march = by_width(march_kernel)
RESTING = (293.15, 0.5)
"""T [K] and u [1] of what lies beyond the inner surface of a wall."""
Integers = NDArray[np.int64]
Kind = TypeVar("Kind", bound=np.generic)


class Places(NamedTuple):
    """Where what belongs to a wall stands among what belongs to all: gaps, sources, faces of
    interfaces, columns of the ledger.
    """

    gaps: list[int]
    sources: list[int]
    faces: list[int] | slice
    ledger: list[int]


class Batch(NamedTuple):
    """Setups as the kernels read them, one in each lane, with room for the results of a turn.

    A wall alone is reported at some instants side by side.
    """

    setups: tuple[Setup, ...]
    places: tuple[Places, ...]
    problem: WallArrays
    work: Work
    out: dict[str, Array]
    abreast: Abreast | None


Turn = tuple[Chunk, Checkpoint] | SolveError
"""What a lane has after some hours; the arrays of the chunk hold until the next turn."""


def make_batch(setups: Sequence[Setup]) -> Batch:
    """Fill the arrays of some setups: one lane for one of them, or `WIDTH` for up to as many."""
    width = 1 if len(setups) == 1 else WIDTH
    parts = [setup.part for setup in setups]
    problem = setups[0].problem if width == 1 else build_problem(parts, width)
    n, gaps, sources = len(problem.layer), len(problem.gap), len(problem.source)
    layers = max(len(setup.wall.solids) for setup in setups)
    rows = gap_rows([part.structure for part in parts])
    joints = np.flatnonzero(problem.face[:, arrays.JOINT]).astype(np.int64)
    places = tuple(_places(setup, problem, rows, joints) for setup in setups)
    out = {
        name: on_lines((CHUNK + 1, count, width))
        for name, count in (
            *((name, n) for name in CELL_FIELDS),
            *((name, 2 * len(joints)) for name in SIDE_FIELDS),
            ("ledger", ledger_entries(gaps, layers)),
            *((name, gaps) for name in ("gap_T", "gap_p", "gap_rate")),
        )
    }
    work = make_work(n, gaps, sources, layers, width)
    abreast = stand_abreast(problem, work, out) if width == 1 else None
    return Batch(tuple(setups), places, problem, work, out, abreast)


def _places(setup: Setup, problem: WallArrays, rows: Integers, joints: Integers) -> Places:
    own = setup.part.structure
    gaps = np.searchsorted(rows, own.gaps)
    faces = np.searchsorted(joints, [*setup.faces[:-1], len(problem.layer)])
    layers = FIXED + 2 * len(rows) + np.arange(2 * len(setup.wall.solids))
    ledger = [np.arange(FIXED), (FIXED + 2 * gaps[:, None] + np.arange(2)).ravel(), layers]
    return Places(
        gaps.tolist(),
        places_in(problem.source, own.source),
        slice(None) if len(faces) == len(joints) else faces.tolist(),
        np.concatenate(ledger).tolist(),  # a copy: sums of columns round by how they lie
    )


def make_work(n: int, gaps: int, sources: int, layers: int, width: int) -> Work:
    """Scratch arrays for n cells in lanes."""
    entries = ledger_entries(gaps, layers)
    shapes = {
        "X": (n, 2), "X1": (n, 2), "X2": (n, 2), "D": (n, 4), "F": (n, 2), "L": (n, 4),
        "inverse": (n, 4), "w": (n, 4), "led": (FIXED, 3), "gap_led": (2 * gaps, 5),
        "cell_led": (n, 12), "node": (arrays.NODE_ROWS,), "r": (n, 2), "y": (n, 2),
        "moved": (n, 2), "room": (n, 2), "base": (n, 2), "T": (n,), "u": (n,), "T1": (n,),
        "u1": (n,), "first_led": (entries,), "b": (2, 6), "stage_led": (entries,),
        "step_led": (entries,), "hour_led": (entries,), "gap_rate": (gaps,),
        "source_rate": (sources,), "air": (1,), "room_p": (1,), "at": (arrays.LANE_ROWS,),
    }  # fmt: skip
    rooms = each_on_lines((*shape, width) for shape in shapes.values())
    made = dict(zip(shapes, map(LaneArray, rooms), strict=True))
    return Work(dirty=np.zeros(n + 1, dtype=np.int64), **made)


def advance(batch: Batch, points: Sequence[Checkpoint]) -> Iterator[Turn]:
    """A chunk further in every lane, each from its own hour to a fixed end. Yields lane by lane."""
    at, width = batch.work.at, batch.work.at.width
    lasts = [
        end_after(point.hour, setup) for point, setup in zip(points, batch.setups, strict=True)
    ]
    hours = [last - point.hour for last, point in zip(lasts, points, strict=True)]
    state = _state(batch, points)
    counters = LaneArray(np.zeros((4, width)))
    where = LaneArray(np.zeros((5, width)))
    loads = _loads(batch, points, hours)
    at.array[arrays.MODE] = np.where(np.arange(width) < len(points), arrays.GO, arrays.IDLE)
    at.array[arrays.LAST] = np.resize([*hours, hours[0]], width) + 1.0
    out = {name: LaneArray(x.reshape(-1, width)) for name, x in batch.out.items()}
    for name in ("T", "u"):
        batch.out[name][0] = getattr(state, name).array
    setting = batch.setups[0].settings
    march(
        batch.problem, loads, state, batch.work, control(setting), out["T"], out["u"],
        out["ledger"], out["gap_rate"], counters, where,
    )  # fmt: skip
    status = at.array[arrays.STATUS].copy()
    if batch.abreast is None:
        results = (out[name] for name in (*GIVEN, *REPORTED))
        report(batch.problem, loads, max(hours), batch.work, *results)
    else:
        report_abreast(batch.abreast, loads, hours[0], batch.out)
    for k, (setup, point) in enumerate(zip(batch.setups, points, strict=True)):
        if status[k] != arrays.OK:
            yield failure(setup, point, *(x.array[:, k] for x in (state.T, state.u, where)))
            continue
        chunk, own = _chunk(batch, k, point.hour, hours[k]), _taken(batch, k, state)
        yield chunk, moved_on(point, lasts[k], chunk.ledger, counters.array[:, k], **own)


def end_after(hour: int, setup: Setup) -> int:
    """Where the chunk of an hour ends: at a fixed hour, or with the loads."""
    return min(CHUNK * (hour // CHUNK + 1), setup.loads.hours)


def moved_on(
    before: Checkpoint, hour: int, ledger: Array, counters: Array, **state: Array
) -> Checkpoint:
    """The checkpoint after some hours, with their ledger summed up."""
    return before._replace(
        hour=hour,
        totals=before.totals + ledger.sum(axis=0),
        moved=before.moved + np.abs(ledger).sum(axis=0),
        counters=before.counters + counters,
        **state,
    )


def _state(batch: Batch, points: Sequence[Checkpoint]) -> State:
    """The state of all lanes; the first fills lanes that are left."""
    width, n = batch.work.at.width, len(batch.problem.layer)
    made = State(
        T=LaneArray(on_lines((n, width))),
        u=LaneArray(on_lines((n, width))),
        X=LaneArray(on_lines((n, 2, width))),
        slope=LaneArray(on_lines((n, 2, width))),
        memory=LaneArray(on_lines((4 + len(batch.problem.gap), width))),
    )
    made.T.array[...], made.u.array[...] = RESTING
    for k in range(width):
        lane = k if k < len(points) else 0
        point, cells = points[lane], len(points[lane].T)
        for name in ("T", "u", "X", "slope"):
            getattr(made, name).array[:cells, ..., k] = getattr(point, name)
        made.memory.array[:4, k] = point.memory[:4]
        made.memory.array[[4 + g for g in batch.places[lane].gaps], k] = point.memory[4:]
    return made


def _loads(batch: Batch, points: Sequence[Checkpoint], hours: Sequence[int]) -> HourlyLoads:
    """Loads of the hours of all lanes, after the one before them; the last holds on.

    The first fills lanes that are left.
    """
    most, gaps, sources = max(hours), len(batch.problem.gap), len(batch.problem.source)
    lanes = []
    for setup, own, point, count in zip(batch.setups, batch.places, points, hours, strict=True):
        rows, last, ld = point.hour + np.arange(-1, most + 1), point.hour + count, setup.hourly
        lanes.append(HourlyLoads(
            instant=_rows(ld.instant, rows, last + 1), mean=_rows(ld.mean, rows[:-1], last),
            gap_rate=spread(_rows(ld.gap_rate, rows[:-1], last), own.gaps, gaps),
            wind=_rows(ld.wind, rows[:-1], last),
            source=spread(_rows(ld.source, rows[:-1], last), own.sources, sources),
            source_instant=_rows(ld.source_instant, rows, last + 1),
            air=_rows(ld.air, rows[:-1], last),
            even=even_from(_rows(ld.even, rows[:-1], last), rows[:-1], last),
        ))  # fmt: skip
    lanes += [lanes[0]] * (batch.work.at.width - len(lanes))
    return HourlyLoads(*map(_stacked, zip(*lanes, strict=True)))


def _stacked(lanes: Sequence[NDArray[Kind]]) -> NDArray[Kind]:
    return lanes[0][None] if len(lanes) == 1 else np.stack(lanes)


def _rows(series: NDArray[Kind], rows: Integers, last: int) -> NDArray[Kind]:
    """Some rows of what one lane has; those beyond its ends are the first and the last."""
    return series[0, :last].take(rows, axis=0, mode="clip")


def even_from(even: Integers, hours: Integers, last: int) -> Integers:
    """How many hours go on evenly from each, up to a last one; none from before the first."""
    return np.where(hours < 0, 1, np.minimum(even, (last - hours).clip(1)))


def _chunk(batch: Batch, k: int, first: int, hours: int) -> Chunk:
    """Lane k of the results, as far as it is that of its wall."""
    setup, own = batch.setups[k], batch.places[k]
    n, room = len(setup.grid.layer), {name: x[..., k] for name, x in batch.out.items()}
    cells = {name: room[name][: hours + 1, :n] for name in CELL_FIELDS}
    sides = {
        name: room[name][: hours + 1].reshape(hours + 1, -1, 2)[:, own.faces]
        for name in SIDE_FIELDS
    }
    gaps = {name: room[name][:hours, own.gaps] for name in ("gap_T", "gap_p", "gap_rate")}
    return Chunk(first=first, ledger=room["ledger"][:hours, own.ledger], **cells, **sides, **gaps)


def _taken(batch: Batch, k: int, state: State) -> dict[str, Array]:
    """The state of lane k, as far as it is that of its wall."""
    n, rows = len(batch.setups[k].grid.layer), [*range(4), *(4 + g for g in batch.places[k].gaps)]
    cells = ("T", "u", "X", "slope")
    taken = {name: getattr(state, name).array[:n, ..., k].copy() for name in cells}
    return taken | {"memory": state.memory.array[rows, k]}


def failure(setup: Setup, point: Checkpoint, T: Array, u: Array, where: Array) -> SolveError:
    """The error of a wall that stopped at T, u on its way from `point`.

    `where` as in `kernels.march.march`.
    """
    hour, cell = point.hour + int(where[0]) - 1, int(where[2])
    layer = setup.wall.solids[setup.grid.layer[cell]]
    depth = 1000 * setup.grid.depth[cell]
    return SolveError(
        f"wall '{setup.wall.name}': the march stopped at {setup.loads.time[hour]} + "
        f"{where[1]:.0f} s in layer '{layer.name}', {depth:.1f} mm from outside: step "
        f"{where[3]:.2g} s, last change {where[4]:.2g} tolerances, state "
        f"{T[cell] - 273.15:.2f} °C, potential {u[cell]:.4f}. Likely a "
        "material curve with a jump, or loads that no wall can follow; try accuracy = 'fine' or a "
        "smaller min_step"
    )
