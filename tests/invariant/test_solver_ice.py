"""Ice: what it may hold, what it does to vapour, and that the grid does not decide it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from feature_walls import features, layer, sheet
from numba import njit
from plain_materials import held

from hygro.constants import GAS_CONSTANT_VAPOUR, HEAT_OF_FUSION, ZERO_CELSIUS
from hygro.solve.dual import value
from hygro.solve.kernels.cell import a_cell
from hygro.solve.lanes import LaneArray
from hygro.solve.march import run
from hygro.solve.settings import Settings
from hygro.solve.setup import Run, prepare
from hygro.solve.tables import potential_at_rh
from hygro.wall.elements import Initial
from hygro.wall.loads import Loads, constant_loads
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure

DAY = 24


@njit(error_model="numpy")
def _pressure(pb, T, u, out):
    for i in range(len(T)):
        c = a_cell(pb.tab, pb.cell, i, 1, T[i], u[i])
        out[i] = value(c.pv)


@pytest.mark.parametrize("rh", [0.5, 0.8, 0.95, 1.0])
def test_vapour_pressure_over_pore_water_is_at_most_that_over_ice(rh: float) -> None:
    """min(rh p_water, p_ice), p_water = p_ice exp(L_f (T0 - T) / (R_v T0 T)): equal potentials."""
    wall = Wall("wood", (layer("wood", "osb", 0.011),), outside=Outside(emissivity=0.0))
    setup = prepare(wall, held(1, (283.15, 0.5), (283.15, 0.5)))
    n = len(setup.grid.thickness)
    T = np.linspace(243.15, 272.65, n)
    u = potential_at_rh(wall.solids[0].material, rh)
    out = np.zeros((n, 1))
    _pressure(setup.problem, LaneArray(T[:, None].copy()), LaneArray(np.full((n, 1), u)),
              LaneArray(out))  # fmt: skip
    over_ice = saturation_pressure(T, over="iso13788")
    depth = (ZERO_CELSIUS - T) / (GAS_CONSTANT_VAPOUR * ZERO_CELSIUS * T)
    expected = np.minimum(rh * over_ice * np.exp(HEAT_OF_FUSION * depth), over_ice)
    # tables of half a kelvin
    assert out[:, 0] == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize("name", ["ice and condensate", "rain on brick", "air flow out"])
def test_no_more_ice_than_water(name: str) -> None:
    feature = features()[name]
    got = run(feature.wall, feature.loads)
    assert (got.ice <= got.w).all()
    assert (got.ice >= 0.0).all()


def frosty(film: float = 0.1, cold: float = 253.15) -> Wall:
    """Wool that takes water from the room to a cold wooden board."""
    wool = replace(layer("wool", "glass-wool-batt", 0.14, 0.5), film=film)
    parts = (
        sheet("barrier", "membrane-35-perm"),
        layer("board", "osb", 0.011, 0.8),
        wool,
        layer("gypsum", "gypsum-board", 0.0125, 0.5),
    )
    return Wall("frosty", parts, outside=Outside(emissivity=0.0))


def winter(days: int, thaw: int = 0, cold: float = 253.15) -> Loads:
    """Frost, then days of thaw with frosty nights; 21 °C and 50 % inside."""
    hours = DAY * (days + thaw)
    p = 0.5 * saturation_pressure(np.array([294.15]), over="water")[0]
    loads = constant_loads(hours, (cold, 80.0), (294.15, p))
    clock = np.arange(hours + 1)
    mild = 275.15 + 6.0 * np.sin(2 * np.pi * clock / DAY)
    T = np.where(clock <= DAY * days, cold, mild)
    loads.outside.temperature[:] = T
    loads.outside.vapour_pressure[:] = 0.8 * saturation_pressure(T, over="iso13788")
    return loads


def test_nothing_drains_while_it_is_frozen() -> None:
    """Film of 1 g/m², far less than the frost."""
    got = run(frosty(film=0.001), winter(40))
    wool = got.grid.layer == 1
    frost = (got.ice * got.grid.thickness)[-1, wool].sum()
    assert frost > 0.1
    assert got.T[-1, wool].min() < ZERO_CELSIUS
    assert got.ledger.drained.sum() == 0.0


def test_what_the_film_does_not_hold_runs_off_in_the_thaw() -> None:
    got = run(frosty(film=0.02), winter(40, 20))
    drained = got.ledger.drained
    assert drained[: 40 * DAY].sum() == 0.0
    assert drained[40 * DAY :].sum() > 0.05
    kept = run(frosty(film=100.0), winter(40, 20))
    assert kept.ledger.drained.sum() == 0.0


def peak(got: Run) -> float:
    """Highest moisture content of the board. [% by mass]"""
    own = got.grid.layer == 0
    water = (got.w * got.grid.thickness)[:, own].sum(axis=1)
    return float(100 * water.max() / (0.011 * 640.0))


def test_grids_agree_on_what_frost_leaves_in_the_board() -> None:
    """The default grid within 1 % by mass of one eight times finer, half its cells within 0.3 %."""
    loads = winter(60, 40)
    peaks = [peak(run(frosty(), loads, Settings(parts=parts))) for parts in (1, 2, 8)]
    assert peaks[2] > 12.0  # frost has wetted the board
    assert peaks[0] == pytest.approx(peaks[2], abs=1.0)
    assert peaks[1] == pytest.approx(peaks[2], abs=0.3)


@pytest.mark.parametrize("thickness", [1e-3, 1e-5])
def test_a_thin_layer_of_the_same_wool_changes_nothing(thickness: float) -> None:
    wall, loads = frosty(), winter(40, 20)
    barrier, board, wool, gypsum = wall.layers
    thin = replace(wool, name="thin", thickness=thickness)
    split = replace(wall, layers=(barrier, board, thin, wool, gypsum))
    # 1 % by mass: the space error of the default grid, as above
    assert peak(run(split, loads)) == pytest.approx(peak(run(wall, loads)), abs=1.0)


def test_vapour_alone_fills_nothing_beyond_free_saturation() -> None:
    """Over-filled wood beside foam at one temperature."""
    wet = Initial(moisture_content=0.85, temperature=293.15)
    board = replace(layer("board", "osb", 0.011), initial=wet)
    foam = replace(layer("foam", "xps", 0.05, 0.5, temperature=293.15))
    wall = Wall("pump", (board, foam), outside=Outside(emissivity=0.0))
    got = run(wall, held(60 * DAY, (293.15, 0.99), (293.15, 0.99)))
    material = foam.material
    assert got.w[0, got.grid.layer == 0].min() > board.material.w_free
    # round-off of a state that settles at saturation
    assert got.w[:, got.grid.layer == 1].max() <= material.w_free * (1 + 1e-6)
