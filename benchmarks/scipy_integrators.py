"""SciPy's integrators on the equations of a wall, hour by hour; they call back into Python."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from scipy.integrate import BDF, LSODA, Radau

from benchmarks.common import YEAR, best_of
from hygro.constants import ZERO_CELSIUS
from hygro.errors import SolveError
from hygro.proof.trials import Trial
from hygro.proof.twin import BAND, SCALE_T, right_hand_side
from hygro.solve.setup import curves_at

TOLERANCES = (1e-3, 1e-5)
METHODS = {"BDF": BDF, "Radau": Radau, "LSODA": LSODA}
HOURS = 96
"""They are slow: the first days only."""
States = tuple[np.ndarray, ...]


def runs(trial: Trial) -> Iterator[tuple[str, float, float, States]]:
    """Method, tolerance, seconds a year and (T, rh, w) at the hours of each that gets through."""
    hours = min(HOURS, trial.loads.hours)
    for method in METHODS:
        for rtol in TOLERANCES:
            try:
                seconds, got = best_of(1, lambda m=method, r=rtol: _states(trial, m, r, hours))
            except SolveError as error:
                print(error)
                continue
            yield method, rtol, seconds * YEAR / hours, got


def _states(trial: Trial, method: str, rtol: float, hours: int) -> States:
    """T, rh and w at the hours by an integrator of SciPy."""
    rhs, y = right_hand_side(trial.wall, trial.loads, cells=trial.cells)
    options = {"lband": BAND, "uband": BAND} if method == "LSODA" else {"jac_sparsity": _band(y)}
    states = [y]
    for hour in range(hours):
        rhs.hour = hour
        solver = METHODS[method](
            lambda x, y: _rates(rhs, x, y), 0.0, y, 1.0, rtol=rtol, atol=rtol, **options
        )
        while solver.status == "running":
            solver.step()
        if solver.status != "finished":
            raise SolveError(f"{trial.wall.name}: {method} at {rtol:g} stopped in hour {hour}")
        y = solver.y
        states.append(y)
    scaled = np.array(states)
    T = scaled[:, 0::2] * SCALE_T + ZERO_CELSIUS
    return T, *curves_at(rhs.setup, T, np.ascontiguousarray(scaled[:, 1::2]))


def _rates(rhs, x: float, y: np.ndarray) -> np.ndarray:
    out = np.empty_like(y)
    rhs(x, y, out)
    return out


def _band(y: np.ndarray) -> np.ndarray:
    rows = np.arange(len(y))
    return (np.abs(rows[:, None] - rows[None, :]) <= BAND).astype(float)
