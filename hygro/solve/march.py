"""From a wall and its loads to the raw result of a run, in chunks that can be resumed.

Owns the march over hours and its errors. A run is a pure function of (wall, loads, settings): the
chunks have fixed ends, so a run that was interrupted and resumed leaves the same bits.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.errors import SolveError
from hygro.solve import kernels
from hygro.solve.balance import Ledger, closure, split_ledger
from hygro.solve.control import FIRST_STEP, control
from hygro.solve.kernels import HourlyLoads, Problem, State, Work
from hygro.solve.problem import build_problem, hourly_loads, initial_state
from hygro.solve.settings import Settings
from hygro.wall.assembly import Wall
from hygro.wall.grid import Grid, build_grid
from hygro.wall.loads import Loads

Array = NDArray[np.float64]
CHUNK = 336
"""Hours per call of the kernel: progress, interruption and checkpoints in between. [h]"""


class Checkpoint(NamedTuple):
    """All that a march needs to go on from an hour.

    Attributes
    ----------
    hour : int
        Hours done.
    T, u, X, slope, memory : state of the march as in `kernels.State`
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
    """A wall, its loads and settings as the kernels read them."""

    wall: Wall
    loads: Loads
    settings: Settings
    grid: Grid
    problem: Problem
    hourly: HourlyLoads
    faces: NDArray[np.int64]


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
    grid = build_grid(wall, settings.accuracy, cells=cells)
    faces = np.array([i.cell for i in grid.interfaces], dtype=np.int64)
    problem = build_problem(wall, grid, settings)
    return Setup(wall, loads, settings, grid, problem, hourly_loads(loads), faces)


def begin(setup: Setup) -> Checkpoint:
    """The checkpoint at the start: the initial state of the layers."""
    T, u = initial_state(setup.wall, setup.grid, setup.loads)
    work = _work(setup)
    X = conserved(setup.problem, work, T, u)
    memory = np.zeros(4 + len(setup.problem.gap))
    memory[0], memory[1] = FIRST_STEP, 1.0
    entries = np.zeros(len(work.step_led))
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
    work = _work(setup)
    while point.hour < setup.loads.hours:
        chunk, point = _advance(setup, work, point)
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
    loads, parts = setup.loads, []
    for chunk, point in chunks(setup, start):
        parts.append(chunk)
        if progress is not None:
            progress(point.hour / loads.hours, loads.time[point.hour])
    return _join(setup, parts, point)


def balance(setup: Setup, point: Checkpoint) -> dict[str, float]:
    """Closure of moisture and energy from the start to a checkpoint. [1]"""
    X = conserved(setup.problem, _work(setup), point.T, point.u)
    gaps = len(setup.problem.gap)
    totals, moved = (split_ledger(x[None, :], gaps) for x in (point.totals, point.moved))
    return closure(point.start, X, totals, moved)


def counters_of(point: Checkpoint) -> dict[str, int]:
    """Step statistics by name."""
    names = ("steps", "rejected", "evaluations", "retries")
    return dict(zip(names, point.counters.astype(int).tolist(), strict=True))


def make_work(n: int, gaps: int, layers: int = 1) -> Work:
    """Scratch arrays for n cells."""
    z = np.zeros
    entries = kernels.FIXED + 2 * gaps + 2 * layers
    return Work(
        P=z((n, kernels.N_PROP)), X1=z((n, 2)), X2=z((n, 2)), D=z((n, 4)), F=z((n, 2)),
        J=z((n, 12)), Dinv=z((n, 4)), Wm=z((n, 4)), led=z((kernels.FIXED, 3)),
        gap_led=z((gaps, 2, 5)), cell_led=z((4, n, 3)), bout=z((3, 3)), gq=z((4, 5)), small=z(3),
        r=z((n, 2)), y=z((n, 2)), base=z((n, 2)), T=z(n), u=z(n), b=z((2, 6)),
        stage_led=z(entries), step_led=z(entries), gap_rate=z(gaps), room_p=z(1),
    )  # fmt: skip


