"""The coupled references: similarity solution, independent finite volumes, manufactured sources."""

from __future__ import annotations

import math
import sys
import tomllib
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from hygro.proof.references import benchmark_material as concrete
from hygro.proof.references import manufactured, series, uptake
from hygro.proof.references.step_similarity import StepCase, solve_step

CASES = Path(__file__).parents[2] / "cases"
sys.path.insert(0, str(CASES))

import reference_case as rc  # noqa: E402
import reference_fv as fv  # noqa: E402

DAY = 86400.0


@cache
def step_solution():
    return solve_step(StepCase(), tolerance=1e-6)


def concrete_run(first, growth, depth, days):
    """Finite volumes of the benchmark; far end closed."""
    data = tomllib.loads((CASES / "en15026_step" / "case.toml").read_text())
    row = fv.material_row(data["material"]["concrete"])
    width = fv.graded(depth, first=first, growth=growth, largest=0.5, both=False)
    sides = fv.Side(imposed=True), fv.Side(1e-9, 0.0)
    wall = fv.Wall(width, np.zeros(width.size, dtype=int), row[None], *sides)
    start = np.tile([293.15, math.log(fv.suction_of_humidity(0.5))], width.size)
    face = [303.15, 0.95 * fv.saturation(303.15), 293.15, 0.0, 0.0]
    loads = np.array([[0.0, *face], [4e7, *face]])
    times = np.array([0.0, *days]) * DAY
    return fv.integrate(wall, start, loads, times, rtol=1e-7)


def test_similarity_solution_meets_both_states():
    temperature, content = step_solution().at(np.array([0.0, 19.0]), 30 * DAY)
    np.testing.assert_allclose(temperature, [303.15, 293.15], atol=1e-8)
    worked = [129.0395, 42.9439]
    # retention at 0.95 and 0.50, worked to four decimals with R_v = 461.5
    np.testing.assert_allclose(content, worked, atol=1e-3)


def test_finite_volumes_converge_to_the_similarity_solution_in_second_order():
    errors = []
    for first, growth in ((2e-4, 1.08), (1e-4, 1.04), (5e-5, 1.02)):
        run = concrete_run(first, growth, 20.0, (7.0, 30.0))
        rows = []
        for k in (1, 2):
            temperature, content = step_solution().at(run.position, run.time[k])
            rows.append(
                [
                    np.abs(content - run.content[k]).max(),
                    np.abs(temperature - run.temperature[k]).max(),
                ]
            )
        errors.append(np.max(rows, axis=0))
    order = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    # two independent methods: halving the cells quarters the difference in w
    assert np.all(order[:, 0] > 1.8), order
    # of the size the second-order error has at 0.1 mm cells; temperature far below
    assert errors[-1][0] < 0.03
    assert errors[-1][1] < 2e-4


def test_finite_volume_profiles_fall_on_one_curve_over_the_root_of_time():
    run = concrete_run(5e-5, 1.02, 20.0, (7.5, 30.0))
    place = np.linspace(0.002, 0.03, 15)
    late = np.interp(place, run.position, run.content[2])
    early = np.interp(0.5 * place, run.position, run.content[1])
    # four times the time, twice the depth; the grid error of the early profile is 0.03
    np.testing.assert_allclose(early, late, atol=0.04)


def test_finite_volumes_reproduce_the_fourier_solution_without_heat_of_evaporation():
    """A huge film and conductivity hold 20 °C; D constant."""
    data = rc.read_case(CASES / "hamstad_2")
    data["material"]["wall"]["conductivity"] = [1e7, 0.0]
    for side in ("outside", "inside"):
        data[side]["heat"] = 1e9
    width = fv.graded(0.2, first=5e-5, growth=1.05, largest=1e-3)
    wall, start = rc.build_wall(data, [width])
    times = np.array([0.0, 100.0, 300.0]) * 3600.0
    run = fv.integrate(wall, start, rc.constant_loads(data), times, rtol=1e-8)
    slab = {"thickness": 0.2, "diffusivity": 6e-10, "initial": 84.769}
    slab |= {"left": 19.536, "right": 30.506}
    for k in (1, 2):
        exact = series.slab_profile(run.position, times[k], **slab)
        # grid error 1 mm cells, and 5e-4 from the rounded end values
        np.testing.assert_allclose(run.content[k], exact, atol=0.01)


