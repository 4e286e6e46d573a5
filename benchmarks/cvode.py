"""SUNDIALS CVODE from C on the engine's equations: no line of Python is run per step.

`cvode_hours.c` is compiled on demand against the SUNDIALS of the scikit-sundae wheel; it runs over
the hours, and calls the equations that `cvode_equations` has compiled.
"""

from __future__ import annotations

import atexit
import ctypes
import importlib.util
import re
import shutil
import subprocess
import tempfile
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numba import typeof

from benchmarks.cvode_equations import ROOM, Functions, of_contents, of_state, stash
from hygro.constants import ZERO_CELSIUS
from hygro.errors import InputError, SolveError
from hygro.proof.trials import Trial
from hygro.proof.twin import SCALE_T
from hygro.solve.control import ONSET_RATE, ONSET_T, RADIATION_H
from hygro.solve.lanes import LaneArray
from hygro.solve.setup import conserved, curves_at, prepare
from hygro.solve.start import initial_state
from hygro.solve.turn import make_work

SOURCE = Path(__file__).with_name("cvode_hours.c")
PARTS = ("core", "cvode", "nvecserial", "sunmatrixband", "sunlinsolband")
MOST_STEPS = 20_000


@cache
def _compiled(kind: object, contents: bool) -> Functions:
    """C functions for arrays of a type; one set serves all walls."""
    return of_contents(kind) if contents else of_state(kind)


class Policy(NamedTuple):
    """How CVODE is run.

    Attributes
    ----------
    contents : unknowns are enthalpy and water rather than T and u
    jump : begin anew in hours whose loads jump by more than this [K]; 0: by anything, infinite:
        never, negative: every hour
    first : first step after that [h]; 0: CVODE's own choice
    exact : exact Jacobian, else by differences
    order : largest order; 0: 5
    free : steps run over the hours
    """

    contents: bool = True
    jump: float = -1.0
    first: float = 0.0
    exact: bool = True
    order: int = 0
    free: bool = False


class Marched(NamedTuple):
    """T [K], rh [1], w [kg/m³] at the hours (N+1, n), processor seconds, right-hand sides."""

    T: np.ndarray
    rh: np.ndarray
    w: np.ndarray
    seconds: float
    evaluations: int


