"""The same semi-discrete equations integrated by SUNDIALS CVODE. Owns no equation and no step rule.

Space is the engine's (`report.rates`); time is not: variable-order BDF with a banded difference
Jacobian, restarted at each hour because hourly means jump there. What differs from a run of the
engine is therefore its error in time alone.
"""

from __future__ import annotations

import importlib
from dataclasses import dataclass
from time import process_time
from typing import Any

import numpy as np
from numba import njit, types
from numba.experimental import structref
from numpy.typing import NDArray

from hygro.constants import ZERO_CELSIUS
from hygro.errors import InputError, SolveError
from hygro.solve.control import T_HIGH, T_LOW
from hygro.solve.kernels.report import rates
from hygro.solve.lanes import LaneArray
from hygro.solve.settings import Settings, settings_of
from hygro.solve.setup import Setup, curves_at, prepare
from hygro.solve.start import initial_state
from hygro.solve.turn import make_work
from hygro.wall.elements import Openings
from hygro.wall.loads import Loads
from hygro.wall.wall import Wall

Array = NDArray[np.float64]
SCALE_T = 30.0
"""Size of temperatures (less 0 °C), so that one tolerance serves both unknowns. [K]"""
BAND = 3
"""Half bandwidth of the Jacobian with T and u interleaved: blocks of 2 to the next cell."""
U_LOW, U_HIGH = 1e-7, 1e6
"""Bounds at which trial states beyond them are read; 1 is free saturation. [1]

Water on what holds none, such as metal, stands at some hundreds: 0.1 kg/m³ for each.
"""


@dataclass(frozen=True)
class Twin:
    """Result of an integration over N hours and n cells.

    Attributes
    ----------
    T, u, rh, w : (N+1, n) state at the hours; [K], [1], [1], [kg/m³]
    evaluations : right-hand sides, those of the Jacobian included
    seconds : processor time [s]
    """

    T: Array
    u: Array
    rh: Array
    w: Array
    evaluations: int
    seconds: float


@structref.register
class _BundleType(types.StructRef):
    """Everything the compiled right-hand side reads, behind one pointer: cheap to call."""


class _Bundle(structref.StructRefProxy):
    def __new__(cls, *fields: Any) -> _Bundle:
        return structref.StructRefProxy.__new__(cls, *fields)


_FIELDS = ["pb", "ld", "work", "gap_rate", "T", "u", "dT", "du"]
"""Lane arrays among them are addresses: `Rhs` keeps what they point to."""
structref.define_proxy(_Bundle, _BundleType, _FIELDS)


# not cached on disk: the cache would not see a change of the kernels it calls
@njit(error_model="numpy")
def _rates(bundle, hour, x, y, out):
    """Rates per hour of the scaled, interleaved unknowns at the fraction x of an hour."""
    T, u, dT, du = bundle.T, bundle.u, bundle.dT, bundle.du
    for i in range(len(T)):
        # trial states of a failing step may be anything, not-a-number too; tables end somewhere
        t = y[2 * i] * SCALE_T + ZERO_CELSIUS
        T[i, 0] = min(t, T_HIGH) if t > T_LOW else T_LOW
        v = y[2 * i + 1]
        u[i, 0] = min(v, U_HIGH) if v > U_LOW else U_LOW
    rates(bundle.pb, bundle.ld, hour, x, T, u, bundle.gap_rate[hour], bundle.work, dT, du)
    for i in range(len(T)):
        out[2 * i] = dT[i] * (3600.0 / SCALE_T)
        out[2 * i + 1] = du[i] * 3600.0


class Rhs:
    """The right-hand side as a callable of (fraction of the hour, unknowns, rates out).

    `storage` (n, 4) holds the slopes of enthalpy and water per area over T and u of the last call.
    """

    def __init__(self, setup: Setup, gap_rate: Array) -> None:
        self.setup, self.hour, self.calls = setup, 0, 0
        n, layers = len(setup.grid.layer), len(setup.wall.solids)
        pb = setup.problem
        state = [LaneArray(np.zeros((n, 1))) for _ in range(2)]
        work = make_work(n, len(pb.gap), len(pb.source), layers, 1)
        self.storage = work.D.array[..., 0]
        self._kept = (pb, setup.hourly, work, gap_rate, *state)
        self._bundle = _Bundle(*self._kept, np.zeros(n), np.zeros(n))

    def __call__(self, x: float, y: Array, out: Array) -> None:
        """Rates per hour at the fraction x of the hour `self.hour`."""
        self.calls += 1
        _rates(self._bundle, self.hour, x, y, out)