def uptake_run(cells):
    """March of ∂c/∂t = ∂(1000^(c-1) ∂c/∂x)/∂x over a uniform grid to t = 1: uptake and profile."""
    width = 1.0 / cells

    def rate(_, state):
        content = state[1:]  # the first entry is the uptake
        padded = np.concatenate([[2.0 - content[0]], content])
        flux = -(1000.0 ** (0.5 * (padded[1:] + padded[:-1]) - 1.0)) * np.diff(padded) / width
        flux = np.append(flux, 0.0)
        return np.concatenate([[flux[0]], -np.diff(flux) / width])

    run = solve_ivp(
        rate,
        (0.0, 1.0),
        np.zeros(cells + 1),
        method="LSODA",
        rtol=1e-7,
        atol=1e-9,
        lband=2,
        uband=2,
    )
    return run.y[0, -1], (np.arange(cells) + 0.5) * width, run.y[1:, -1]


def test_exponential_uptake_agrees_with_a_march_in_time():
    found = uptake.solve_exponential(1000.0)
    gained, centres, content = uptake_run(400)
    # 2.5 mm of a front at 0.64: the march smears the steep front over a few cells
    assert gained == pytest.approx(found.uptake, rel=5e-3)
    profile = np.interp(centres, found.depth, found.content, right=0.0)
    away = np.abs(centres - found.front) > 0.03
    np.testing.assert_allclose(content[away], profile[away], atol=0.01)


def test_air_flow_through_a_dry_wall_gives_the_exponential_temperature_profile():
    """Steady advection and conduction: θ ~ exp(G c x/λ) between imposed ends."""
    row = fv.material_row(
        {
            "saturation_content": 1e-9,
            "dry_heat_capacity": 1e5,
            "conductivity": [0.06, 0.0],
            "retention": [{"share": 1.0, "a": 1e-7, "n": 1.5, "m": 0.33}],
            "vapour": {"permeability": 1e-20},
            "liquid": {"kind": "none"},
        }
    )
    width = np.full(200, 1e-3)
    sides = fv.Side(1e9, 0.0), fv.Side(1e9, 0.0)
    wall = fv.Wall(width, np.zeros(200, dtype=int), row[None], *sides)
    start = np.tile([283.15, math.log(1e8)], 200)
    flow = 3e-4
    air = [293.15, 1e-6, 273.15, 1e-6, flow]
    loads = np.array([[0.0, *air], [4e7, *air]])
    run = fv.integrate(wall, start, loads, np.array([0.0, 5e5, 1e6]), rtol=1e-9)
    peclet = flow * 1006.0 / 0.06
    exact = 20.0 * (math.exp(peclet * 0.2) - np.exp(peclet * run.position))
    exact /= math.exp(peclet * 0.2) - 1.0
    # central differences with 1 mm cells: (Pe dx)²/12 of 20 K is 4e-5; the traces of vapour in
    # the retention term are below that
    np.testing.assert_allclose(run.temperature[-1] - 273.15, exact, atol=2e-3)


def test_finite_volumes_keep_all_water_in_a_closed_wall():
    data = rc.read_case(CASES / "hamstad_5")
    for side in ("outside", "inside"):
        data[side]["vapour"] = 0.0
    widths = [fv.graded(x, first=5e-4, growth=1.3, largest=6e-3) for x in (0.365, 0.015, 0.04)]
    wall, start = rc.build_wall(data, widths)
    times = np.array([0.0, 10.0, 60.0]) * DAY
    run = fv.integrate(wall, start, rc.constant_loads(data), times, rtol=1e-8)
    total = run.content @ wall.width
    # the state is not conserved form: mass closes with the time tolerance
    np.testing.assert_allclose(total, total[0], rtol=2e-6)
    assert np.abs(run.content[2] - run.content[0]).max() > 0.5  # it did move


