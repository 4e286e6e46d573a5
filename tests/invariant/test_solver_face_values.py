"""What is reported at a face is the state of the layer there, whatever sheet lies beyond it.

Vapour goes through resistances in series: from the node to the face, sheet, film. At steady flow
through a plain material the pressure at the face divides the way from node to air by these.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from plain_materials import plain

from hygro.material import SheetMaterial
from hygro.material.storage import LinearStorage
from hygro.material.vapour import ConstantPermeability, SheetConstant
from hygro.solve.march import run
from hygro.solve.setup import Run
from hygro.wall.elements import Gap, Initial, Layer, Membrane
from hygro.wall.loads import LEWIS, constant_loads
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure

DELTA = 1e-12
CELL = 2e-3
NODE = 1e-6
"""Depth of the node of the first cell of a layer without liquid. [m]"""
T = 293.15
BOARD = plain(vapour=ConstantPermeability(DELTA), storage=LinearStorage(slope=20.0))
RESISTANCES = (1e7, 1e9, 1e11, 1e13, 1e20)
"""From less than a film to what nothing passes. [m²·s·Pa/kg]"""


def membrane(resistance: float) -> Membrane:
    material = SheetMaterial(
        key="sheet",
        name="sheet",
        group="test",
        permeance=SheetConstant(1.0 / resistance),
        liquid_tight=True,
    )
    return Membrane(material, name="sheet")


def ran(*between: Gap | Membrane, paint: tuple[Membrane, ...] = (), at: float = T) -> Run:
    """Dry board, what stands between, wet board, perhaps paint; all at one temperature."""
    layers = (
        Layer(BOARD, 0.01, name="dry", initial=Initial(rh=0.3, temperature=at)),
        *between,
        Layer(BOARD, 0.01, name="wet", initial=Initial(rh=0.9, temperature=at)),
        *paint,
    )
    wall = Wall("faces", layers, outside=Outside(emissivity=0.0))
    p = float(saturation_pressure(np.array([at]), over="water")[0])
    cells = {"dry": np.full(5, CELL), "wet": np.full(5, CELL)}
    loads = constant_loads(6, (at, 0.3 * p), (at, 0.3 * p), gaps=len(wall.gaps))
    loads = replace(loads, gap_rate=np.full_like(loads.gap_rate, 1e-3))
    return run(wall, loads, cells=cells)


def wet_cell(got: Run, cell: int) -> np.ndarray:
    return got.rh[:, cell] * saturation_pressure(got.T[:, cell], over="water")


@pytest.mark.parametrize("resistance", RESISTANCES)
def test_face_behind_a_sheet_on_a_gap_divides_the_way_to_the_air(resistance: float) -> None:
    got = ran(Gap("gap", 0.02, 50.0), membrane(resistance))
    p_cell, p_air = wet_cell(got, 5)[1:], got.gap_p[:, 0]
    across = max(1.25, 0.025 / 0.02)  # ISO 6946, half of the film of a side
    beyond = resistance + 1.0 / (LEWIS * 2.0 * across)
    half = NODE / DELTA
    expected = (p_cell * beyond + p_air * half) / (beyond + half)
    # round-off of the network; tables of curves are exact for a straight curve
    assert got.interface_p[1:, 1, 1] == pytest.approx(expected, rel=1e-7)


@pytest.mark.parametrize("resistance", RESISTANCES)
def test_faces_of_a_sheet_between_layers_divide_the_way_between_cells(resistance: float) -> None:
    got = ran(membrane(resistance))
    p_dry, p_wet = wet_cell(got, 4), wet_cell(got, 5)
    half = NODE / DELTA
    flow = (p_wet - p_dry) / (2 * half + resistance)
    assert got.interface_p[:, 1, 0] == pytest.approx(p_dry + flow * half, rel=1e-7)
    assert got.interface_p[:, 1, 1] == pytest.approx(p_wet - flow * half, rel=1e-7)


@pytest.mark.parametrize("resistance", RESISTANCES)
def test_face_beneath_paint_divides_the_way_to_the_room(resistance: float) -> None:
    got = ran(paint=(membrane(resistance),))
    p_cell = wet_cell(got, 9)
    p_room = 0.3 * saturation_pressure(np.array([T]), over="water")[0]
    beyond = resistance + 1.0 / (2.5 * LEWIS)  # the film of `constant_loads`
    half = NODE / DELTA
    expected = (p_cell * beyond + p_room * half) / (beyond + half)
    beneath = got.interface_p[:, -1, 0]
    assert beneath == pytest.approx(expected, rel=1e-7)


@pytest.mark.parametrize("between", [(Gap("gap", 0.02, 50.0), membrane(1e20)), (membrane(1e20),)])
def test_face_is_its_cell_when_nothing_flows(between: tuple[Gap | Membrane, ...]) -> None:
    got = ran(*between)
    assert got.interface_p[:, 1, 1] == pytest.approx(wet_cell(got, 5), rel=1e-9)


def test_in_frost_the_humidity_of_a_cell_is_over_ice_as_at_its_face() -> None:
    """Pore water at equal potential: p_w / p_ice = exp(L_f / R_v (1/T - 1/T0)), 1.106 at -10 °C.

    After Clausius and Clapeyron, L_f 3.34e5 J/kg, R_v 461.5 J/(kg·K) (from memory).
    """
    got = ran(membrane(1e20), at=263.15)
    p_cell = got.rh[:, 5] * saturation_pressure(got.T[:, 5], over="iso13788")
    over_ice = math.exp(3.34e5 / 461.5 * (1 / 263.15 - 1 / 273.15))
    # L_f / R_v as remembered, and saturation pressures read from a table of half kelvins
    assert got.rh[0, 5] == pytest.approx(0.9 * over_ice, rel=1e-3)
    assert got.interface_p[:, 1, 1] == pytest.approx(p_cell, rel=1e-5)
