"""A capillary surface seeks temperature and potential: what it finds, and in how many turns."""

from __future__ import annotations

import itertools
import os
import subprocess
import sys

import pytest
from scipy.optimize import brentq
from single_cells import (
    BETA_OUT,
    C_V,
    C_W,
    DELTA,
    DX,
    H_OUT,
    L_V,
    LAMBDA,
    T0,
    Cell,
    Seen,
    layer,
    loads_of,
    sat,
    seen,
)

from hygro.material.liquid import ConstantDiffusivity
from hygro.solve.kernels import wet_surface
from hygro.wall.wall import Wall

DIFFUSIVITY, W_FREE, T_REF = 1e-9, 100.0, 293.15
CELLS = (Cell(283.15, 0.6), Cell(303.15, 0.8))
RAIN = (0.0, 1.0)
"""None, and more than is taken up. [kg/(m²·s)]"""
RADIATION = (0.0, 60.0, 120.0, 180.0, 240.0, 300.0, 600.0, 900.0)
STATES = list(itertools.product(CELLS, RAIN, RADIATION))
"""Surfaces from 7 K below their cell to 22 K above it."""
R = 0.5 * DX / LAMBDA


def air_of(cell: Cell) -> tuple[float, float]:
    """As warm as the cell, half as humid as saturated air. [K], [Pa]"""
    return cell.T, 0.5 * sat(cell.T)


def evaluated(cell: Cell, rain: float, radiation: float) -> Seen:
    liquid = ConstantDiffusivity(DIFFUSIVITY)
    parts = (layer(cell, "a", liquid=liquid), layer(cell, "b", liquid=liquid))
    outside = loads_of(Wall("x", parts)).outside
    outside.temperature[:], outside.vapour_pressure[:] = air_of(cell)
    outside.rain[:], outside.radiation[:] = rain, radiation
    return seen(*parts, loads={"outside": outside})


def written_out(cell: Cell, rain: float, radiation: float) -> tuple[float, float]:
    """Energy and water into the cell: both balances of the surface, by bisection one in the other.

    Water: beta (p_air - p_s) + rain = vapour + liquid into the cell, liquid = (T + Ts)/(2 T_ref)
    D (w_s - w)/(dx/2); at free saturation as much rain as that takes. Heat: h (T_air - Ts) + q +
    latent heat of what evaporates there = (Ts - T)/R.
    """
    T_air, p_air = air_of(cell)

    def flows(Ts: float, rh: float) -> tuple[float, float, float]:
        p, half = rh * sat(Ts), 0.5 * DX
        liquid = 0.5 * (cell.T + Ts) / T_REF * DIFFUSIVITY * W_FREE * (rh - cell.rh) / half
        return BETA_OUT * (p_air - p), (p - cell.p) * DELTA / half, liquid

    def surplus(Ts: float, rh: float) -> float:
        air, vapour, liquid = flows(Ts, rh)
        return air + rain - vapour - liquid

    def humidity(Ts: float) -> float:
        if surplus(Ts, 1.0) >= 0.0:
            return 1.0
        return brentq(lambda rh: surplus(Ts, rh), 0.0, 1.0, xtol=1e-15)

    def heat(Ts: float) -> float:
        air, vapour, _ = flows(Ts, humidity(Ts))
        latent = (air - vapour) * (L_V + (C_V - C_W) * (Ts - T0))
        return H_OUT * (T_air - Ts) + radiation + latent - (Ts - cell.T) / R

    Ts = brentq(heat, 260.0, 360.0, xtol=1e-11)
    air, vapour, liquid = flows(Ts, humidity(Ts))
    taken, theta = max(vapour + liquid - air, 0.0), 0.5 * (Ts + cell.T) - T0
    energy = (Ts - cell.T) / R + vapour * (L_V + C_V * theta) + liquid * C_W * theta
    return energy + taken * C_W * (T_air - T0 - theta), vapour + liquid


@pytest.mark.parametrize(("cell", "rain", "radiation"), STATES)
def test_a_wet_surface_is_found_to_a_millionth_of_a_kelvin(
    cell: Cell, rain: float, radiation: float
) -> None:
    """A last step of less than 0.1 K leaves less, one of 3 K some 5e-5 K of these surfaces."""
    got = evaluated(cell, rain, radiation)
    energy, water = written_out(cell, rain, radiation)
    assert got.led[0, 0] == pytest.approx(energy, rel=0.0, abs=1e-6 / R)
    # by no more than a saturated surface dries, 1e-5 kg/(m²·s) for each kelvin, in that
    assert got.led[1, 0] + got.led[2, 0] == pytest.approx(water, rel=0.0, abs=1e-11)


def turns() -> list[int]:
    """How often the two surfaces of each state seek their potential; where nothing is compiled."""
    sought, found = wet_surface.surface_potential, list[int]()

    def counted(*given: object) -> object:
        found[-1] += 1
        return sought(*given)

    wet_surface.surface_potential = counted
    for state in STATES:
        found.append(0)
        evaluated(*state)
    return found


def test_a_wet_surface_closes_in_a_few_turns() -> None:
    """A turn leaves a hundredth of the square of its step: of 20 K 4, 0.2, 4e-4 K.

    So each surface ends with the fourth turn at the latest, of 12 that it may take.
    """
    code = "from test_wet_surface import turns; print(*turns())"
    env = {**os.environ, "NUMBA_DISABLE_JIT": "1", "PYTHONPATH": os.pathsep.join(sys.path)}
    run = subprocess.run(
        [sys.executable, "-c", code], env=env, capture_output=True, text=True, check=True
    )
    found = [int(word) for word in run.stdout.split()]
    assert len(found) == len(STATES)
    assert min(found) >= 2
    assert max(found) <= 2 * 4
