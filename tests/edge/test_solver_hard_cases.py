"""Hard cases run without help, close, stay in bounds and lose no water."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from feature_walls import cold_humid_loads, layer, sheet
from plain_materials import growing, held, plain, slab

from hygro.errors import SolveError
from hygro.material import SheetMaterial
from hygro.material.library import get
from hygro.material.liquid import AbsorptionDiffusivity
from hygro.material.storage import BForm
from hygro.material.vapour import ConstantMu, SheetConstant
from hygro.proof.trials import brick, concrete_step, framed, season
from hygro.room.models import Constant
from hygro.solve.march import run
from hygro.solve.settings import Settings
from hygro.solve.setup import Run
from hygro.wall.elements import Gap, Initial, Layer, Membrane
from hygro.wall.leaks import AirLeak, Leaks, Wetting
from hygro.wall.loads import LEWIS, Loads, build_loads, constant_loads, repeat_loads
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure

DAY = 24


def sound(ours: Run) -> Run:
    """What every run owes: closures, bounds, finite states."""
    assert ours.closure["moisture"] <= 1e-8
    assert ours.closure["energy"] <= 1e-8
    assert ours.rh.min() > 0.0
    assert ours.rh.max() <= 1.0
    assert ours.ice.min() >= 0.0
    assert np.isfinite(ours.T).all()
    return ours


def water(ours: Run) -> np.ndarray:
    """Water in the wall. [kg/m²]"""
    return (ours.w * ours.grid.thickness).sum(axis=1)


def test_concrete_step_over_a_year() -> None:
    """Case 1: imposed surface state, 20 m deep, 1 mm cells at the face."""
    trial = concrete_step(365 * DAY)
    ours = sound(run(trial.wall, trial.loads, cells=trial.cells))
    assert (np.diff(water(ours)) >= -1e-9).all()
    assert (np.diff(ours.T[-1]) <= 1e-3).all()


def test_dry_brick_under_free_water_takes_up_with_the_root_of_time() -> None:
    """Case 2: a day of free water; a straight line over √t within 1 % of its end."""
    material = plain(
        pore_volume=0.25,
        storage=BForm(w_free=200.0, b=1.05),
        vapour=ConstantMu(10.0),
        liquid=AbsorptionDiffusivity(0.1, 200.0),
    )
    wall = slab(material, 0.4, Initial(rh=0.05, temperature=293.15), imposed=True)
    loads = held(DAY, (293.15, 1.0), (293.15, 0.05))
    ours = sound(run(wall, loads, cells={"slab": growing(1e-3, 1.05, 0.4)}))
    gained = water(ours) - water(ours)[0]
    line = gained[-1] * np.sqrt(np.arange(DAY + 1) / DAY)
    assert np.abs(gained - line)[2:].max() <= 0.01 * gained[-1]


def test_rain_and_hot_sun_in_turn_on_brick() -> None:
    """Case 3: three hours of rain, three of sun, ten days long."""
    hours = 10 * DAY
    wall = brick()
    calm = (8.0, 8.0 * LEWIS)
    loads = held(hours, (293.15, 0.7), (294.15, 0.5), outdoor_coefficients=calm)
    turn = np.arange(hours) % 6 < 3
    sky = 0.9 * 5.670374e-8 * 283.15**4
    loads.outside.radiation[:] = sky + np.where(turn, 0.0, 700.0)
    loads.outside.rain[:] = np.where(turn, 3.0 / 3600.0, 0.0)
    ours = sound(run(wall, loads))
    outer = ours.rh[1:, 0].reshape(-1, 6)
    assert (outer.max(axis=1) > 0.999).all()
    assert ours.T[:, 0].max() > 303.15
    absorbed = ours.ledger.rain_absorbed
    assert absorbed[turn].sum() > 1.0
    assert absorbed[~turn].sum() == pytest.approx(0.0, abs=1e-12)


def winter_and_spring() -> tuple[Wall, Loads, int]:
    """Sixty days of frost, sixty of thaw; 21 °C and 60 % inside, no vapour control."""
    parts = (
        layer("cladding", "fibre-cement", 0.008),
        sheet("barrier", "membrane-1-perm"),
        replace(layer("wool", "mineral-wool-board", 0.15, 0.6), film=100.0),
        layer("board", "gypsum-board", 0.013, 0.5),
    )
    wall = Wall("no vapour control", parts, outside=Outside(emissivity=0.0))
    winter = 60 * DAY
    T = np.where(np.arange(2 * winter + 1) <= winter, 253.15, 285.15)
    p = 0.8 * saturation_pressure(T, over="iso13788")
    inside = 0.6 * saturation_pressure(np.array([294.15]), over="water")[0]
    loads = constant_loads(2 * winter, (253.15, 1.0), (294.15, inside))
    loads.outside.temperature[:], loads.outside.vapour_pressure[:] = T, p
    return wall, loads, winter


def test_condensate_and_ice_in_wool_melt_in_spring_and_none_is_lost() -> None:
    """Case 4: what came through the two faces is in the wall, frozen or not, to round-off."""
    wall, loads, winter = winter_and_spring()
    ours = sound(run(wall, loads))
    x, wool = ours.grid.thickness, ours.grid.layer == 1
    ice = (ours.ice * x)[:, wool].sum(axis=1)
    free = wall.solids[1].material.w_free
    assert ice[winter] > 0.5
    assert ours.w[winter, wool].max() > 10 * free
    assert ice[winter + 5 * DAY] < 1e-3
    came = ours.ledger.vapour_outside + ours.ledger.vapour_inside
    change = water(ours) - water(ours)[0]
    # recorded states leave 1/80 of a step tolerance open: 2e-5 in u of each cell
    layers = wall.solids
    open_ = sum(4e-5 * item.thickness * item.material.w_max for item in layers)
    np.testing.assert_allclose(change[1:], np.cumsum(came), atol=open_)
    assert ours.ledger.drained.sum() == 0.0


def test_polyethylene_on_both_sides_keeps_wet_wood_wet() -> None:
    """Case 5: a sheet passes 60 ng/(s·m²·Pa)/1000; in a month at most 2 p_sat t / Z leaves."""
    wood = layer("wood", "softwood", 0.038, moisture_content=0.4, rh=0.8)
    sheets = tuple(sheet(f"sheet {side}", "polyethylene-150um") for side in ("out", "in"))
    wall = Wall("wrapped", (sheets[0], wood, sheets[1]), outside=Outside(emissivity=0.0))
    hours = 30 * DAY
    clock = np.arange(hours + 1)
    loads = held(hours, (293.15, 0.5), (293.15, 0.5))
    loads.outside.temperature[:] += 10 * np.sin(2 * np.pi * clock / DAY)
    ours = sound(run(wall, loads))
    permeance = float(get("polyethylene-150um").permeance.permeance(0.5))
    most = 2 * permeance * saturation_pressure(np.array([308.15]), over="water")[0] * hours * 3600
    assert abs(water(ours)[-1] - water(ours)[0]) <= most
    assert water(ours)[-1] == pytest.approx(water(ours)[0], rel=5e-3)


def test_tight_membrane_between_open_neighbours() -> None:
    """Case 6: 0.2 mm of 1e5 times the resistance of what stands beside it."""
    open_layer = get("mineral-wool-board")
    beside = 0.1 / float(open_layer.vapour.permeability(0.5))
    tight = SheetMaterial("tight", "tight", "test", SheetConstant(1 / (1e5 * beside)))
    parts = (
        layer("outer", "mineral-wool-board", 0.1, 0.5),
        Membrane(tight, name="tight"),
        layer("inner", "mineral-wool-board", 0.1, 0.5),
    )
    wall = Wall("tight", parts, outside=Outside(emissivity=0.0))
    ours = sound(run(wall, held(20 * DAY, (283.15, 0.8), (294.15, 0.5))))
    p = saturation_pressure(np.array([283.15, 294.15]), over="iso13788") * (0.8, 0.5)
    # in the steady state all of the drop stands across the membrane but 1e-5 of it and the films
    np.testing.assert_allclose(ours.interface_p[-1, 1], p, rtol=1e-3)


def test_windy_gap_beside_foam() -> None:
    """Case 7: 10 mm with 300 air changes per hour; its air is nearly outdoor air."""
    parts = (
        layer("cladding", "fibre-cement", 0.008),
        Gap("gap", 0.010, 300.0),
        layer("foam", "xps", 0.1),
        layer("board", "gypsum-board", 0.013, 0.5),
    )
    wall = Wall("windy gap", parts, outside=Outside(emissivity=0.0))
    loads = held(10 * DAY, (268.15, 0.8), (294.15, 0.5))
    loads = replace(loads, gap_rate=np.full((10 * DAY, 1), 300 * 0.010 / 3600))
    ours = sound(run(wall, loads))
    # 26 K and U = 0.3 bring 8 W/m², the air takes 1 W/(m²·K) and the cladding at least 2 more
    assert 0.0 < ours.gap_T[-1, 0] - 268.15 < 8.0 / 3.0
    p = 0.8 * saturation_pressure(np.array([268.15]), over="iso13788")[0]
    assert ours.gap_p[-1, 0] == pytest.approx(p, rel=0.05)


def test_deep_frost_and_sun_heated_dark_cladding() -> None:
    """Case 8: -46 °C nights; then sun that brings a dark thin cladding to 60 °C."""
    hours = 10 * DAY
    wall = replace(framed(), outside=Outside(emissivity=0.0, absorptance=0.95, convection=8.0))
    loads = held(hours, (227.15, 0.7), (294.15, 0.4), outdoor_coefficients=(8.0, 5.6e-8), gaps=1)
    half = hours // 2
    loads.outside.temperature[half:] = 298.15
    loads.outside.vapour_pressure[half:] = 1500.0
    sun = np.maximum(np.sin(2 * np.pi * (np.arange(half) - 6) / DAY), 0.0)
    loads.outside.radiation[half:] = 500.0 * sun
    ours = sound(run(wall, loads))
    # 67 K and U = 0.3 bring 20 W/m², which 8 W/(m²·K) carry off with 2.5 K
    assert ours.T[half - 1].min() < 227.15 + 2.5
    assert ours.T[:, 0].max() > 333.15


@pytest.mark.parametrize("jump", [15.0, -15.0])
def test_weather_that_jumps_15_kelvin_in_an_hour(jump: float) -> None:
    """Case 9."""
    loads = held(3 * DAY, (275.15, 0.9), (294.15, 0.5), gaps=1)
    T = loads.outside.temperature
    T[30:] += jump
    loads.outside.vapour_pressure[30:] = 0.8 * saturation_pressure(T[30:], over="iso13788")
    wall = replace(framed(), outside=Outside(emissivity=0.0))
    sound(run(wall, loads))


@pytest.mark.slow
def test_thirty_years_in_one_run() -> None:
    """Case 10."""
    wall = framed()
    year = build_loads(wall, season(0, 8760), Constant(294.15, 0.45))
    ours = sound(run(wall, repeat_loads(year, 30), Settings(accuracy="draft")))
    late = water(ours)[-8760:] - water(ours)[-2 * 8760 : -8760]
    assert np.abs(late).max() <= 1e-3 * water(ours).max()


def test_three_years_in_one_run_settle() -> None:
    """Case 10, short: the third year repeats the second within 1 % of the water held."""
    wall = framed()
    year = build_loads(wall, season(0, 8760), Constant(294.15, 0.45))
    ours = sound(run(wall, repeat_loads(year, 3), Settings(accuracy="normal")))
    late = water(ours)[-8760:] - water(ours)[-2 * 8760 : -8760]
    assert np.abs(late).max() <= 0.01 * water(ours).max()


@pytest.mark.parametrize("tolerance", [1.0, 0.01])
def test_metal_sheet_that_holds_no_water_runs_from_any_start(tolerance: float) -> None:
    """Its humidity follows the air at once: nothing is lost, so no step may be refused for it."""
    metal = layer("metal", "aluminium-cladding", 0.002, 0.2)
    wall = Wall("metal", (metal,), outside=Outside(emissivity=0.0))
    sound(run(wall, held(DAY, (263.15, 0.9), (293.15, 0.6)), Settings(tolerance=tolerance)))


def test_air_leaking_to_a_tight_plastic_runs() -> None:
    parts = (
        layer("board", "fibre-cement", 0.008),
        layer("plastic", "pvc-rigid", 0.01, 0.66),
        sheet("paint", "latex-paint"),
    )
    leak = AirLeak("plastic", rate=2.5e-4, depth=0.002)
    wall = Wall("plastic", parts, outside=Outside(emissivity=0.0), leaks=Leaks(air=(leak,)))
    loads = held(DAY, (283.15, 0.8), (294.15, 0.5))
    sound(run(wall, replace(loads, source=np.full((DAY, 1), 2.5e-4))))


def test_wetting_in_frost_of_pores_without_room_beyond_free_saturation() -> None:
    """The benchmark materials are full at rh = 1; what does not fit has to wait outside."""
    parts = (
        layer("mortar", "hamstad5-mortar", 0.015, 0.6),
        layer("wool", "cork-board", 0.15, 0.6),
        layer("board", "fibre-cement", 0.006, 0.6),
    )
    wet = Wetting("mortar", 0.8, after=1)
    wall = Wall("full", parts, outside=Outside(emissivity=0.0), leaks=Leaks(wetting=(wet,)))
    source = np.zeros((DAY, 1))
    source[1] = 0.8 / 3600
    loads = replace(held(DAY, (244.15, 0.8), (294.15, 0.4)), source=source)
    ours = sound(run(wall, loads))
    assert ours.ledger.leak_rain.sum() == pytest.approx(0.8, rel=1e-12)


def test_march_that_cannot_go_on_names_place_and_time() -> None:
    """A least step of an hour cannot follow a flood of sun; the error says where and when."""
    wall = Wall("stuck", (Layer(get("osb"), 0.011, name="board"),), outside=Outside(emissivity=0.0))
    loads = cold_humid_loads(DAY)
    settings = Settings(tolerance=1e-6, min_step=60.0)
    with pytest.raises(SolveError, match=r"wall 'stuck'.*layer 'board'.*mm from outside"):
        run(wall, loads, settings)
