"""Where a chunk ends, T and u are brought to the heat and water that the march has carried."""

from __future__ import annotations

import numpy as np
import pytest

from hygro.material import Material
from hygro.material.library import get, library
from hygro.solve.control import T_HIGH, T_LOW
from hygro.solve.kernels import arrays
from hygro.solve.kernels.step import settle
from hygro.solve.lanes import LaneArray
from hygro.solve.setup import Setup, conserved, prepare
from hygro.solve.turn import make_batch
from hygro.wall.elements import Layer
from hygro.wall.loads import constant_loads
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall

ZERO = 273.15
LAYERS = [m for m in library().values() if isinstance(m, Material)]


def alike(material: Material, count: int) -> Setup:
    """A wall of equal cells of 1 mm."""
    wall = Wall(
        "cells", (Layer(material, 1e-3 * count, name="cells", thick=True),),
        outside=Outside(emissivity=0.0),
    )  # fmt: skip
    loads = constant_loads(1, (280.0, 900.0), (280.0, 900.0))
    return prepare(wall, loads, cells={"cells": np.full(count, 1e-3)})


def settled(setup: Setup, T: np.ndarray, u: np.ndarray, X: np.ndarray) -> np.ndarray:
    """T [K] and u [1] after the last hour of cells that have come to X. (n, 2)"""
    work = make_batch((setup,)).work
    work.at.array[arrays.MODE] = arrays.HOUR_END
    work.at.array[arrays.HOUR], work.at.array[arrays.LAST] = 1.0, 2.0
    lanes = [LaneArray(x[..., None].copy()) for x in (T, u, X, X, np.zeros(4))]
    settle(setup.problem, work, arrays.State(*lanes))
    return np.stack([x.array[:, 0] for x in lanes[:2]], axis=1)


@pytest.mark.parametrize("u", [0.72, 0.95, 1.0, 1.02])
@pytest.mark.parametrize("key", ["straw-bale", "osb", "clay-brick-absorbent", "glass-wool-batt"])
def test_a_cell_comes_to_its_heat_from_either_side_of_freezing(key: str, u: float) -> None:
    """Straw that freezes from -0.20 °C on went to and fro between -0.19 and -0.25 °C."""
    there, off = np.meshgrid(np.linspace(-0.62, 0.1, 37), [-0.3, -0.06, -1e-3, 0.06, 0.46])
    T, u_there = ZERO + there.ravel(), np.full(there.size, u)
    setup = alike(get(key), there.size)
    X = conserved(setup, T, u_there)
    got = settled(setup, T + off.ravel(), u_there + 1e-3, X)
    assert got[:, 0] == pytest.approx(T, rel=0.0, abs=1e-9)
    assert got[:, 1] == pytest.approx(u_there, rel=0.0, abs=1e-9)


@pytest.mark.parametrize("u", [0.3, 0.7, 0.95, 1.0, 1.1])
def test_heat_rises_with_temperature_in_every_material(u: float) -> None:
    """So that one temperature goes with what a cell holds."""
    T = np.unique([*np.linspace(T_LOW, T_HIGH, 400), *(ZERO + np.linspace(-1.0, 0.1, 441))])
    for material in LAYERS:
        heat = conserved(alike(material, len(T)), T, np.full(len(T), u))[:, 0]
        assert (np.diff(heat) > 0.0).all(), material.key
