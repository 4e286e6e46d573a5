"""What a march starts from, carries and leaves: walls on their grids, checkpoints, raw results."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.solve.balance import Ledger, closure, split_ledger
from hygro.solve.columns import ledger_entries
from hygro.solve.control import FIRST_STEP
from hygro.solve.hours import check_loads, hourly_loads
from hygro.solve.kernels.arrays import OPENINGS, HourlyLoads, WallArrays
from hygro.solve.kernels.compiler import by_width
from hygro.solve.kernels.report import contents as contents_kernel
from hygro.solve.kernels.report import curves as curves_kernel
from hygro.solve.lanes import LaneArray
from hygro.solve.problem import build_problem
from hygro.solve.settings import Settings, settings_of
from hygro.solve.start import initial_state
from hygro.solve.structure import Part, structure
from hygro.wall.grid import Grid, build_grid
from hygro.wall.loads import Loads
from hygro.wall.wall import Wall

Array = NDArray[np.float64]


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


class Bare(Checkpoint):
    """A checkpoint of hours of which nothing is wanted but where they end.

    Whoever marches may go on to the end of the loads at once, and may give no results.
    """


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


class Own(Chunk):
    """All hours that are left, in arrays that belong to the wall: others are used again."""


class Setup(NamedTuple):
    """A wall on its grid with its loads and settings, and as the kernels read it by itself.

    `faces` are those of the interfaces; `hourly` the loads of all hours.
    """

    wall: Wall
    loads: Loads
    settings: Settings
    grid: Grid
    faces: NDArray[np.int64]
    part: Part
    problem: WallArrays
    hourly: HourlyLoads


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


def prepare(
    wall: Wall,
    loads: Loads,
    settings: Settings | None = None,
    *,
    cells: dict[str, Array] | None = None,
) -> Setup:
    """Lay the grid and fill the arrays; `cells` gives sizes [m] of named layers by hand."""
    settings = settings_of(settings)
    check_loads(wall, loads)
    grid = build_grid(wall, settings.accuracy, cells=cells, parts=settings.parts)
    faces = np.array([i.cell for i in grid.interfaces], dtype=np.int64)
    part = Part(wall, grid, loads.pressure, structure(wall, grid, settings))
    problem, hourly = build_problem([part], 1), hourly_loads(loads)
    if part.structure.flags[OPENINGS]:
        # the flow through a gap is worked out anew every hour
        hourly = hourly._replace(even=np.ones_like(hourly.even))
    return Setup(wall, loads, settings, grid, faces, part, problem, hourly)


def begin(setup: Setup) -> Checkpoint:
    """The checkpoint at the start: the initial state of the layers."""
    T, u = initial_state(setup.wall, setup.grid, setup.loads)
    X = conserved(setup, T, u)
    gaps = len(setup.wall.gaps)
    memory = np.zeros(4 + gaps)
    memory[0], memory[1] = FIRST_STEP, 1.0
    entries = np.zeros(entries_of(setup))
    return Checkpoint(
        0, T, u, X, np.zeros_like(X), memory, X.copy(), entries, entries.copy(), np.zeros(4)
    )


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


contents, curves = by_width(contents_kernel), by_width(curves_kernel)


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


def entries_of(setup: Setup) -> int:
    """How many columns the ledger of a wall has."""
    return ledger_entries(len(setup.wall.gaps), len(setup.wall.solids))


CELL_FIELDS, SIDE_FIELDS = ("T", "u", "rh", "w", "ice"), ("interface_T", "interface_p")
INSTANTS = {*CELL_FIELDS, *SIDE_FIELDS}
"""Results at the ends of hours, that of the start before them; others are of hours."""


def shape_of(setup: Setup, hours: int, name: str) -> tuple[int, ...]:
    """Shape of an array of `Chunk`."""
    if name in CELL_FIELDS:
        return hours + 1, len(setup.grid.layer)
    if name in SIDE_FIELDS:
        return hours + 1, len(setup.faces), 2
    return (hours, entries_of(setup)) if name == "ledger" else (hours, len(setup.wall.gaps))
