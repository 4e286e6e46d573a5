"""From a wall and its loads to the raw result of a run. Owns the march in chunks and its errors.

A run is a pure function of (wall, loads, settings).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hygro.errors import SolveError
from hygro.solve import kernels
from hygro.solve.balance import Ledger, closure, split_ledger
from hygro.solve.kernels import HourlyLoads, Problem, State, Work
from hygro.solve.problem import build_problem, hourly_loads, initial_state
from hygro.solve.settings import Settings
from hygro.solve.stages import TWO_STAGE
from hygro.wall.assembly import Wall
from hygro.wall.grid import Grid, build_grid
from hygro.wall.loads import Loads

Array = NDArray[np.float64]
TOLERANCE_T = 0.08
"""Local error of a step aimed at, by the first-order estimate; gives about 0.005 K r.m.s. [K]"""
TOLERANCE_U = 1.6e-3
"""Same for the moisture potential; gives about 1e-4 r.m.s. in rh. [1]"""
NEWTON_SHARE = 0.25
"""Unit of the Newton updates relative to the step tolerance; never looser than at tolerance 1. [1]"""
NEWTON_CLOSE = 0.05
"""A stage is closed when the next update would be below this many units. [1]"""
NEWTON_LIMIT = 12
JUMP = 0.4
"""How much a jump of the hourly means shortens the first step of the hour. [1/K]"""
REJECT = 3.0
"""A step is taken again when its error estimate is above this many tolerances. [1]"""
CHUNK = 336
"""Hours per call of the kernel: progress and interruption in between. [h]"""


@dataclass(frozen=True)
class Run:
    """Raw result of a run over N hours and n cells.

    Attributes
    ----------
    T, u, rh, w, ice : (N+1, n) state at the instants
    ledger : Ledger
        What crossed every boundary in each hour.
    interface_T, interface_p : (N+1, interfaces, 2) on the outer and inner side [K], [Pa]
    gap_T, gap_p : (N, gaps), gap_rate : (N, gaps) [m³/(s·m²)]
    closure : relative closure of moisture and energy [1]
    counters : accepted steps, rejected steps, evaluations, retries
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


def make_work(n: int, gaps: int, stages: int, layers: int = 1) -> Work:
    """Scratch arrays for n cells."""
    z = np.zeros
    entries = kernels.FIXED + 2 * gaps + 2 * layers
    return Work(
        P=z((n, kernels.N_PROP)), X=z((n, 2)), D=z((n, 4)), F=z((n, 2)), J=z((n, 12)),
        Dinv=z((n, 4)), Wm=z((n, 4)),
        led=z((kernels.FIXED, 3)), gap_led=z((gaps, 2, 5)), cell_led=z((4, n, 3)),
        bout=z((3, 3)), gq=z((4, 5)), small=z(3), r=z((n, 2)), y=z((n, 2)),
        base=z((n, 2)), Fs=z((stages, n, 2)), T=z(n), u=z(n), b=z((2, 6)),
        stage_led=z(entries), step_led=z(entries), gap_rate=z(gaps),
        room_p=z(1),
    )  # fmt: skip


def control(settings: Settings) -> Array:
    """Numbers that steer the march, in the order of the kernels."""
    tight = NEWTON_SHARE * min(1.0, settings.tolerance)
    return np.array(
        [
            TOLERANCE_T * settings.tolerance,
            TOLERANCE_U * settings.tolerance,
            TOLERANCE_T * tight,
            TOLERANCE_U * tight,
            NEWTON_CLOSE,
            NEWTON_LIMIT,
            settings.max_step,
            settings.min_step,
            JUMP,
            REJECT,
        ]
    )


def conserved(pb: Problem, work: Work, T: Array, u: Array) -> Array:
    """Enthalpy [J/m²] and water [kg/m²] of each cell. (n, 2)"""
    kernels._cells(pb.tab, pb.scalars, pb.mat, pb.cell, pb.flags[0], T, u, work.P, work.X, work.D)
    return work.X.copy()


