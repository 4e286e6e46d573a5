"""Wind at the wall and the pressure of its air, by hand; 2240 m is that of a high city.

Standard atmosphere p = 101325 (1 - 2.25577e-5 h)^5.2559 (ASHRAE Fundamentals ch. 1, from memory):
at 2240 m 77 155 Pa, p0/p = 1.3133. Power law of wind and its table: ASHRAE Fundamentals ch. 24
(from memory).
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from plain_materials import plain
from real_walls import STILL, air_like, steady_loads

import hygro
from hygro.constants import STANDARD_PRESSURE
from hygro.errors import InputError
from hygro.material.vapour import thinner, through_air
from hygro.solve.kernels import arrays
from hygro.solve.march import run
from hygro.solve.setup import prepare
from hygro.solve.tables import material_table, sheet_table
from hygro.wall.air import Hours, gap_rate_of, leak_rate
from hygro.wall.elements import Gap, Layer, Openings, Washing
from hygro.wall.flow import Leakage, air_density, leak_at, stack_pressure
from hygro.wall.leaks import AirLeak
from hygro.wall.loads import boundary, build_loads
from hygro.wall.series import LEWIS, SurfaceLoads, constant_loads, repeat_loads
from hygro.wall.site import Site
from hygro.wall.wall import Wall
from hygro.wall.washing import washing_rate
from weather.moistair import standard_pressure

HIGH = 77154.65
THIN = 1.31327


def test_pressure_at_2240_m_is_that_of_the_standard_atmosphere():
    by_hand = 101325.0 * np.exp(5.2559 * np.log(1.0 - 2.25577e-5 * 2240.0))
    assert by_hand == pytest.approx(HIGH, abs=2.0)
    assert Site().air_pressure(2240.0) == pytest.approx(by_hand, rel=1e-9)
    assert thinner(HIGH) == pytest.approx(THIN, abs=1e-4)
    assert Site().air_pressure(None) == Site().air_pressure(0.0) == STANDARD_PRESSURE
    assert Site(pressure="772 hPa").air_pressure(0.0) == pytest.approx(77200.0)
    assert standard_pressure(0.0) == STANDARD_PRESSURE


@pytest.mark.parametrize(
    ("terrain", "height", "share"),
    # (270/10)^0.14 = 1.5863; times (5/370)^0.22 = 0.38795, (5/460)^0.33 = 0.22488, (10/270)^0.14
    [("suburban", 5.0, 0.6154), ("city", 5.0, 0.35673), ("open", 10.0, 1.0)],
)
def test_wind_at_the_wall_follows_terrain_and_height(terrain, height, share):
    site = Site(terrain=terrain, height=height)
    assert site.wind(6.0) == pytest.approx(6.0 * share, rel=2e-4)
    assert Site(shelter=0.5).wind(6.0) == 3.0
    half = dataclasses.replace(site, shelter=0.5)
    assert half.wind(6.0) == pytest.approx(3.0 * share, rel=2e-4)


def test_wind_of_the_file_stays_unless_asked():
    assert Site().wind(7.3) == 7.3
    (told,) = Site().notes(STANDARD_PRESSURE)
    assert "taken as that at the wall" in told
    told, air = Site(terrain="city", height=5.0).notes(HIGH)
    assert "0.357 of that of the weather file" in told
    assert "77.2 kPa" in air
    assert "1.31 times" in air


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"height": 5.0}, "terrain"),
        ({"terrain": "city"}, "height"),
        ({"terrain": "city", "height": 5000.0}, "100"),
        ({"terrain": "forest"}, "city"),
        ({"pressure": 772.0}, "hPa"),
        ({"terrain": "city", "shelter": 1.5}, "0 to 1"),
    ],
)
def test_a_site_that_cannot_be_is_refused(given, words):
    with pytest.raises(InputError, match=words):
        Site(**given)


def weather_at(altitude: float, year):
    return year.assign_attrs(altitude=altitude)


@pytest.fixture(scope="module")
def year():
    from pathlib import Path

    import weather
    from hygro.case.normals import read_normals

    normals = Path(__file__).parents[2] / "cases/demonstration/normals.toml"
    return weather.generate(read_normals(normals), seed=1, years=1)


def bare(**more) -> Wall:
    return Wall("w", (Layer(plain(), 0.1, name="board"),), **more)


def test_loads_carry_the_wind_at_the_wall_and_the_air_of_the_altitude(year):
    room = hygro.Constant(294.15, 0.4)
    low, high = (build_loads(bare(), weather_at(x, year), room) for x in (0.0, 2240.0))
    assert (low.pressure, high.pressure) == (STANDARD_PRESSURE, pytest.approx(HIGH, abs=2.0))
    # same heat, vapour transfer 7e-9 h p0/p (Lewis)
    assert np.array_equal(low.outside.heat_coefficient, high.outside.heat_coefficient)
    assert np.array_equal(low.outside.vapour_coefficient, LEWIS * low.outside.heat_coefficient)
    ratio = high.outside.vapour_coefficient / low.outside.vapour_coefficient
    assert ratio == pytest.approx(THIN, abs=1e-4)
    assert high.inside.vapour_coefficient[0] == pytest.approx(2.5 * 7e-9 * THIN, rel=1e-4)
    sheltered = bare(site=Site(terrain="city", height=5.0))
    found = build_loads(sheltered, weather_at(0.0, year), room)
    assert found.wind == pytest.approx(0.35673 * low.wind, rel=2e-4)
    expected = 4.0 + 0.35673 * (low.outside.heat_coefficient - 4.0)
    assert found.outside.heat_coefficient == pytest.approx(expected, rel=2e-4)
    assert any("0.357 of that" in text for text in found.assumptions)
    assert any("taken as that at the wall" in text for text in low.assumptions)


def test_loads_keep_their_pressure_wherever_they_go(year):
    wall = bare()
    loads = build_loads(wall, weather_at(2240.0, year), hygro.Constant(294.15, 0.4))
    assert boundary(loads.to_dataset(), wall).pressure == loads.pressure
    assert repeat_loads(loads, 2).pressure == loads.pressure
    stripped = loads.to_dataset()
    del stripped.attrs["air_pressure"]
    assert boundary(stripped, wall).pressure == STANDARD_PRESSURE
    with pytest.raises(InputError, match="hPa"):
        dataclasses.replace(loads, pressure=772.0)
    with pytest.raises(InputError, match="air_pressure"):
        boundary(loads.to_dataset().assign_attrs(air_pressure="low"), wall)


def test_what_diffuses_through_air_opens_and_what_is_a_film_does_not():
    wool, ply = hygro.get_material("mineral-wool-board"), hygro.get_material("plywood")
    assert through_air(wool.vapour)
    assert not through_air(ply.vapour)
    low, high = (material_table(wool, p) for p in (STANDARD_PRESSURE, HIGH))
    changed = low != high
    assert changed.any()
    # resistances of the table that changed, all of them by p/p0 (also slopes of the cubics)
    assert high[changed] == pytest.approx(low[changed] / THIN, rel=1e-3)
    assert np.array_equal(material_table(ply, STANDARD_PRESSURE), material_table(ply, HIGH))
    paper, film = hygro.get_material("breather-membrane"), hygro.get_material("membrane-10-perm")
    # s_d 0.2 m: 0.2/2e-10 = 1e9 m²·s·Pa/kg at sea level
    assert sheet_table((paper,), HIGH)[0] == pytest.approx(1e9 / THIN, rel=1e-4)
    assert sheet_table((film,), HIGH)[0] == pytest.approx(1.0 / (10 * 57.2e-12), rel=1e-9)
    assert sheet_table((paper, film), HIGH)[0] == pytest.approx(
        1e9 / THIN + 1.0 / (10 * 57.2e-12), rel=1e-4
    )


def test_gap_faces_exchange_vapour_faster_in_thin_air():
    wall = Wall(
        "w",
        (Layer(plain(), 0.01, name="a"), Gap("gap", 0.025, 10.0), Layer(plain(), 0.01, name="b")),
    )
    loads = constant_loads(2, (273.15, 500.0), (293.15, 1000.0), gaps=1)
    heat, vapour = [], []
    for pressure in (STANDARD_PRESSURE, HIGH):
        gap = prepare(wall, dataclasses.replace(loads, pressure=pressure)).problem.gap.array
        heat.append(float(gap[0, arrays.H_SIDE, 0]))
        vapour.append(float(gap[0, arrays.BETA_SIDE, 0]))
    assert heat[0] == heat[1]
    assert vapour[0] == pytest.approx(LEWIS * heat[0])
    assert vapour[1] == pytest.approx(LEWIS * heat[0] * THIN, rel=1e-4)


def hours(pressure: float, wind: float = 4.0) -> Hours:
    one = np.ones(1)
    air = [
        SurfaceLoads(kelvin * one, 500.0 * one, 20.0 * one, 1e-7 * one, 0.0 * one, 0.0 * one)
        for kelvin in (263.15, 293.15)
    ]
    stamp = np.array(["2001-01-01T01"], dtype="datetime64[ns]")
    return Hours(stamp, air[0], air[1], wind * one, 0.0 * one, pressure)


def test_density_and_pressures_fall_with_the_air():
    # 77154.65/(287.06·293.15) = 0.91685 kg/m³ against 1.2041 at sea level
    assert air_density(293.15, pressure=HIGH) == pytest.approx(0.91685, abs=2e-5)
    # (1/253.15 - 1/293.15)·77154.65/287.06·9.81·3 = 4.2636 Pa
    assert stack_pressure(253.15, 293.15, 3.0, pressure=HIGH) == pytest.approx(4.2636, abs=0.0005)
    # n = 0.65: C rises by 1.31327^0.35 = 1.1001
    assert leak_at(Leakage(1e-5, 0.65), HIGH).coefficient == pytest.approx(1.1001e-5, rel=1e-4)
    assert leak_at(Leakage(1e-5, 0.65), STANDARD_PRESSURE).coefficient == 1e-5


def test_leaks_and_washing_follow_the_density():
    wall = bare()
    leak = AirLeak("board", permeance=2e-5, height=3.0)
    low, high = (leak_rate(wall, leak, hours(p))[0] for p in (STANDARD_PRESSURE, HIGH))
    # pressure by 1/1.31327, coefficient by 1.31327^0.35: flow by 1.31327^(0.35 - 0.65)
    assert high / low == pytest.approx(THIN ** (0.35 - 0.65), rel=1e-4)
    orifice = dataclasses.replace(leak, exponent=0.5)
    flows = [leak_rate(wall, orifice, hours(p))[0] for p in (STANDARD_PRESSURE, HIGH)]
    assert flows[0] == pytest.approx(flows[1], rel=1e-9)  # density cancels in an orifice
    washes = [
        washing_rate(Washing(0.03, 2e-9), wind=5.0, T=273.15, pressure=p)
        for p in (STANDARD_PRESSURE, HIGH)
    ]
    assert washes[0] / washes[1] == pytest.approx(THIN, rel=1e-4)


def test_wind_pressure_of_leak_and_gap_is_that_at_the_wall():
    site = Site(terrain="city", height=5.0)  # 0.35673 of the wind
    leak = AirLeak("board", permeance=2e-5, exponent=1.0, height=0.0, wind_coefficient=-0.5)
    still, open_ = (leak_rate(bare(site=s), leak, hours(101325.0))[0] for s in (site, Site()))
    assert still / open_ == pytest.approx(0.35673**2, rel=1e-3)
    gap = Gap("gap", 0.025, Openings(0.025, 3.0, friction=True, wind_coefficient=0.5))
    rates = []
    for given in (site, Site()):
        layers = (Layer(plain(), 0.01, name="a"), gap, Layer(plain(), 0.1, name="board"))
        rates.append(gap_rate_of(Wall("w", layers, site=given), gap, hours(101325.0))[0])
    assert 0.0 < rates[0] < rates[1]


def test_dry_cup_of_wool_passes_more_vapour_high_up():
    """Steady diffusion through 100 mm of wool between films, flux by hand at both pressures."""
    wool = hygro.get_material("mineral-wool-board")
    still = hygro.Outside(emissivity=0.0)
    wall = Wall("w", (Layer(wool, 0.1, name="wool"),), outside=still)
    found = []
    for pressure in (STANDARD_PRESSURE, HIGH):
        thin = STANDARD_PRESSURE / pressure
        loads = constant_loads(
            240,
            (293.15, 0.3 * 2337.0),
            (293.15, 0.6 * 2337.0),
            outdoor_coefficients=(25.0, 25.0 * LEWIS * thin),
            indoor_coefficients=(7.69, 2.5 * LEWIS * thin),
        )
        ds = hygro.simulate_loads(wall, dataclasses.replace(loads, pressure=pressure))
        found.append(-float(ds["moisture_flux"].values[-1, 0]))
        assert ds.attrs["air_pressure"] == pressure
        Z = 0.1 * 1.2 / 2e-10 + 1 / (25.0 * LEWIS) + 1 / (2.5 * LEWIS)
        assert found[-1] == pytest.approx(0.3 * 2337.0 / Z * thin, rel=2e-3)
    assert found[1] / found[0] == pytest.approx(THIN, rel=1e-3)


def gap_temperature(pressure: float, rate: float) -> float:
    """Air of a gap between two light, dry boards, after two days. [K]"""
    board = dataclasses.replace(air_like(0.1), heat_capacity=10.0)
    gap = Gap("gap", 0.02, 100.0, emissivity_outer=0.01, emissivity_inner=0.01)
    parts = (Layer(board, 0.02, name="outer"), gap, Layer(board, 0.02, name="inner"))
    wall = Wall("gap", parts, outside=STILL)
    loads = steady_loads(48, (263.15, 0.0), (293.15, 0.0), rates=(rate,))
    return float(run(wall, dataclasses.replace(loads, pressure=pressure)).gap_T[-1, 0])


@pytest.mark.parametrize(("pressure", "rate"), [(101325.0, 0.002), (HIGH, 0.002), (HIGH, 0.004)])
def test_thin_air_carries_less_heat_through_a_gap(pressure: float, rate: float) -> None:
    # network by hand, film + board + half of the gap on either side of its air: 1/25 + 0.02/0.1 +
    # 1/2.5 and 1/8 + 0.2 + 0.4 m²·K/W; exchange of 1.2 kg/m³ p/p0 at 20 °C, outdoor air heavier
    out, into = 1.0 / 0.64, 1.0 / 0.725
    exchange = rate * 1.2 * pressure / 101325.0 * 293.15 / 263.15 * 1006.0
    by_hand = (out * 263.15 + into * 293.15 + exchange * 263.15) / (out + into + exchange)
    # radiation across the gap at an emissivity of 0.01 is 0.02 W/(m²·K): 0.03 K
    assert gap_temperature(pressure, rate) == pytest.approx(by_hand, abs=0.05)
