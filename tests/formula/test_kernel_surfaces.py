"""Surfaces, openings and sums of records in few evaluations, against formulas written out."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from single_cells import (
    BETA_OUT,
    BOARD,
    C_ICE,
    C_W,
    CLOSE,
    DELTA,
    DX,
    H_IN,
    H_OUT,
    INDOOR,
    L_F,
    LAMBDA,
    OUTDOOR,
    PER_P,
    RHO_C_AIR,
    T0,
    A,
    B,
    C,
    Cell,
    enthalpy,
    layer,
    loads_of,
    sat,
    seen,
    surface,
)

from hygro.material import SheetMaterial
from hygro.material.liquid import ConstantDiffusivity
from hygro.material.thermal import ConstantConductivity
from hygro.material.vapour import ConstantMu, SheetConstant, SheetPermTable
from hygro.solve.balance import enthalpy as stored_enthalpy
from hygro.solve.balance import interface_fluxes, layer_sums
from hygro.solve.march import run
from hygro.wall.elements import Gap, Initial, Layer, Membrane, Openings
from hygro.wall.leaks import RainLeak
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall

SIZES = {name: np.full(1, DX) for name in "ab"}


def test_sheets_on_a_surface_add_their_resistances() -> None:
    one = SheetMaterial("s", "s", "own", SheetConstant(2e-10), thermal_resistance=0.1)
    two = SheetMaterial("t", "t", "own", SheetConstant(5e-10))
    sheets = (Membrane(one, name="s"), Membrane(two, name="t"))
    got = seen(*sheets, layer(A, "a"), layer(B, "b"))
    film, R = 1.0 / BETA_OUT, 0.5 * DX / LAMBDA + 0.1
    g = (OUTDOOR[1] - A.p) / (film + 1 / 2e-10 + 1 / 5e-10 + 0.5 * DX / DELTA)
    Ts = (H_OUT * OUTDOOR[0] + A.T / R) / (H_OUT + 1.0 / R)
    energy = (Ts - A.T) / R + enthalpy(g, 0.5 * (Ts + A.T) - T0)
    assert got.led[[0, 1], 0] == pytest.approx([energy, g], **CLOSE)


def test_a_sheet_on_a_surface_is_read_between_air_and_cell() -> None:
    permeance = SheetPermTable(((0.0, 0.5), (0.5, 1.0), (1.0, 20.0)))
    sheet = Membrane(SheetMaterial("s", "s", "own", permeance), name="s")
    dry = (OUTDOOR[0], 100.0)
    given = loads_of(Wall("x", (layer(A, "a"),)))
    given.outside.vapour_pressure[:] = 100.0
    got = seen(sheet, layer(A, "a"), layer(B, "b"), loads={"outside": given.outside})
    mean = 0.5 * (A.rh + 100.0 / sat(dry[0]))
    Z = 1.0 / float(permeance.permeance(mean))
    g = (100.0 - A.p) / (1.0 / BETA_OUT + Z + 0.5 * DX / DELTA)
    # a table of 64 intervals
    assert got.led[1, 0] == pytest.approx(g, rel=1e-3)
    assert abs(float(permeance.permeance(A.rh)) * Z - 1.0) > 0.3


def test_the_record_tells_the_state_of_the_outdoor_surface() -> None:
    wall = Wall("x", (layer(A, "a"), layer(B, "b")), outside=Outside(emissivity=0.0))
    got = run(wall, loads_of(wall), cells=SIZES)
    k = 2 * LAMBDA / DX
    Ts = (H_OUT * OUTDOOR[0] + k * A.T) / (H_OUT + k)
    g = (OUTDOOR[1] - A.p) / (1.0 / BETA_OUT + 0.5 * DX / DELTA)
    assert got.interface_T[0, 0] == pytest.approx([Ts, Ts], abs=1e-6)
    assert got.interface_p[0, 0, 0] == pytest.approx(OUTDOOR[1] - g / BETA_OUT, **CLOSE)


def test_air_through_the_wall_leaves_inside_with_the_state_of_the_last_cell() -> None:
    air = 3e-4
    got = seen(layer(A, "a"), layer(B, "b"), loads={"air": np.array([air])})
    dry = surface(B, INDOOR, H_IN, 2e-8)
    gone = air * PER_P * B.p
    energy = dry[0] - air * RHO_C_AIR * (B.T - T0) - enthalpy(gone, B.T - T0)
    assert got.led[[3, 4], 0] == pytest.approx([energy, dry[1] - gone], **CLOSE)


def test_permeability_of_air_and_conduction_change_with_temperature() -> None:
    thermal = ConstantConductivity(LAMBDA, ((263.15, 1.5), (283.15, 1.5), (303.15, 1.5)))
    # µ = 10 of still air 2e-10: permeability over (T/293.15)^0.81
    parts = {"thermal": thermal, "vapour": ConstantMu(10.0)}
    got = seen(layer(A, "a", **parts), layer(C, "b", **parts))
    k = 1.5 * LAMBDA
    Ts = (H_OUT * OUTDOOR[0] + 2 * k / DX * A.T) / (H_OUT + 2 * k / DX)
    r = [0.5 * DX / (2e-11 * (x.T / 293.15) ** 0.81) for x in (A, C)]
    g_out = (OUTDOOR[1] - A.p) / (1.0 / BETA_OUT + r[0])
    q_out = (Ts - A.T) * 2 * k / DX + enthalpy(g_out, 0.5 * (Ts + A.T) - T0)
    g = (A.p - C.p) / (r[0] + r[1])
    q = (A.T - C.T) * k / DX + enthalpy(g, 0.5 * (A.T + C.T) - T0)
    assert got.F[0] == pytest.approx([q_out - q, g_out - g], rel=1e-4)


def test_vapour_over_supercooled_pore_water_is_that_of_water() -> None:
    cold, other = Cell(268.15, 0.6), Cell(278.15, 0.5)
    got = seen(layer(cold, "a"), layer(other, "b"))
    # over pore water p_ice·exp(L_f·ΔT/(R_v·T0·T)): 5 % more than over ice
    p = 0.6 * sat(268.15) * math.exp(L_F * 5.0 / (461.5 * T0 * 268.15))
    g_out = (OUTDOOR[1] - p) / (1.0 / BETA_OUT + 0.5 * DX / DELTA)
    assert got.led[1, 0] == pytest.approx(g_out, rel=1e-4)


def test_a_shower_is_taken_up_as_far_as_the_surface_can() -> None:
    """Liquid and vapour from a surface at free saturation; the rest of the rain runs off."""
    liquid = ConstantDiffusivity(1e-9)
    cell = Cell(283.15, 0.6)
    given = loads_of(Wall("x", (layer(cell, "a"),)))
    given.outside.rain[:] = 1.0
    given.outside.temperature[:] = 283.15
    given.outside.vapour_pressure[:] = sat(283.15)
    got = seen(layer(cell, "a", liquid=liquid), layer(cell, "b", liquid=liquid),
               loads={"outside": given.outside})  # fmt: skip
    half = 0.5 * DX
    # isothermal but for the heat of condensation in the cell: within a kelvin or so of 283.15 K
    flow = 283.15 / 293.15 * 1e-9 * 100.0 * 0.4 / half + 0.4 * sat(283.15) * DELTA / half
    into = got.led[1, 0] + got.led[2, 0]
    assert into == pytest.approx(flow, rel=0.02)
    assert got.F[0, 1] == pytest.approx(into, rel=1e-6)
    assert 0.0 < got.led[2, 0] < 1.0


@pytest.mark.parametrize("wind", [0.0, 4.0])
def test_openings_ventilate_by_wind_and_by_light_moist_air(wind: float) -> None:
    """V = C_d A √(Δp/ρ)/H, Δp = ½ρ·ΔCp·v² + ρ g H (T_v,gap − T_v,out)/T_v,gap (orifice twice)."""
    openings = Openings(area=0.004, height=2.5, wind_coefficient=0.1, discharge=0.61)
    wall = Wall(
        "x", (layer(Cell(290.15, 0.8), "a"), Gap("gap", 0.02, openings), layer(C, "b")),
        outside=Outside(emissivity=0.0),
    )  # fmt: skip
    given = loads_of(wall)
    given.wind[:] = wind
    got = run(wall, given, cells=SIZES)
    # the flow of the first hour follows from the still gap at the start: half way between the
    # faces, whose cells are alike in temperature; vapour half way between the cells
    T, p = 290.15, 0.8 * sat(290.15)
    inner, outer = T * (1 + 0.378 * p / 101325), OUTDOOR[0] * (1 + 0.378 * OUTDOOR[1] / 101325)
    pressure = 0.5 * 1.2 * 0.1 * wind**2 + 1.2 * 9.81 * 2.5 * (inner - outer) / inner
    expected = 0.61 * 0.004 * math.sqrt(pressure / 1.2) / 2.5
    # the constant 0.378 is 1 less the ratio of gas constants
    assert got.gap_rate[0, 0] == pytest.approx(expected, rel=1e-4)


def test_a_narrow_gap_conducts_as_still_air_and_a_wide_one_convects() -> None:
    for depth, h in ((0.005, 2 * 0.025 / 0.005), (0.050, 2 * 1.25)):
        gap = Gap("gap", depth, 0.0, emissivity_outer=1e-6, emissivity_inner=1e-6)
        got = seen(layer(A, "a"), gap, layer(B, "b"))
        y = 1.0 / (1.0 / (7e-9 * h) + 0.5 * DX / DELTA)
        g = 0.5 * y * (A.p - B.p)
        q = (A.T - B.T) / (DX / LAMBDA + 2.0 / h) + enthalpy(g, 0.5 * (A.T + B.T) - T0)
        assert got.led[0, 0] - got.F[0, 0] == pytest.approx(q, rel=1e-3)


@pytest.mark.parametrize(("at", "cells"), [("outer", (1.0, 0.0)), ("inner", (0.0, 1.0))])
def test_a_leak_acts_at_the_face_it_names(at: str, cells: tuple[float, float]) -> None:
    leak = RainLeak("a", 0.01, depth=0.01, face=at)
    thick = Layer(BOARD, 0.02, name="a", initial=Initial(rh=0.5, temperature=283.15))
    # nothing dries through sheets that are next to tight
    tight = Membrane(SheetMaterial("s", "s", "own", SheetConstant(1e-18)), name="s")
    wall = Wall(
        "x", (tight, thick, replace(tight, name="t")), outside=Outside(emissivity=0.0), leaks=[leak]
    )
    given = loads_of(wall)
    given.source[:] = 1e-6
    got = run(wall, given, cells={"a": np.full(2, 0.01)})
    dry = run(replace(wall, leaks=[]), replace(given, source=np.zeros((1, 0))),
              cells={"a": np.full(2, 0.01)})  # fmt: skip
    gained = 0.01 * (got.w[1] - dry.w[1]) / 3.6e-3
    # of 3.6 g/m² a few per mille go on by diffusion in the hour
    assert gained == pytest.approx(cells, abs=0.02)


def test_sums_of_a_record_by_hand() -> None:
    values, thick = np.array([[1.0, 3.0, 5.0]]), np.array([0.1, 0.2, 0.4])
    assert layer_sums(values, thick, np.array([0, 0, 1]))[0] == pytest.approx([0.7, 2.0])
    # 10 kg/m³ of which 4 ice at −5 °C in material of 1 MJ/(m³·K)
    found = stored_enthalpy(np.array(268.15), np.array(10.0), np.array(4.0), np.array(1e6))
    expected = (1e6 + 10 * C_W) * -5.0 - 4.0 * (L_F + (C_W - C_ICE) * -5.0)
    assert float(found) == pytest.approx(expected, rel=1e-12)


def test_fluxes_of_a_record_follow_from_the_balance_of_its_layers() -> None:
    # two layers, one hour: 36 in; the first keeps 10 and gets 4 from a leak, a gap takes 12 behind
    # it, the second keeps 3
    found = interface_fluxes(
        np.array([36.0]), np.array([[0.0, 0.0], [10.0, 3.0]]), np.array([[4.0, 0.0]]),
        {1: np.array([12.0])},
    )  # fmt: skip
    assert found[0] * 3600.0 == pytest.approx([36.0, 36 + 4 - 10 - 12, 36 + 4 - 10 - 12 - 3])