@cache
def library() -> ctypes.CDLL:
    """The compiled driver.

    Raises
    ------
    InputError
        scikit-sundae or gcc is not here, or the driver does not compile.
    """
    spec = importlib.util.find_spec("sksundae")
    if spec is None or spec.origin is None:
        raise InputError('SUNDIALS: not here; pip install "hygro[proof]" brings scikit-sundae')
    if shutil.which("gcc") is None:
        raise InputError("gcc: not found; CVODE is driven by a C file that it compiles")
    package = Path(spec.origin).parent
    folder = package.parent / "scikit_sundae.libs"
    parts = [next(iter(folder.glob(f"libsundials_{part}-*")), None) for part in PARTS]
    if None in parts:
        raise InputError(f"{folder}: lacks a library of {PARTS}; is scikit-sundae a wheel of PyPI?")
    config = (package / "py_config.pxi").read_text(encoding="utf-8")
    found = re.search(r'SUNDIALS_INT_TYPE = "(\w+)"', config)
    index = {"int": "int", "int32": "int", "int64": "long"}[found[1] if found else "int"]
    made = tempfile.mkdtemp(prefix="cvode-")
    atexit.register(shutil.rmtree, made, ignore_errors=True)
    target = Path(made) / "driver.so"
    command = ["gcc", "-O3", "-shared", "-fPIC", f"-DINDEX={index}", "-o", str(target), str(SOURCE)]
    command += [*map(str, parts), f"-Wl,-rpath,{folder}", "-Wl,--allow-shlib-undefined", "-lm"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        raise InputError(f"gcc: {SOURCE.name} does not compile: {done.stderr[-200:]}")
    return ctypes.CDLL(str(target))


class Anchor:
    """A wall and its loads behind C functions."""

    def __init__(self, trial: Trial) -> None:
        self.trial = trial
        self.setup = setup = prepare(trial.wall, trial.loads, cells=trial.cells)
        n = len(setup.grid.layer)
        pb = setup.problem
        work = make_work(n, len(pb.gap), len(pb.source), len(setup.wall.solids), 1)
        self._T, self._u = (LaneArray(np.zeros((n, 1))) for _ in range(2))
        gap_rate = np.ascontiguousarray(trial.loads.gap_rate)
        room = LaneArray(np.zeros((ROOM, 1)))
        jacobian = LaneArray(np.zeros((n, 12, 1)))
        value = (pb, setup.hourly, work, gap_rate, self._T, self._u, room, jacobian)
        self._kept, self._memory = value, np.zeros(1 << 14, dtype=np.uint8)
        stash(value, self._memory.ctypes.data)
        self._kind = typeof(value)
        self._start = initial_state(trial.wall, setup.grid, trial.loads)
        self.cells, self.hours = n, trial.loads.hours

    def jumps(self, threshold: float) -> np.ndarray:
        """Hours that begin with a jump of the loads above a threshold [K], as the engine weighs it.

        Sun counts as the rise of the surface that it brings, water and air as their onset.
        """
        loads = self.trial.loads
        found = np.zeros(self.hours, dtype=np.uint8)
        if threshold < 0.0:
            return found + np.uint8(1)
        sun = np.abs(np.diff(loads.outside.radiation))
        worst = sun / (loads.outside.heat_coefficient[1:-1] + RADIATION_H)
        for series in (
            loads.outside.rain[:, None],
            loads.source,
            loads.gap_rate,
            loads.air[:, None],
        ):
            if series.shape[1]:
                change = np.abs(np.diff(series, axis=0)).max(axis=1)
                worst = np.maximum(worst, ONSET_T * change / (change + ONSET_RATE))
        found[1:] = worst > threshold
        return found

    def march(self, rtol: float, policy: Policy) -> Marched:
        """Run CVODE over all hours at a relative tolerance.

        Raises
        ------
        SolveError
            CVODE gave up; names its flag and the hour.
        """
        functions = _compiled(self._kind, policy.contents)
        T0, u0 = self._start
        states = np.empty((self.hours + 1, 2 * self.cells))
        states[0, 0::2], states[0, 1::2] = (T0 - ZERO_CELSIUS) / SCALE_T, u0
        start = conserved(self.setup, T0, u0).ravel() if policy.contents else states[0].copy()
        self._T.array[:, 0], self._u.array[:, 0] = T0, u0
        options = (rtol, policy.first, policy.order, not policy.free, MOST_STEPS)
        restart, found = self.jumps(policy.jump), np.zeros(5)
        atol = np.full(2 * self.cells, rtol)
        taken = [f.address if f is not None else None for f in functions]
        flag = library().march(
            ctypes.c_void_p(taken[0]), ctypes.c_void_p(taken[1] if policy.exact else None),
            ctypes.c_long(self._memory.ctypes.data), ctypes.c_long(2 * self.cells),
            ctypes.c_long(self.hours), _pointer(restart), _pointer(states),
            _pointer(option := np.array(options, dtype=float)), _pointer(atol), _pointer(found),
            _pointer(start), ctypes.c_void_p(taken[2]), ctypes.c_void_p(taken[3]),
        )  # fmt: skip
        del option
        if flag:
            name, hour = self.trial.wall.name, int(found[0])
            raise SolveError(f"{name}: CVODE at {rtol:g} stopped with {flag} in hour {hour}")
        T = states[:, 0::2] * SCALE_T + ZERO_CELSIUS
        rh, w = curves_at(self.setup, T, np.ascontiguousarray(states[:, 1::2]))
        return Marched(T, rh, w, float(found[4]), int(found[1]))


def _pointer(values: np.ndarray) -> ctypes.c_void_p:
    return ctypes.c_void_p(values.ctypes.data)
