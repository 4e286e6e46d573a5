"""The march against SUNDIALS on the same semi-discrete equations, a handful of fixed walls.

Owns the selection; the walls are in `trials`, the integrator in `twin`.
"""

from __future__ import annotations

import importlib.util

import numpy as np

from hygro.proof.check import Check, Origin, Outcome, compare, not_run
from hygro.proof.trials import trials
from hygro.proof.twin import integrate
from hygro.solve.march import run

CASE = "sundials_twins"
HOURS = 48
ORIGIN = Origin(
    "SUNDIALS CVODE at 1e-9 on the engine's own grid", "own equations, other integrator"
)
REASON = "promise of the default settings: a tenth of what sensors resolve"


def twins() -> Outcome:
    """R.m.s. distance in temperature and humidity over two days, with rain, sun, leaks, frost."""
    if importlib.util.find_spec("sksundae") is None:
        return Outcome((not_run(CASE, "five walls", "scikit-sundae not installed", ORIGIN),))
    checks: list[Check] = []
    for name, trial in trials(HOURS).items():
        ours = run(trial.wall, trial.loads, cells=trial.cells)
        twin = integrate(trial.wall, trial.loads, cells=trial.cells, rtol=1e-9)
        for words, miss, bound, unit in (
            ("temperature", ours.T - twin.T, 0.02, "K"),
            ("humidity", ours.rh - twin.rh, 5e-4, "1"),
        ):
            rms = float(np.sqrt(np.mean(miss**2)))
            checks.append(
                compare(CASE, f"r.m.s. distance in {words}, {name}, {HOURS} h", rms, 0.0, bound,
                        unit=unit, origin=ORIGIN, reason=REASON)
            )  # fmt: skip
    return Outcome(tuple(checks))
