"""The engine's equations and their exact Jacobian as C functions, for an integrator in C.

Two choices of unknowns: (T, u) scaled as in `hygro.proof.twin`, and the conserved quantities
(enthalpy, water) of each cell, for which CVODE's error falls evenly with its tolerance.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from numba import cfunc, njit, types
from numba.extending import intrinsic

from hygro.constants import ZERO_CELSIUS
from hygro.proof.twin import SCALE_T, U_HIGH, U_LOW
from hygro.solve.control import T_HIGH, T_LOW
from hygro.solve.dual import value
from hygro.solve.kernels.arrays import FREEZING
from hygro.solve.kernels.cell import a_cell
from hygro.solve.kernels.equations import evaluate
from hygro.solve.kernels.hour import hour_loads, loads_at
from hygro.solve.kernels.unknowns import over_T, over_u

NO_COUNTING: Any = {"error_model": "numpy", "_nrt": False, "nogil": True}
STEP_T, STEP_U, TURNS = 5.0, 0.3, 60
CLOSE_T, CLOSE_U = 1e-4, 1e-6
"""Newton on the state of given contents: largest steps, most turns; what is left at the end is the
square of the closing change. [K], [1]"""
ROOM = 10
"""Rows of scratch."""
EQUATIONS = types.void(
    types.intp, types.intp, types.float64, types.CPointer(types.float64),
    types.CPointer(types.float64), types.intp,
)  # fmt: skip
MAPPING = types.void(
    types.intp, types.float64, types.CPointer(types.float64), types.CPointer(types.float64),
    types.intp,
)  # fmt: skip


class Functions(NamedTuple):
    """C functions of one choice of unknowns; the last two only for the conserved quantities."""

    rhs: Any
    jacobian: Any
    weights: Any = None
    unpack: Any = None


@intrinsic
def _stash(context, value, address):
    """Store what the compiler passes for a value at an address."""

    def generate(context, builder, signature, arguments):
        pointer = builder.inttoptr(arguments[1], arguments[0].type.as_pointer())
        builder.store(arguments[0], pointer)
        return context.get_dummy_value()

    return types.void(value, types.intp), generate


@njit(**NO_COUNTING)
def stash(value, address):
    """Keep arrays where the C functions find them."""
    _stash(value, address)


def _fetcher(kind):
    @intrinsic
    def fetch(context, address):
        def generate(context, builder, signature, arguments):
            pointer = builder.inttoptr(arguments[0], context.get_value_type(kind).as_pointer())
            return builder.load(pointer)

        return kind(types.intp), generate

    return fetch


@njit(**NO_COUNTING)
def _loads(pb, ld, wk, gap_rate, hour, x):
    hour_loads(ld, wk, 0, hour)
    loads_at(ld, wk, 0, hour, x)
    for g in range(gap_rate.shape[1]):
        wk.gap_rate[g, 0] = gap_rate[hour, g]


@njit(**NO_COUNTING)
def _read(T, u, y):
    """The state of scaled unknowns; trial states may be anything, tables end somewhere."""
    for i in range(len(T)):
        t = y[2 * i] * SCALE_T + ZERO_CELSIUS
        T[i, 0] = min(t, T_HIGH) if t > T_LOW else T_LOW
        v = y[2 * i + 1]
        u[i, 0] = min(v, U_HIGH) if v > U_LOW else U_LOW


@njit(**NO_COUNTING)
def _slopes(pb, room, i, T, u, at):
    """Enthalpy and water of cell i, and their slopes, into five rows from `at` on."""
    c = a_cell(pb.tab, pb.cell, i, pb.flags[FREEZING], T, u)
    heat, water = c.dx * c.heat, c.dx * c.w
    room[at], room[at + 1] = value(heat), value(water)
    room[at + 2], room[at + 3] = over_T(heat), over_u(heat)
    room[at + 4] = over_u(water)


@njit(**NO_COUNTING)
def _sought(pb, room, T, u, X):
    """T and u of given enthalpy and water, from those of the last call."""
    for i in range(len(T)):
        for turn in range(TURNS):
            _slopes(pb, room, i, T[i], u[i], 0)
            fades = 1.0 if turn < 20 else 0.8 ** (turn - 20)
            du = (X[2 * i + 1] - room[1, 0]) / room[4, 0]
            du = min(max(du, -STEP_U * fades), STEP_U * fades)
            dT = (X[2 * i] - room[0, 0] - room[3, 0] * du) / room[2, 0]
            dT = min(max(dT, -STEP_T * fades), STEP_T * fades)
            u[i, 0] = min(max(u[i, 0] + du, 0.5 * u[i, 0]), U_HIGH)
            T[i, 0] = min(max(T[i, 0] + dT, T_LOW), T_HIGH)
            if abs(dT) < CLOSE_T and abs(du) < CLOSE_U:
                break


def of_state(kind) -> Functions:
    """Functions over scaled (T, u) for arrays of this type."""
    fetch = _fetcher(kind)

    @cfunc(EQUATIONS, **NO_COUNTING)
    def rhs(address, hour, x, y, out, n):
        pb, ld, wk, gap_rate, T, u, _room, _J = fetch(address)
        _read(T, u, y)
        _loads(pb, ld, wk, gap_rate, hour, x)
        evaluate(pb, wk, T, u, None, None)
        for i in range(len(T)):
            du = wk.F[i, 1, 0] / wk.D[i, 3, 0]
            out[2 * i] = (wk.F[i, 0, 0] - wk.D[i, 1, 0] * du) / wk.D[i, 0, 0] * (3600.0 / SCALE_T)
            out[2 * i + 1] = 3600.0 * du

    @cfunc(EQUATIONS, **NO_COUNTING)
    def jacobian(address, hour, x, y, out, n):
        pb, ld, wk, gap_rate, T, u, room, J = fetch(address)
        _read(T, u, y)
        _loads(pb, ld, wk, gap_rate, hour, x)
        evaluate(pb, wk, T, u, J, None)
        for i in range(len(T)):
            d0, d1, d3 = wk.D[i, 0, 0], wk.D[i, 1, 0], wk.D[i, 3, 0]
            gu = wk.F[i, 1, 0] / d3
            gT = (wk.F[i, 0, 0] - d1 * gu) / d0
            # storage bends: its slopes move with the state, by differences
            _slopes(pb, room, i, T[i] + 1e-4, u[i], 0)
            _slopes(pb, room, i, T[i], u[i] + 1e-6, 5)
            for k in range(3):
                a, b = J[i, 4 * k, 0], J[i, 4 * k + 1, 0]
                c, d = J[i, 4 * k + 2, 0], J[i, 4 * k + 3, 0]
                if k == 1:
                    a -= ((room[2, 0] - d0) * gT + (room[3, 0] - d1) * gu) / 1e-4
                    c -= (room[4, 0] - d3) * gu / 1e-4
                    b -= ((room[7, 0] - d0) * gT + (room[8, 0] - d1) * gu) / 1e-6
                    d -= (room[9, 0] - d3) * gu / 1e-6
                uT, uu = c / d3, d / d3
                out[12 * i + 4 * k] = 3600.0 * (a - d1 * uT) / d0
                out[12 * i + 4 * k + 1] = 3600.0 / SCALE_T * (b - d1 * uu) / d0
                out[12 * i + 4 * k + 2] = 3600.0 * SCALE_T * uT
                out[12 * i + 4 * k + 3] = 3600.0 * uu

    return Functions(rhs, jacobian)


def of_contents(kind) -> Functions:
    """Functions over enthalpy [J/m²] and water [kg/m²] of each cell for arrays of this type."""
    fetch = _fetcher(kind)

    @cfunc(EQUATIONS, **NO_COUNTING)
    def rhs(address, hour, x, y, out, n):
        pb, ld, wk, gap_rate, T, u, room, _J = fetch(address)
        _sought(pb, room, T, u, y)
        _loads(pb, ld, wk, gap_rate, hour, x)
        evaluate(pb, wk, T, u, None, None)
        for i in range(len(T)):
            out[2 * i], out[2 * i + 1] = 3600.0 * wk.F[i, 0, 0], 3600.0 * wk.F[i, 1, 0]

    @cfunc(EQUATIONS, **NO_COUNTING)
    def jacobian(address, hour, x, y, out, n):
        pb, ld, wk, gap_rate, T, u, room, J = fetch(address)
        _sought(pb, room, T, u, y)
        _loads(pb, ld, wk, gap_rate, hour, x)
        evaluate(pb, wk, T, u, J, None)
        for i in range(len(T)):
            for k in range(3):
                j = min(max(i + k - 1, 0), len(T) - 1)
                d0, d1, d3 = wk.D[j, 0, 0], wk.D[j, 1, 0], wk.D[j, 3, 0]
                a, b = J[i, 4 * k, 0], J[i, 4 * k + 1, 0]
                c, d = J[i, 4 * k + 2, 0], J[i, 4 * k + 3, 0]
                out[12 * i + 4 * k] = 3600.0 * a / d0
                out[12 * i + 4 * k + 1] = 3600.0 * (b - a * d1 / d0) / d3
                out[12 * i + 4 * k + 2] = 3600.0 * c / d0
                out[12 * i + 4 * k + 3] = 3600.0 * (d - c * d1 / d0) / d3

    @cfunc(MAPPING, **NO_COUNTING)
    def weights(address, rtol, y, out, n):
        # slopes of the last evaluation turn the tolerances of T and u into those of the contents
        pb, _ld, wk, _rate, T, u, room, _J = fetch(address)
        if wk.D[0, 0, 0] == 0.0:
            _sought(pb, room, T, u, y)
            for i in range(len(T)):
                _slopes(pb, room, i, T[i], u[i], 0)
                wk.D[i, 0], wk.D[i, 3] = room[2], room[4]
        for i in range(len(T)):
            scale = rtol * (SCALE_T + abs(T[i, 0] - ZERO_CELSIUS))
            out[2 * i] = 1.0 / (scale * wk.D[i, 0, 0])
            out[2 * i + 1] = 1.0 / (rtol * (1.0 + u[i, 0]) * wk.D[i, 3, 0])

    @cfunc(MAPPING, **NO_COUNTING)
    def unpack(address, rtol, y, out, n):
        pb, _ld, _wk, _rate, T, u, room, _J = fetch(address)
        _sought(pb, room, T, u, y)
        for i in range(len(T)):
            out[2 * i], out[2 * i + 1] = (T[i, 0] - ZERO_CELSIUS) / SCALE_T, u[i, 0]

    return Functions(rhs, jacobian, weights, unpack)
