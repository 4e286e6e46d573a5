"""Fluxes of the equations, worked out by hand from the states a run reports.

Constants from memory where EN 15026 gives them (as in `hygro.constants`): L_v = 2.5e6 J/kg, c_v =
1860 and c_w = 4180 J/(kg·K), air 1.2 kg/m³.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from plain_materials import plain

from hygro.material import SheetMaterial
from hygro.material.storage import LinearStorage
from hygro.material.thermal import ConstantConductivity
from hygro.material.vapour import ConstantPermeability, SheetPermTable
from hygro.solve.march import run
from hygro.solve.setup import Run
from hygro.wall.elements import Element, Gap, Initial, Layer, Membrane, Openings
from hygro.wall.leaks import AirLeak
from hygro.wall.loads import constant_loads
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure

L_V, C_V = 2.5e6, 1860.0
DELTA, LAMBDA, CELL = 2e-11, 0.1, 2e-3
NODE = 1e-6
"""Depth of the node of the first cell of a layer without liquid. [m]"""
BOARD = plain(
    vapour=ConstantPermeability(DELTA),
    storage=LinearStorage(slope=5.0),
    thermal=ConstantConductivity(LAMBDA),
)


def board(name: str, rh: float, temperature: float) -> Layer:
    return Layer(BOARD, 0.02, name=name, initial=Initial(rh=rh, temperature=temperature))


def ran(
    *layers: Element, hours: int, outdoor: tuple[float, float], indoor: tuple[float, float],
    source: float | None = None, **more: object,
) -> Run:  # fmt: skip
    wall = Wall("fluxes", layers, outside=Outside(emissivity=0.0), **more)
    p = [rh * float(saturation_pressure(T, over="iso13788")) for T, rh in (outdoor, indoor)]
    sources = len(wall.leaks.all())
    loads = constant_loads(
        hours, (outdoor[0], p[0]), (indoor[0], p[1]), gaps=len(wall.gaps), sources=sources
    )
    if source is not None:
        loads = replace(loads, source=np.full((hours, sources), source))
    cells = {item.name: np.full(10, CELL) for item in wall.solids}
    return run(wall, loads, cells=cells)


def test_energy_at_a_surface_is_conduction_and_the_enthalpy_of_vapour() -> None:
    """Steady state: q = (T1 - T2) λ/d + g (L_v + c_v θ), θ midway between T1 and T2 in °C.

    The first node of a layer without liquid stands 1 µm inside of its face, the second in the
    middle of its cell. The term with c_v is 2 % of the latent heat.
    """
    got = ran(board("board", 0.6, 300.0), hours=2000, outdoor=(308.15, 0.9), indoor=(298.15, 0.3))
    first, second = got.T[-1, :2]
    g = got.ledger.vapour_outside[-1] / 3600.0
    conducted = (first - second) * LAMBDA / (1.5 * CELL - NODE)
    expected = conducted + g * (L_V + C_V * (0.5 * (first + second) - 273.15))
    # hour means against the state at its end: steady to 1e-7
    assert got.ledger.energy_outside[-1] / 3600.0 == pytest.approx(expected, rel=1e-5)
    # and the same leaves on the other side
    assert -got.ledger.energy_inside[-1] == pytest.approx(got.ledger.energy_outside[-1], rel=1e-4)


def test_leaking_air_brings_the_enthalpy_of_the_vapour_it_drops() -> None:
    """Per hour m (L_v + c_v θ), θ within 0.5 K of that of its place at the ends of the hour."""
    got = ran(
        board("board", 0.5, 278.15), hours=24, outdoor=(275.15, 0.8), indoor=(295.15, 0.6),
        leaks=[AirLeak("board", rate=2e-4, face="outer", depth=CELL)], source=2e-4,
    )  # fmt: skip
    m, q = got.ledger.leak_vapour, got.ledger.energy_source[:, 0]
    theta = np.stack([got.T[:-1, 0], got.T[1:, 0]]) - 273.15
    assert m.min() > 0.0
    assert (q >= m * (L_V + C_V * (theta.min(axis=0) - 0.5))).all()
    assert (q <= m * (L_V + C_V * (theta.max(axis=0) + 0.5))).all()


def test_a_sheet_is_read_at_the_mean_humidity_of_both_sides() -> None:
    points = ((0.0, 0.5), (0.5, 1.0), (1.0, 20.0))
    permeance = SheetPermTable(points)
    sheet = Membrane(
        SheetMaterial(key="sheet", name="sheet", group="test", permeance=permeance), name="sheet"
    )
    # steady: what the sheet lets through comes out of the dry board
    got = ran(
        board("dry", 0.2, 293.15), sheet, board("wet", 0.95, 293.15), hours=4000,
        outdoor=(293.15, 0.2), indoor=(293.15, 0.95),
    )  # fmt: skip
    a, c = got.rh[-1, 9], got.rh[-1, 10]
    p_a, p_c = (x * saturation_pressure(got.T[-1, k], over="water") for x, k in ((a, 9), (c, 10)))
    Z = 1.0 / np.asarray(permeance.permeance(0.5 * (a + c)))
    flow = (p_a - p_c) / (2.0 * NODE / DELTA + Z)
    # tables of 64 intervals
    assert got.ledger.vapour_outside[-1] / 3600.0 == pytest.approx(flow, rel=1e-3)
    assert np.abs(np.asarray(permeance.permeance(c)) * Z - 1.0).min() > 0.5  # one side differs


def test_buoyancy_counts_the_vapour_of_the_gap() -> None:
    """V = C_d A √(g H |Tv_gap - Tv_out|/Tv_gap)/H with Tv = T (1 + 0.378 p/P).

    Warm humid outdoor air, cooler and drier gap: without the vapour the flow is a quarter smaller.
    """
    area, height = 0.004, 2.5
    gap = Gap("gap", 0.02, Openings(area=area, height=height, wind_coefficient=0.0))
    got = ran(
        board("out", 0.4, 299.15), gap, board("in", 0.4, 297.15), hours=300,
        outdoor=(301.15, 0.9), indoor=(295.15, 0.3),
    )  # fmt: skip
    T, p = got.gap_T[-1, 0], got.gap_p[-1, 0]
    p_out = 0.9 * float(saturation_pressure(301.15, over="iso13788"))
    virtual = T * (1 + 0.378 * p / 101325.0)
    outdoor = 301.15 * (1 + 0.378 * p_out / 101325.0)
    expected = 0.61 * area * np.sqrt(9.81 * height * abs(virtual - outdoor) / virtual) / height
    # the flow of an hour follows from the state at its start
    assert got.gap_rate[-1, 0] == pytest.approx(expected, rel=1e-3)
    dry = 0.61 * area * np.sqrt(9.81 * height * abs(T - 301.15) / T) / height
    assert abs(dry / expected - 1.0) > 0.05