def right_hand_side(
    wall: Wall,
    loads: Loads,
    settings: Settings | None = None,
    *,
    cells: dict[str, Array] | None = None,
    gap_rate: Array | None = None,
) -> tuple[Rhs, Array]:
    """The equations of a wall for any integrator, and the start state.

    Time is the fraction of the hour `hour` of the right-hand side; unknowns are (T - 273.15 K)/30 K
    and u, interleaved.

    Raises
    ------
    InputError
        The wall has a gap with openings and no `gap_rate` is given.
    """
    settings = settings_of(settings)
    if gap_rate is None and any(isinstance(g.air_change, Openings) for g in wall.gaps):
        raise InputError(
            f"wall '{wall.name}': a gap with openings; give gap_rate, the air flow of a run"
        )
    setup = prepare(wall, loads, settings, cells=cells)
    T, u = initial_state(wall, setup.grid, loads)
    rates = loads.gap_rate if gap_rate is None else gap_rate
    start = np.empty(2 * len(T))
    start[0::2], start[1::2] = (T - ZERO_CELSIUS) / SCALE_T, u
    return Rhs(setup, np.ascontiguousarray(rates)), start


def integrate(
    wall: Wall,
    loads: Loads,
    settings: Settings | None = None,
    *,
    rtol: float = 1e-9,
    atol: float | None = None,
    gap_rate: Array | None = None,
    cells: dict[str, Array] | None = None,
    max_steps: int = 20_000,
) -> Twin:
    """Integrate a wall through its loads with CVODE.

    Parameters
    ----------
    wall, loads, settings
        As for a run of the engine; of the settings only grid density and freezing matter.
    rtol, atol : float
        Tolerances on the scaled unknowns; `atol` is `rtol` when absent. [1]
    gap_rate : (N, gaps) array, optional
        Air flow through the gaps [m³/(s·m²)]; needed for gaps with `Openings`: that of the run
        that is compared.
    cells : dict, optional
        Explicit cell sizes, as for a run. [m]
    max_steps : int
        Most steps per hour.

    Raises
    ------
    InputError
        scikit-sundae is not installed, or `gap_rate` is missing.
    SolveError
        CVODE gave up; names the hour and its message.
    """
    rhs, y = right_hand_side(wall, loads, settings, cells=cells, gap_rate=gap_rate)
    solver = _cvode()(
        rhs, method="BDF", linsolver="band", lband=BAND, uband=BAND, rtol=rtol,
        atol=rtol if atol is None else atol, max_num_steps=max_steps,
    )  # fmt: skip
    states = np.empty((loads.hours + 1, len(y)))
    states[0] = y
    rhs(0.0, y, np.empty_like(y))  # compiles before the clock starts
    begin = process_time()
    for hour in range(loads.hours):
        rhs.hour = hour
        solver.init_step(0.0, states[hour])
        got = solver.step(1.0, tstop=1.0)
        if not got.success:
            raise SolveError(
                f"wall '{wall.name}': CVODE stopped in the hour from {loads.time[hour]} at "
                f"tolerance {rtol:g}: {got.message}"
            )
        states[hour + 1] = got.y
    seconds = process_time() - begin
    return Twin(*_curves(rhs, states), rhs.calls, seconds)


def _curves(rhs: Rhs, states: Array) -> tuple[Array, Array, Array, Array]:
    """State and curves at every hour from the scaled unknowns."""
    T = states[:, 0::2] * SCALE_T + ZERO_CELSIUS
    u = np.ascontiguousarray(states[:, 1::2])
    rh, w = curves_at(rhs.setup, T, u)
    return T, u, rh, w


def _cvode() -> Any:
    try:
        return importlib.import_module("sksundae.cvode").CVODE
    except ImportError as error:
        raise InputError(
            "this comparison needs SUNDIALS, and scikit-sundae is not installed: "
            'pip install "hygro[proof]"'
        ) from error
