"""Walls of single cells at a given state, and the fluxes between them written out.

Owns the formulas that the tests of the kernels by hand compare with. Constants from
memory where EN 15026 gives them: L_v 2.5e6 J/kg, c_v 1860, c_w 4180, c_ice 2100 J/(kg·K), L_f
3.34e5 J/kg, air 1.2 kg/m³ and 1006 J/(kg·K), vapour of exchanged air at 20 °C.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from plain_materials import plain
from scipy.optimize import brentq

from hygro.material.storage import LinearStorage
from hygro.material.thermal import ConstantConductivity
from hygro.material.vapour import ConstantPermeability
from hygro.solve.kernels.report import contents, rates
from hygro.solve.lanes import LaneArray
from hygro.solve.setup import begin, prepare
from hygro.solve.turn import make_batch
from hygro.wall.elements import Element, Initial, Layer
from hygro.wall.loads import Loads, constant_loads
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall

L_V, C_V, C_W, C_ICE, L_F = 2.5e6, 1860.0, 4180.0, 2100.0, 3.34e5
RHO_C_AIR = 1.2 * 1006.0
PER_P = 1.0 / (461.5 * 293.15)
"""Vapour of a cubic metre of air at 20 °C over its vapour pressure. [kg/(m³·Pa)]"""
DELTA, LAMBDA, DX, T0 = 2e-11, 0.1, 0.01, 273.15
BOARD = plain(
    vapour=ConstantPermeability(DELTA),
    storage=LinearStorage(slope=100.0),
    thermal=ConstantConductivity(LAMBDA),
)
H_OUT, BETA_OUT, H_IN, BETA_IN = 20.0, 1.4e-7, 8.0, 2e-8
OUTDOOR, INDOOR = (278.15, 700.0), (294.15, 1300.0)
CLOSE = {"rel": 1e-5}
"""Saturation pressures are read from a table of half kelvins."""


def sat(T: float) -> float:
    """ISO 13788 over water and ice (from memory). [Pa]"""
    t = T - T0
    a, b = (17.269, 237.3) if t >= 0 else (21.875, 265.5)
    return 610.5 * math.exp(a * t / (b + t))


class Cell(NamedTuple):
    """One layer of one cell at a state."""

    T: float
    rh: float

    @property
    def p(self) -> float:
        """Vapour pressure. [Pa]"""
        return self.rh * sat(self.T)


A, B, C = Cell(280.15, 0.7), Cell(284.15, 0.5), Cell(290.15, 0.8)


def layer(cell: Cell, name: str, **more: object) -> Layer:
    return Layer(
        replace(BOARD, **more), DX, name=name, initial=Initial(rh=cell.rh, temperature=cell.T)
    )


def loads_of(wall: Wall, **change: object) -> Loads:
    found = constant_loads(
        1, OUTDOOR, INDOOR, outdoor_coefficients=(H_OUT, BETA_OUT),
        indoor_coefficients=(H_IN, BETA_IN), gaps=len(wall.gaps), sources=len(wall.leaks.all()),
    )  # fmt: skip
    return replace(found, **change)


class Seen(NamedTuple):
    """What the equations give: energy and water into each cell; the ledger; X of the cells."""

    F: np.ndarray
    led: np.ndarray
    cell_led: np.ndarray
    X: np.ndarray


def seen(
    *elements: Element, rate: float = 0.0, x: float = 1.0, eps: float = 0.0,
    loads: dict[str, object] | None = None, **more: object,
) -> Seen:  # fmt: skip
    """Evaluate a wall whose layers are one cell each at the state that they start from."""
    wall = Wall("kernels", elements, outside=Outside(emissivity=eps), **more)
    given = loads_of(wall, **(loads or {}))
    setup = prepare(wall, given, cells={part.name: np.full(1, DX) for part in wall.solids})
    batch, start = make_batch((setup,)), begin(setup)
    T, u = (LaneArray(np.array(v)[:, None].copy()) for v in (start.T, start.u))
    n = len(start.T)
    out = np.zeros((2, n))
    rates(
        batch.problem, setup.hourly, 0, x, T, u, np.full(len(wall.gaps), rate), batch.work,
        out[0], out[1],
    )  # fmt: skip
    X = LaneArray(np.zeros((n, 2, 1)))
    contents(batch.problem, T, u, X)
    work = batch.work
    return Seen(
        work.F.array[..., 0].copy(), work.led.array[..., 0].copy(),
        work.cell_led.array[..., 0].copy(), X.array[..., 0].copy(),
    )  # fmt: skip


def enthalpy(g: float, theta: float) -> float:
    """Of vapour. [W/m²]"""
    return g * (L_V + C_V * theta)


def surface(
    cell: Cell, air: tuple[float, float], h: float, beta: float, *,
    radiation: float = 0.0, eps: float = 0.0,
) -> tuple[float, float]:  # fmt: skip
    """Energy and vapour into a cell through a dry surface."""
    R = 0.5 * DX / LAMBDA
    T_air, p = air

    def surplus(Ts: float) -> float:
        sky = radiation - eps * 5.670374e-8 * Ts**4
        return h * (T_air - Ts) + sky - (Ts - cell.T) / R

    Ts = brentq(surplus, 150.0, 400.0, xtol=1e-11)
    g = (p - cell.p) / (1.0 / beta + 0.5 * DX / DELTA)
    return (Ts - cell.T) / R + enthalpy(g, 0.5 * (Ts + cell.T) - T0), g


def face(a: Cell, c: Cell, Z: float = 0.0, R: float = 0.0) -> tuple[float, float]:
    """Energy and vapour from cell a to cell c."""
    g = (a.p - c.p) / (DX / DELTA + Z)
    q = (a.T - c.T) / (DX / LAMBDA + R)
    return q + enthalpy(g, 0.5 * (a.T + c.T) - T0), g
