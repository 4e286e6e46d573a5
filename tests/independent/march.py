"""The independent model through its weather: CVODE hour by hour on (enthalpy, water)."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import numpy as np
from independent.balance import rates
from independent.constants import (
    BETA_OUT,
    C_ICE,
    C_W,
    DENSITY,
    DRIVEN,
    DRY_MASS,
    EMITS,
    FREE,
    H_IN,
    H_OUT,
    HEAT,
    L_F,
    LEWIS,
    PI,
    PO,
    RADIATION,
    SIGMA,
    SIZE,
    STANDARD,
    TI,
    TO,
    Z_INSIDE,
    ZERO,
    T,
)
from independent.layout import TOUCHING, Nodes, lay
from independent.sky import Loads, loads, over_water, read
from independent.state import ice_of, state_of
from independent.walls import Layer, Wall
from sksundae.cvode import CVODE

HOUR, RESTARTS = 3600.0, 20
EMISSIVITY, INDOOR, CONVECTIVE = 0.9, 1.0 / 0.13, 2.5
"""Outdoors; coefficient indoors and its convective part, ISO 6946 (from memory) [W/(m²·K)]"""


class Course(NamedTuple):
    """States at the N+1 instants: T [K] and w [kg/m³] (N+1, n), of the nodes."""

    T: np.ndarray
    w: np.ndarray
    nodes: Nodes
    loads: Loads
    evaluations: int


def go(
    wall: Wall,
    folder: Path,
    *,
    rtol: float = 1e-5,
    fine: float = 1.0,
    contact: tuple[float, float] = TOUCHING,
) -> Course:
    """March a wall through its weather, the file of which lies in a folder."""
    driven = loads(
        read(folder / wall.place), wall.azimuth, first=wall.first, hours=wall.hours,
        rains=wall.rains,
    )  # fmt: skip
    nodes = lay(wall, driven.pressure, fine, contact)
    n = len(nodes.material)
    at, load = np.zeros((n, 9)), np.zeros(12)
    _constants(load, wall, nodes, driven)
    y = _start(wall, nodes, driven)
    at[:, T] = ZERO
    solver, hour = _solver(y, nodes, load, at, driven, wall, rtol)
    states = np.empty((wall.hours + 1, 2 * n))
    states[0] = y
    for k in range(wall.hours):
        hour[0] = k
        states[k + 1] = _hour_of(solver, states[k], k)
    return Course(_temperatures(states, nodes, at), states[:, 1::2], nodes, driven, hour[1])


def _hour_of(solver: CVODE, y: np.ndarray, k: int) -> np.ndarray:
    """The state an hour on; begun anew from the last good state where freezing stops CVODE."""
    now = 0.0
    for _ in range(RESTARTS):
        solver.init_step(now, y)
        got = solver.step(HOUR, tstop=HOUR)
        if got.success:
            return got.y
        now, y = float(np.ravel(got.t)[-1]), got.y.copy()
    raise AssertionError(f"hour {k}, {now:g} s: {got.message}")


def _solver(y, nodes, load, at, driven, wall, rtol):
    """CVODE with the banded Jacobian of differences; `hour` says which and counts calls."""
    hour = [0, 0]
    number = nodes.curves.number[nodes.material]
    atol = np.empty_like(y)
    # 1 mK and a millionth of free saturation, but 0.1 g/m³ at least
    atol[0::2] = rtol * 100.0 * number[:, HEAT]
    atol[1::2] = rtol * np.maximum(0.1 * number[:, FREE], 0.01 * number[:, FREE] + 0.1)

    def rhs(t, state, out):
        hour[1] += 1
        _moment(load, driven, wall, hour[0], t / HOUR)
        rates(state, out, load, nodes, at)

    return CVODE(rhs, method="BDF", linsolver="band", lband=3, uband=3, rtol=rtol, atol=atol,
                 max_num_steps=100_000), hour  # fmt: skip


def _constants(load: np.ndarray, wall: Wall, nodes: Nodes, driven: Loads) -> None:
    inside, rh = wall.room
    thin = STANDARD / driven.pressure
    load[TI], load[PI] = inside, rh * float(over_water(np.array(inside)))
    load[H_IN], load[EMITS] = INDOOR, EMISSIVITY * SIGMA
    load[Z_INSIDE] = 1.0 / (LEWIS * thin * CONVECTIVE) + nodes.sheet_in
    load[DENSITY] = 1.2 / thin


def _moment(load, driven, wall, k, x):
    """Air and wind run straight through the hour, sun, longwave and rain hold for it."""
    now = driven.instant[k] + x * (driven.instant[k + 1] - driven.instant[k])
    load[TO], load[PO] = now[0], now[1]
    load[H_OUT] = 4.0 + 4.0 * now[2]
    load[BETA_OUT] = LEWIS * (STANDARD / driven.pressure) * load[H_OUT]
    sun, longwave, load[DRIVEN] = driven.mean[k]
    load[RADIATION] = wall.absorptance * sun + EMISSIVITY * longwave


def _start(wall: Wall, nodes: Nodes, driven: Loads) -> np.ndarray:
    """Temperatures straight from outdoors to indoors, water as each layer says."""
    layers = [part for part in wall.parts if isinstance(part, Layer)]
    total = sum(getattr(p, "thickness", getattr(p, "depth", 0.0)) for p in wall.parts)
    outside = driven.instant[0, 0]
    temperature = outside + (wall.room[0] - outside) * nodes.depth / total
    y = np.empty(2 * len(nodes.material))
    for i, m in enumerate(nodes.material):
        layer, number = layers[nodes.layer[i]], nodes.curves.number[m]
        w = np.interp(layer.rh, nodes.curves.rh[m], nodes.curves.w[m])
        if layer.content is not None:
            w = layer.content * number[DRY_MASS]
        y[2 * i + 1] = w
        y[2 * i] = _enthalpy(nodes, m, temperature[i] - ZERO, w)
    return y


def _enthalpy(nodes: Nodes, m: int, theta: float, w: float) -> float:
    number = nodes.curves.number[m]
    ice, _ = ice_of(nodes.curves.held[m], number, theta, w)
    return (number[HEAT] + w * C_W) * theta - ice * (L_F + (C_W - C_ICE) * theta)


def _temperatures(states: np.ndarray, nodes: Nodes, at: np.ndarray) -> np.ndarray:
    found = np.empty((len(states), len(nodes.material)))
    for row, y in zip(found, states, strict=True):
        for i, m in enumerate(nodes.material):
            state_of(i, y[2 * i], y[2 * i + 1], m, nodes.curves, at)
        row[:] = at[:, T]
    return found


def mean(nodes: Nodes, values: np.ndarray, layer: int) -> np.ndarray:
    """Mean over a layer at each instant."""
    mine = nodes.layer == layer
    size = nodes.node[mine, SIZE]
    return values[:, mine] @ size / size.sum()
