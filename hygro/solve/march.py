"""From walls and their loads to the raw results of runs, in chunks that can be resumed.

Owns the march over hours and its errors. A run is a pure function of (wall, loads, settings): the
chunks have fixed ends, so a run that was interrupted and resumed leaves the same bits; lanes share
nothing, so a wall that ran beside others does too.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence, Set
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.errors import SolveError
from hygro.solve.balance import Ledger, closure, split_ledger
from hygro.solve.columns import FIXED, ledger_entries
from hygro.solve.control import FIRST_STEP, control
from hygro.solve.kernels import arrays
from hygro.solve.kernels.arrays import HourlyLoads, State, WallArrays, Work
from hygro.solve.kernels.march import march
from hygro.solve.kernels.report import contents, curves, report
from hygro.solve.lanes import WIDTH, LaneArray, lane_array, on_lines
from hygro.solve.problem import build_problem, check_loads, hourly_loads, initial_state
from hygro.solve.settings import Settings
from hygro.solve.sources import places_in, spread
from hygro.wall.grid import Grid, build_grid
from hygro.wall.loads import Loads
from hygro.wall.wall import Wall

Array = NDArray[np.float64]
CHUNK = 336
"""Hours per call of the kernel: progress, interruption and checkpoints in between. [h]"""


class Checkpoint(NamedTuple):
    """All that a march needs to go on from an hour.

    Attributes
    ----------
    hour : int
        Hours done.
    T, u, X, slope, memory : state of the march as in `arrays.State`
    start : (n, 2) conserved quantities at the start of the run
    totals, moved : (entries,) sums and sums of magnitudes of the ledger
    counters : (4,) accepted steps, rejected steps, evaluations, retries
    """

    hour: int
    T: Array
    u: Array
    X: Array
    slope: Array
    memory: Array
    start: Array
    totals: Array
    moved: Array
    counters: Array


class Chunk(NamedTuple):
    """Raw result of some hours: m+1 instants from `first` on, m hours, n cells.

    Attributes
    ----------
    T, u, rh, w, ice : (m+1, n) states at the instants
    ledger : (m, entries) integrals of each hour
    interface_T, interface_p : (m+1, interfaces, 2) on the outer and inner side [K], [Pa]
    gap_T, gap_p, gap_rate : (m, gaps) [K], [Pa], [m³/(s·m²)]
    """

    first: int
    T: Array
    u: Array
    rh: Array
    w: Array
    ice: Array
    ledger: Array
    interface_T: Array
    interface_p: Array
    gap_T: Array
    gap_p: Array
    gap_rate: Array


class Setup(NamedTuple):
    """A wall on its grid with its loads and settings, and as the kernels read it by itself."""

    wall: Wall
    loads: Loads
    settings: Settings
    grid: Grid
    faces: NDArray[np.int64]
    problem: WallArrays


class Batch(NamedTuple):
    """Setups of one structure as the kernels read them, one in each lane.

    In `room` the results of a chunk stand until the next: memory taken anew costs page by page.
    """

    setups: tuple[Setup, ...]
    problem: WallArrays
    hourly: HourlyLoads
    work: Work
    room: dict[str, Array]


@dataclass(frozen=True)
class Run:
    """Raw result of a whole run over N hours and n cells; see `Chunk` for the arrays.

    `ledger` says what crossed every boundary in each hour; `closure` holds the relative closure of
    moisture and energy [1]; `counters` the accepted and rejected steps, evaluations and retries.
    """

    grid: Grid
    T: Array
    u: Array
    rh: Array
    w: Array
    ice: Array
    ledger: Ledger
    interface_T: Array
    interface_p: Array
    gap_T: Array
    gap_p: Array
    gap_rate: Array
    closure: dict[str, float]
    counters: dict[str, int]


Progress = Callable[[float, np.datetime64], None]


def prepare(
    wall: Wall,
    loads: Loads,
    settings: Settings | None = None,
    *,
    cells: dict[str, Array] | None = None,
) -> Setup:
    """Lay the grid and fill the arrays; `cells` gives sizes [m] of named layers by hand."""
    settings = settings or Settings()
    check_loads(wall, loads)
    grid = build_grid(wall, settings.accuracy, cells=cells, parts=settings.parts)
    faces = np.array([i.cell for i in grid.interfaces], dtype=np.int64)
    problem = build_problem([(wall, grid, loads.pressure)], settings, 1)
    return Setup(wall, loads, settings, grid, faces, problem)


def begin(setup: Setup) -> Checkpoint:
    """The checkpoint at the start: the initial state of the layers."""
    T, u = initial_state(setup.wall, setup.grid, setup.loads)
    X = conserved(setup, T, u)
    gaps = len(setup.wall.gaps)
    memory = np.zeros(4 + gaps)
    memory[0], memory[1] = FIRST_STEP, 1.0
    entries = np.zeros(_entries(setup))
    return Checkpoint(
        0, T, u, X, np.zeros_like(X), memory, X.copy(), entries, entries.copy(), np.zeros(4)
    )


def chunks(setup: Setup, start: Checkpoint | None = None) -> Iterator[tuple[Chunk, Checkpoint]]:
    """March from a checkpoint to the end, giving every chunk with the checkpoint after it.

    Raises
    ------
    SolveError
        The step fell below `min_step`: names date, layer, depth, step and what to try.
    """
    point = start or begin(setup)
    batch = make_batch((setup,))
    while point.hour < setup.loads.hours:
        out = advance(batch, [point])
        (end,) = out.ends
        if isinstance(end, SolveError):
            raise end
        chunk = _empty(setup, point.hour, end.hour)
        _copy_lane(setup, out, 0, chunk, 0)
        point = _moved_on(point, end, chunk.ledger)
        yield chunk, point


def run(
    wall: Wall,
    loads: Loads,
    settings: Settings | None = None,
    *,
    cells: dict[str, Array] | None = None,
    progress: Progress | None = None,
) -> Run:
    """March a wall through its loads; see `chunks` for errors."""
    return run_from(prepare(wall, loads, settings, cells=cells), None, progress=progress)


def run_from(setup: Setup, start: Checkpoint | None, *, progress: Progress | None = None) -> Run:
    """March from a checkpoint, or from the initial state, to the end; see `chunks` for errors."""
    (got,) = run_batch(make_batch((setup,)), [start or begin(setup)], progress)
    if isinstance(got, SolveError):
        raise got
    return got


def run_batch(
    batch: Batch, points: list[Checkpoint], progress: Progress | None = None
) -> list[Run | SolveError]:
    """March all lanes from one hour to the end."""
    loads, first = batch.setups[0].loads, points[0].hour
    wholes = [_empty(setup, first, loads.hours) for setup in batch.setups]
    errors: dict[int, SolveError] = {}
    for hour in range(first, loads.hours, CHUNK):
        last = min(hour + CHUNK, loads.hours)
        out = advance(batch, points, resting=errors.keys())
        for k, end in enumerate(out.ends):
            if isinstance(end, SolveError):
                errors[k] = end
            elif k not in errors:
                _copy_lane(batch.setups[k], out, k, wholes[k], hour - first)
                points[k] = _moved_on(points[k], end, wholes[k].ledger[hour - first : last - first])
        if len(errors) == len(points):
            break
        if progress is not None:
            progress(last / loads.hours, loads.time[last])
    return [
        errors[k] if k in errors else _whole(setup, wholes[k], points[k])
        for k, setup in enumerate(batch.setups)
    ]


def balance(setup: Setup, point: Checkpoint) -> dict[str, float]:
    """Closure of moisture and energy from the start to a checkpoint. [1]"""
    X = conserved(setup, point.T, point.u)
    gaps = len(setup.wall.gaps)
    totals, moved = (split_ledger(x[None, :], gaps) for x in (point.totals, point.moved))
    return closure(point.start, X, totals, moved)


def counters_of(point: Checkpoint) -> dict[str, int]:
    """Step statistics by name."""
    names = ("steps", "rejected", "evaluations", "retries")
    return dict(zip(names, point.counters.astype(int).tolist(), strict=True))


def make_work(n: int, gaps: int, sources: int, layers: int, width: int) -> Work:
    """Scratch arrays for n cells in lanes."""

    def z(*shape: int) -> LaneArray:
        return LaneArray(on_lines((*shape, width)))

    entries = ledger_entries(gaps, layers)
    return Work(
        X=z(n, 2), X1=z(n, 2), X2=z(n, 2), D=z(n, 4), F=z(n, 2), J=z(n, 12), Dinv=z(n, 4),
        Wm=z(n, 4), led=z(FIXED, 3), gap_led=z(2 * gaps, 5), cell_led=z(n, 12),
        dirty=np.zeros(n, dtype=np.int64), node=z(arrays.NODE_ROWS), r=z(n, 2),
        y=z(n, 2), base=z(n, 2), T=z(n), u=z(n), b=z(2, 6), stage_led=z(entries),
        step_led=z(entries), hour_led=z(entries), gap_rate=z(gaps), source_rate=z(sources),
        air=z(1), room_p=z(1), at=z(arrays.LANE_ROWS),
    )  # fmt: skip


def conserved(setup: Setup, T: Array, u: Array) -> Array:
    """Enthalpy [J/m²] and water [kg/m²] of each cell. (n, 2)"""
    X = np.empty((len(T), 2, 1))
    contents(setup.problem, *(LaneArray(x[:, None].copy()) for x in (T, u)), LaneArray(X))
    return X[..., 0]


def curves_at(setup: Setup, T: Array, u: Array) -> tuple[Array, Array]:
    """Relative humidity [1] and water [kg/m³] of the cells at some states. (m, n) each"""
    rh, w = np.empty((T.size, 1)), np.empty((T.size, 1))
    states = (LaneArray(np.array(x, order="C").reshape(-1, 1)) for x in (T, u))
    curves(setup.problem, *states, LaneArray(rh), LaneArray(w))
    return np.minimum(rh, 1.0).reshape(T.shape), w.reshape(T.shape)


def make_batch(setups: tuple[Setup, ...]) -> Batch:
    """Fill the arrays of some setups: one lane for one of them, or `WIDTH` for up to as many."""
    width = 1 if len(setups) == 1 else WIDTH
    one = setups[0]
    problem = one.problem
    if width > 1:
        problem = build_problem(
            [(s.wall, s.grid, s.loads.pressure) for s in setups], one.settings, width
        )
    sources = len(problem.source)
    rates = [
        spread(s.loads.source, places_in(problem.source, s.problem.source), sources) for s in setups
    ]
    hourly = hourly_loads([s.loads for s in setups], width, rates)
    work = make_work(len(one.grid.layer), len(one.wall.gaps), sources, len(one.wall.solids), width)
    hours = min(CHUNK, one.loads.hours)
    room = {name: on_lines((_rows(one, hours, name), width)) for name in Chunk._fields[1:]}
    return Batch(setups, problem, hourly, work, room)


def _entries(setup: Setup) -> int:
    return ledger_entries(len(setup.wall.gaps), len(setup.wall.solids))


class Advance(NamedTuple):
    """Results of a chunk in lanes, all axes but the lanes in one, and the state of each lane.

    The arrays are the batch's own, written anew by the next chunk. In `ends` stands the checkpoint
    of each lane with the ledger sums of its start, or its error.
    """

    arrays: dict[str, Array]
    hours: int
    ends: list[Checkpoint | SolveError]


def advance(batch: Batch, points: Sequence[Checkpoint], resting: Set[int] = frozenset()) -> Advance:
    """One chunk further in every lane that does not rest."""
    one, width, lanes = batch.setups[0], batch.work.at.width, len(batch.setups)
    first = min(p.hour for k, p in enumerate(points) if k not in resting)
    last = min(first + CHUNK, one.loads.hours)
    filled = [*points, *[points[0]] * (width - lanes)]
    states = zip(*(p[1:6] for p in filled), strict=True)
    state = State(*(lane_array(np.stack(x, axis=-1)) for x in states))
    counters = LaneArray(np.stack([p.counters for p in filled], axis=-1))
    where = LaneArray(np.zeros((5, width)))
    out = {name: room[: _rows(one, last - first, name)] for name, room in batch.room.items()}
    n = len(one.grid.layer)
    out["T"][:n], out["u"][:n] = state.T.array, state.u.array
    goes = [k < lanes and k not in resting for k in range(width)]
    batch.work.at.array[arrays.MODE] = np.where(goes, arrays.GO, arrays.IDLE)
    march(
        batch.problem, batch.hourly, first, last, state, batch.work, control(one.settings),
        *(LaneArray(x) for x in (out["T"][n:], out["u"][n:], out["ledger"], out["gap_rate"])),
        counters, where,
    )  # fmt: skip
    status = batch.work.at.array[arrays.STATUS].copy()
    names = ("T", "u", "gap_rate", "rh", "w", "ice", "interface_T", "interface_p", "gap_T", "gap_p")
    T, u, rate, *rest = (LaneArray(out[name]) for name in names)
    report(
        batch.problem, batch.hourly, first, last - first, batch.work, T, u, rate, one.faces, *rest
    )
    ends: list[Checkpoint | SolveError] = []
    for k, setup in enumerate(batch.setups):
        if status[k] != arrays.OK:
            ends.append(SolveError(_failure(setup, state, where.array[:, k], k)))
            continue
        after = {name: x.array[..., k].copy() for name, x in state._asdict().items()}
        count = counters.array[:, k].copy()
        ends.append(points[k]._replace(hour=last, counters=count, **after))
    return Advance(out, last - first, ends)


def _moved_on(before: Checkpoint, end: Checkpoint, ledger: Array) -> Checkpoint:
    """The checkpoint after a chunk with the ledger of its hours summed up."""
    return end._replace(
        totals=before.totals + ledger.sum(axis=0),
        moved=before.moved + np.abs(ledger).sum(axis=0),
    )


_CELLS, _SIDES = ("T", "u", "rh", "w", "ice"), ("interface_T", "interface_p")
_INSTANTS = {*_CELLS, *_SIDES}


def _shape(setup: Setup, hours: int, name: str) -> tuple[int, ...]:
    if name in _CELLS:
        return hours + 1, len(setup.grid.layer)
    if name in _SIDES:
        return hours + 1, len(setup.faces), 2
    return (hours, _entries(setup)) if name == "ledger" else (hours, len(setup.wall.gaps))


def _rows(setup: Setup, hours: int, name: str) -> int:
    """Rows of lanes of a result, all its axes in one."""
    return math.prod(_shape(setup, hours, name))


def _empty(setup: Setup, first: int, last: int) -> Chunk:
    """Room for the results of some hours."""
    return Chunk(
        first, *(np.empty(_shape(setup, last - first, name)) for name in Chunk._fields[1:])
    )


def _copy_lane(setup: Setup, out: Advance, k: int, chunk: Chunk, row: int) -> None:
    """Lane k of some hours into a longer chunk, from its hour `row` on.

    An instant that two pieces share keeps the values of the first.
    """
    for name, array in out.arrays.items():
        lane = array[:, k].reshape(_shape(setup, out.hours, name))
        skip = int(row > 0 and name in _INSTANTS)
        getattr(chunk, name)[row + skip : row + len(lane)] = lane[skip:]


def join_chunks(parts: list[Chunk]) -> Chunk:
    """Consecutive chunks as one; the instant between two stands once."""
    shared = {"T", "u", "rh", "w", "ice", "interface_T", "interface_p"}
    arrays = {
        name: np.concatenate(
            [getattr(p, name)[int(k > 0 and name in shared) :] for k, p in enumerate(parts)]
        )
        for name in Chunk._fields
        if name != "first"
    }
    return Chunk(first=parts[0].first, **arrays)


def _whole(setup: Setup, chunk: Chunk, point: Checkpoint) -> Run:
    arrays = chunk._asdict()
    del arrays["first"]
    ledger = split_ledger(arrays.pop("ledger"), len(setup.wall.gaps))
    return Run(
        grid=setup.grid,
        ledger=ledger,
        closure=balance(setup, point),
        counters=counters_of(point),
        **arrays,
    )


def _failure(setup: Setup, state: State, where: Array, lane: int) -> str:
    hour, cell = int(where[0]), int(where[2])
    layer = setup.wall.solids[setup.grid.layer[cell]]
    depth = 1000 * setup.grid.depth[cell]
    return (
        f"wall '{setup.wall.name}': the march stopped at {setup.loads.time[hour]} + "
        f"{where[1]:.0f} s in layer '{layer.name}', {depth:.1f} mm from outside: step "
        f"{where[3]:.2g} s, last change {where[4]:.2g} tolerances, state "
        f"{state.T[cell, lane] - 273.15:.2f} °C, potential {state.u[cell, lane]:.4f}. Likely a "
        "material curve with a jump, or loads that no wall can follow; try accuracy = 'fine' or a "
        "smaller min_step"
    )