def smooth_problem():
    """Nonlinear benchmark-like material with fields away from 0 °C and from saturation."""
    scale = 1000.0 * 461.5 * 293.15

    def content(humidity, temperature):
        del temperature
        return concrete.SATURATION / (1.0 + (-8e-8 * scale * np.log(humidity)) ** 1.6) ** 0.375

    def permeability(humidity, temperature):
        dry = 1.0 - content(humidity, temperature) / concrete.SATURATION
        factor = dry / (0.503 * dry**2 + 0.497)
        return 26.1e-6 / 200.0 / (461.5 * temperature) * factor

    def liquid(humidity, temperature):
        return 1e-17 * np.exp(0.02 * (content(humidity, temperature) - 73.0))

    def conductivity(humidity, temperature):
        return 1.5 + 0.0158 * content(humidity, temperature)

    material = manufactured.Material(content, permeability, liquid, conductivity, 1.824e6)
    return manufactured.Manufactured(
        temperature=lambda x, t: 293.15 + 6.0 * np.sin(9.0 * x + 0.3) * np.cos(t / 2e4),
        humidity=lambda x, t: 0.65 + 0.2 * np.cos(14.0 * x) * np.sin(t / 3e4 + 0.4),
        material=material,
        length=0.2,
        duration=1e5,
    )


def test_manufactured_sources_balance_storage_and_face_fluxes():
    """Gauss integral of the source over x and t = change of storage + net outflow."""
    problem = smooth_problem()
    ends, span = (0.02, 0.18), (1e4, 5e4)
    nodes, weights = np.polynomial.legendre.leggauss(30)

    def spread(low, high):
        return low + 0.5 * (high - low) * (nodes + 1.0), 0.5 * (high - low) * weights

    x, wx = spread(*ends)
    t, wt = spread(*span)
    made = [manufactured.sources(problem, x, time) for time in t]
    for part, stored in ((0, manufactured.water), (1, manufactured.enthalpy)):
        source = sum(w * np.sum(wx * row[part]) for w, row in zip(wt, made, strict=True))
        gain = np.sum(wx * (stored(problem, x, span[1]) - stored(problem, x, span[0])))
        faces = []
        for place in ends:
            if part == 0:
                flux = sum(manufactured.moisture_fluxes(problem, np.array(place), t))
            else:
                flux = manufactured.heat_flux(problem, np.array(place), t)
            faces.append(np.sum(wt * flux))
        # quadrature of 30 nodes is exact to round-off for these fields; the outer difference
        # is of eighth order with steps of 2 mm
        assert source == pytest.approx(gain + faces[1] - faces[0], rel=1e-8)


def test_manufactured_source_of_a_linear_medium_is_the_one_found_by_hand():
    """Constant λ, no moisture transport: s_h = (C + w c_w) ∂T/∂t - λ ∂²T/∂x²."""

    def constant(value):
        return lambda humidity, temperature: value + 0.0 * humidity * temperature

    medium = manufactured.Material(
        water_content=constant(40.0),
        vapour_permeability=constant(0.0),
        liquid_conductivity=constant(0.0),
        thermal_conductivity=constant(0.8),
        dry_capacity=1.5e6,
    )
    problem = manufactured.Manufactured(
        temperature=lambda x, t: 290.0 + 5.0 * np.sin(10.0 * x) * np.cos(t / 1e4),
        humidity=lambda x, t: 0.5 + 0.1 * np.cos(x) + 0.0 * t,
        material=medium,
        length=0.2,
        duration=1e5,
    )
    x, t = np.linspace(0.0, 0.2, 7), 2.3e4
    water, heat = manufactured.sources(problem, x, t)
    rate = -5.0 * np.sin(10.0 * x) * np.sin(t / 1e4) / 1e4
    bend = -500.0 * np.sin(10.0 * x) * np.cos(t / 1e4)
    by_hand = (1.5e6 + 40.0 * 4180.0) * rate - 0.8 * bend
    np.testing.assert_allclose(heat, by_hand, rtol=1e-9, atol=1e-7)
    np.testing.assert_allclose(water, 0.0, atol=1e-18)


def test_manufactured_source_does_not_depend_on_the_outer_step():
    problem = smooth_problem()
    x = np.linspace(0.01, 0.19, 9)
    wide, narrow = (manufactured.sources(problem, x, 2e4, step=step) for step in (0.02, 0.005))
    for a, b in zip(wide, narrow, strict=True):
        # eighth order: (9·0.004)^8 is 1e-12, rounding 1e-12 of the flux over 1 mm
        np.testing.assert_allclose(a, b, rtol=1e-7, atol=1e-9 * np.abs(a).max())