def conserved(pb: Problem, work: Work, T: Array, u: Array) -> Array:
    """Enthalpy [J/m²] and water [kg/m²] of each cell. (n, 2)"""
    kernels._cells(pb.tab, pb.scalars, pb.mat, pb.cell, pb.flags[0], T, u, work.P, work.X1, work.D)
    return work.X1.copy()


def _work(setup: Setup) -> Work:
    sizes = len(setup.grid.layer), len(setup.problem.gap)
    return make_work(*sizes, len(setup.wall.layers))


def _advance(setup: Setup, work: Work, point: Checkpoint) -> tuple[Chunk, Checkpoint]:
    first, last = point.hour, min(point.hour + CHUNK, setup.loads.hours)
    state = State(*(array.copy() for array in point[1:6]))
    counters, where = point.counters.copy(), np.zeros(5)
    out = _empty(setup, first, last - first, len(point.totals))
    _first_row(setup, work, state, out)
    status = kernels.march(
        setup.problem, setup.hourly, first, last, state, work, control(setup.settings), setup.faces,
        out.T[1:], out.u[1:], out.rh[1:], out.w[1:], out.ice[1:], out.ledger, out.interface_T[1:],
        out.interface_p[1:], out.gap_T, out.gap_p, out.gap_rate, counters, where,
    )  # fmt: skip
    if status != kernels.OK:
        raise SolveError(_failure(setup, state, where))
    totals = point.totals + out.ledger.sum(axis=0)
    moved = point.moved + np.abs(out.ledger).sum(axis=0)
    return out, Checkpoint(last, *state, point.start, totals, moved, counters)


def _empty(setup: Setup, first: int, hours: int, entries: int) -> Chunk:
    n, faces, gaps = len(setup.grid.layer), len(setup.faces), len(setup.problem.gap)
    cells = [np.empty((hours + 1, n)) for _ in range(5)]
    sides = [np.empty((hours + 1, faces, 2)) for _ in range(2)]
    airs = [np.empty((hours, gaps)) for _ in range(3)]
    arrays = [*cells, np.empty((hours, entries)), *sides, *airs]
    return Chunk._make([first, *arrays])


def _first_row(setup: Setup, work: Work, state: State, out: Chunk) -> None:
    pb, air = setup.problem, np.zeros((2, len(setup.problem.gap)))
    conserved(pb, work, state.T, state.u)
    kernels._gap_rates(pb, setup.hourly, out.first, state, work.P, work.gap_rate)
    kernels.interfaces_at(
        pb, setup.hourly, out.first, 0.0, work, state, setup.faces, out.interface_T[0],
        out.interface_p[0], air[0], air[1],
    )  # fmt: skip
    out.T[0], out.u[0] = state.T, state.u
    for row, column in ((out.rh, kernels.RH), (out.w, kernels.W), (out.ice, kernels.ICE)):
        row[0] = work.P[:, column]
    np.minimum(out.rh[0], 1.0, out=out.rh[0])


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


def _join(setup: Setup, parts: list[Chunk], point: Checkpoint) -> Run:
    whole = join_chunks(parts)._asdict()
    del whole["first"]
    ledger = split_ledger(whole.pop("ledger"), len(setup.problem.gap))
    return Run(
        grid=setup.grid,
        ledger=ledger,
        closure=balance(setup, point),
        counters=counters_of(point),
        **whole,
    )


def _failure(setup: Setup, state: State, where: Array) -> str:
    hour, cell = int(where[0]), int(where[2])
    layer = setup.wall.layers[setup.grid.layer[cell]]
    depth = 1000 * setup.grid.depth[cell]
    return (
        f"wall '{setup.wall.name}': the march stopped at {setup.loads.time[hour]} + "
        f"{where[1]:.0f} s in layer '{layer.name}', {depth:.1f} mm from outside: step "
        f"{where[3]:.2g} s, last change {where[4]:.2g} tolerances, state "
        f"{state.T[cell] - 273.15:.2f} °C, potential {state.u[cell]:.4f}. Likely a material curve "
        "with a jump, or loads that no wall can follow; try accuracy = 'fine' or a smaller min_step"
    )