def run(
    wall: Wall,
    loads: Loads,
    settings: Settings | None = None,
    *,
    cells: dict[str, Array] | None = None,
    progress: Callable[[float, np.datetime64], None] | None = None,
) -> Run:
    """March a wall through its loads.

    Raises
    ------
    SolveError
        The step fell below `min_step`: names date, layer, depth, step and what to try.
    """
    settings = settings or Settings()
    grid = build_grid(wall, settings.accuracy, cells=cells)
    pb = build_problem(wall, grid, settings)
    ld = hourly_loads(loads)
    T, u = initial_state(wall, grid, loads)
    n, gaps, hours = len(T), len(pb.gap), loads.hours
    work = make_work(n, gaps, len(TWO_STAGE.c), len(wall.layers))
    X0 = conserved(pb, work, T, u)
    memory = np.zeros(4 + gaps)
    memory[0], memory[1] = 60.0, 1.0
    state = State(T=T, u=u, X=X0.copy(), slope=np.zeros((n, 2)), memory=memory)
    faces = np.array([i.cell for i in grid.interfaces], dtype=np.int64)
    out = _outputs(hours, n, len(faces), gaps, len(work.step_led))
    _first_row(pb, ld, work, state, faces, out)
    steering = control(settings)
    counters, where = np.zeros(4), np.zeros(5)
    for first in range(0, hours, CHUNK):
        last = min(first + CHUNK, hours)
        rows = slice(first + 1, last + 1)
        status = kernels.march(
            pb, ld, first, last, state, work, TWO_STAGE.A, TWO_STAGE.c, TWO_STAGE.error, steering, faces, out["T"][rows], out["u"][rows],
            out["rh"][rows], out["w"][rows], out["ice"][rows], out["ledger"][first:last],
            out["Tif"][rows], out["pif"][rows], out["gT"][first:last], out["gp"][first:last],
            out["grate"][first:last], counters, where,
        )  # fmt: skip
        if status != kernels.OK:
            raise SolveError(_failure(wall, grid, loads, state, where))
        if progress is not None:
            progress(last / hours, loads.time[last])
    X1 = conserved(pb, work, state.T, state.u)
    ledger = split_ledger(out["ledger"], gaps)
    return Run(
        grid=grid, T=out["T"], u=out["u"], rh=out["rh"], w=out["w"], ice=out["ice"],
        ledger=ledger, interface_T=out["Tif"], interface_p=out["pif"], gap_T=out["gT"],
        gap_p=out["gp"], gap_rate=out["grate"], closure=closure(X0, X1, ledger),
        counters=dict(zip(("steps", "rejected", "evaluations", "retries"),
                          counters.astype(int).tolist(), strict=True)),
    )  # fmt: skip


def _outputs(hours: int, n: int, faces: int, gaps: int, entries: int) -> dict[str, Array]:
    rows = hours + 1
    shapes = {
        "T": (rows, n), "u": (rows, n), "rh": (rows, n), "w": (rows, n), "ice": (rows, n),
        "ledger": (hours, entries), "Tif": (rows, faces, 2), "pif": (rows, faces, 2),
        "gT": (hours, gaps), "gp": (hours, gaps), "grate": (hours, gaps),
    }  # fmt: skip
    return {name: np.empty(shape) for name, shape in shapes.items()}


def _first_row(
    pb: Problem, ld: HourlyLoads, work: Work, state: State, faces: NDArray[np.int64], out: dict
) -> None:
    gaps = len(pb.gap)
    conserved(pb, work, state.T, state.u)
    kernels._gap_rates(pb, ld, 0, state, work.P, work.gap_rate)
    kernels.interfaces_at(
        pb, ld, 0, 0.0, work, state, faces, out["Tif"][0], out["pif"][0], np.zeros(gaps),
        np.zeros(gaps),
    )  # fmt: skip
    out["T"][0], out["u"][0] = state.T, state.u
    out["rh"][0], out["w"][0] = work.P[:, kernels.RH], work.P[:, kernels.W]
    out["ice"][0] = work.P[:, kernels.ICE]


def _failure(wall: Wall, grid: Grid, loads: Loads, state: State, where: Array) -> str:
    hour, cell = int(where[0]), int(where[2])
    layer = wall.layers[grid.layer[cell]]
    return (
        f"wall '{wall.name}': the march stopped at {loads.time[hour]} + {where[1]:.0f} s in layer "
        f"'{layer.name}', {1000 * grid.depth[cell]:.1f} mm from outside: step {where[3]:.2g} s, last "
        f"change {where[4]:.2g} tolerances, state {state.T[cell] - 273.15:.2f} °C, potential "
        f"{state.u[cell]:.4f}. Likely a material curve with a jump, or loads that no wall can "
        "follow; try accuracy = 'fine' or a smaller min_step"
    )
