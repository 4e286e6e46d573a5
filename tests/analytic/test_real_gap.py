"""The ventilated gap, wind washing and the worst path in steady state against hand networks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from real_walls import BETA_IN, BETA_OUT, H_IN, H_OUT, STILL, air_like, plain, steady_loads

from hygro.constants import GAS_CONSTANT_VAPOUR, HEAT_CAPACITY_AIR, STEFAN_BOLTZMANN
from hygro.record import simulate_loads
from hygro.wall.air import Hours, gap_rate_of
from hygro.wall.elements import Gap, Layer, Openings, Washing
from hygro.wall.interruptions import Joints
from hygro.wall.joints import joint_resistances, worst_path
from hygro.wall.loads import LEWIS
from hygro.wall.wall import Wall

T_O, T_I = 268.15, 294.15
P_O, P_I = 320.0, 500.0  # below saturation everywhere
A, B = 0.02, 0.10
K_A, K_B = 0.3, 0.04
D_A, D_B = 5e-12, 2e-11
AIR = 1.2 * (293.15 / T_O) * HEAT_CAPACITY_AIR  # outdoor air, 1.2 kg/m³ at 20 °C
"""Heat of air per volume in the run. [J/(m³·K)]"""
HOURS = 24 * 40


def gap_wall(depth: float = 0.02) -> Wall:
    return Wall(
        "gap",
        (
            Layer(plain(K_A, D_A, w_free=0.2), A, name="outer"),
            Gap("gap", depth),
            Layer(plain(K_B, D_B, w_free=0.2), B, name="inner"),
        ),
        outside=STILL,
    )


def heat_network(rate: float, depth: float) -> np.ndarray:
    """Temperatures of outer surface, faces of the gap, gap air, inner surface. [K]

    Convection on each face twice max(1.25, 0.025/d); grey planes of emissivity 0.9.
    """
    h = 2.0 * max(1.25, 0.025 / depth)
    grey = STEFAN_BOLTZMANN / (2.0 / 0.9 - 1.0)
    links = [(0, 1, K_A / A), (1, 3, h), (2, 3, h), (2, 4, K_B / B)]
    T = np.linspace(T_O, T_I, 5)
    for _ in range(50):
        r = grey * (T[1] ** 2 + T[2] ** 2) * (T[1] + T[2])
        M, right = np.zeros((5, 5)), np.zeros(5)
        for i, j, G in [*links, (1, 2, r)]:
            M[i, i] += G
            M[j, j] += G
            M[i, j] -= G
            M[j, i] -= G
        for i, G, T_known in ((0, H_OUT, T_O), (3, AIR * rate, T_O), (4, H_IN, T_I)):
            M[i, i] += G
            right[i] += G * T_known
        T = np.linalg.solve(M, right)
    return T


@pytest.mark.parametrize("rate", [0.0, 2e-4, 5e-3])
def test_ventilated_gap_settles_at_the_hand_network(rate: float) -> None:
    ds = simulate_loads(
        gap_wall(), steady_loads(HOURS, (T_O, P_O), (T_I, P_I), rates=(rate,))
    ).isel(time=-1)
    T = heat_network(rate, 0.02)
    # 0.02 K: radiation takes the temperatures of the cells at the faces, and vapour carries a
    # little enthalpy that the network leaves out.
    assert float(ds["gap_temperature"][0]) == pytest.approx(T[3], abs=0.02)
    assert ds["interface_temperature"].values[1] == pytest.approx(T[1:3], abs=0.02)
    # Vapour: two series of resistances meet in the gap air, which outdoor air replaces.
    film = 1.0 / (LEWIS * 2.5)
    to_out = 1.0 / BETA_OUT + A / D_A + film
    to_in = 1.0 / BETA_IN + B / D_B + film
    renewed = rate / (GAS_CONSTANT_VAPOUR * T_O)
    p = (P_O / to_out + P_I / to_in + renewed * P_O) / (1.0 / to_out + 1.0 / to_in + renewed)
    # 0.1 %: the run is some 40 times as long as the slowest layer takes to settle.
    assert float(ds["gap_vapour_pressure"][0]) == pytest.approx(p, rel=1e-3)


def test_full_mixing_makes_the_gap_outdoor_air() -> None:
    ds = simulate_loads(gap_wall(), steady_loads(48, (T_O, P_O), (T_I, P_I), rates=(10.0,))).isel(
        time=-1
    )
    # At 10 m³/(s·m²) the air renews ten thousand times as fast as the faces warm it.
    assert float(ds["gap_temperature"][0]) == pytest.approx(T_O, abs=0.01)
    assert float(ds["gap_vapour_pressure"][0]) == pytest.approx(P_O, abs=0.1)


def test_gap_without_air_change_insulates_like_convection_and_radiation_in_parallel() -> None:
    ds = simulate_loads(gap_wall(), steady_loads(HOURS, (T_O, P_O), (T_I, P_O), rates=(0.0,))).isel(
        time=-1
    )
    s1, s2 = ds["interface_temperature"].values[1]
    r = STEFAN_BOLTZMANN / (2.0 / 0.9 - 1.0) * (s1**2 + s2**2) * (s1 + s2)
    R = A / K_A + 1.0 / H_OUT + 1.0 / H_IN + B / K_B + 1.0 / (max(1.25, 0.025 / 0.02) + r)
    flux = -float(ds["heat_flux"].values[0])
    # 0.3 %: radiation from cell temperatures, and the enthalpy of vapour still moving.
    assert flux == pytest.approx((T_I - T_O) / R, rel=3e-3)


def test_wind_washing_cools_the_plane_as_the_hand_balance_says() -> None:
    wool = replace(air_like(0.036), air_permeability=2e-9)
    wall = Wall("wool", (Layer(wool, 0.12, name="wool"),), outside=STILL)
    layer = Layer(wool, 0.12, name="wool", wind_washing=Washing(0.03))
    washed = Wall("wool", (layer,), outside=STILL)
    assert [e.name for e in washed.layers] == ["wool, washed", "wool, air plane", "wool"]
    assert washed.thickness == pytest.approx(wall.thickness)
    rate = 4e-4
    loads = steady_loads(24 * 20, (T_O, P_O), (T_I, P_O), rates=(rate,))
    ds = simulate_loads(washed, loads).isel(time=-1)
    G1 = 1.0 / (1.0 / H_OUT + 0.03 / 0.036)
    G2 = 1.0 / (1.0 / H_IN + 0.089 / 0.036)
    plane = ((G1 + AIR * rate) * T_O + G2 * T_I) / (G1 + AIR * rate + G2)
    # 0.1 K: the plane itself has 0.001 m²·K/W on the way of some 9 W/m².
    assert float(ds["gap_temperature"][0]) == pytest.approx(plane, abs=0.1)
    still = (G1 * T_O + G2 * T_I) / (G1 + G2)
    assert plane < still - 1.0


def test_washing_plane_without_wind_changes_nothing() -> None:
    wool = replace(air_like(0.036), air_permeability=2e-9)
    wall = Wall("wool", (Layer(wool, 0.12, name="wool"),), outside=STILL)
    layer = Layer(wool, 0.12, name="wool", wind_washing=Washing(0.03))
    washed = Wall("wool", (layer,), outside=STILL)
    flux = [
        float(simulate_loads(w, steady_loads(24 * 20, (T_O, P_O), (T_I, P_O), rates=rates))
              .isel(time=-1)["heat_flux"].values[0])
        for w, rates in ((wall, ()), (washed, (0.0,)))
    ]  # fmt: skip
    # 1 %: the plane replaces 1 mm of 120 by 0.001 m²·K/W, 0.027 of 3.5 m²·K/W.
    assert flux[1] == pytest.approx(flux[0], rel=0.01)
    assert isinstance(washed.gaps[0].air_change, Washing)


def test_worst_path_settles_at_the_series_resistance_through_the_joint() -> None:
    board = plain(0.03, 1e-12)
    joints = Joints(width=0.004, spacing=0.6, layers=2)
    wall = Wall(
        "joint",
        (
            Layer(board, 0.10, name="boards", joints=joints),
            Layer(plain(0.13), 0.012, name="sheathing"),
        ),
        outside=STILL,
    )
    R = joint_resistances(wall, "boards").worst
    path = worst_path(wall)
    ds = simulate_loads(path, steady_loads(24 * 30, (T_O, P_O), (T_I, P_O))).isel(time=-1)
    total = 1.0 / H_OUT + R + 0.012 / 0.13 + 1.0 / H_IN
    face = T_O + (T_I - T_O) * (1.0 / H_OUT + R) / total
    found = ds["interface_temperature"].values[list(ds["interface_name"].values).index(
        "boards | sheathing"
    ), 1]  # fmt: skip
    # 0.05 K: enthalpy of the little vapour that still moves.
    assert found == pytest.approx(face, abs=0.05)
    # Half of the boards is left on the worst path of two staggered layers.
    assert 0.05 / 0.03 < R < 0.10 / 0.03


def test_openings_ventilate_by_wind_as_the_orifice_formula_says() -> None:
    wall = gap_wall()
    openings = Openings(area=0.01, height=2.5)
    elements = (wall.layers[0], Gap("gap", 0.02, openings), wall.layers[2])
    loads = steady_loads(24, (T_O, P_O), (T_O, P_O), rates=(0.0,))
    loads = replace(loads, wind=np.full(24, 4.0))
    ds = simulate_loads(replace(wall, layers=elements), loads)
    # Δp = ½·ρ·0.1·4²; two equal openings in series pass Cd·A/√2·√(2Δp/ρ): ρ cancels.
    flow = 0.61 * 0.01 / np.sqrt(2.0) * np.sqrt(0.1 * 16.0) / 2.5
    # 0.1 %: vapour of the gap adds its lightness.
    assert float(ds["gap_air_change"][-1, 0]) == pytest.approx(flow / 0.02 * 3600.0, rel=1e-3)


def hours_of_wind(speed: float) -> Hours:
    return Hours(
        time=np.array(["2001-01-01T01"], dtype="datetime64[ns]"),
        outdoor=np.array([[T_O, P_O, H_OUT, BETA_OUT]]),
        indoor=np.array([[T_O, P_O, H_IN, BETA_IN]]),
        radiation=np.zeros(1),
        wind=np.array([speed]),
        direction=np.zeros(1),
    )


def channel_rate(area: float, depth: float, blocked: float = 0.0) -> float:
    gap = Gap("gap", depth, Openings(area, 2.5, blocked=blocked, friction=True))
    wall = gap_wall()
    wall = replace(wall, layers=(wall.layers[0], gap, wall.layers[2]))
    return float(gap_rate_of(wall, gap, hours_of_wind(4.0))[0])


def test_channel_with_small_openings_in_a_deep_gap_is_the_orifice_formula() -> None:
    orifice = 0.61 * 0.001 / np.sqrt(2.0) * np.sqrt(0.1 * 16.0) / 2.5
    # 0.2 %: laminar friction takes 12·μ·H·u/d², 0.0024 of 1.05 Pa, and the flow goes by the root.
    assert channel_rate(0.001, 0.05) == pytest.approx(orifice, rel=2e-3)


def test_friction_of_a_narrow_gap_lets_less_through_than_its_openings() -> None:
    depth, area = 0.01, 0.01
    u = channel_rate(area, depth) / depth * 2.5
    rho = 101325.0 / (287.06 * T_O)
    # Laminar between plates 12·μ·H·u/d² (Re below 2000 here), and both openings ½·ρ·(u·d/(Cd·A))².
    assert rho * u * 2 * depth / 1.8e-5 < 2000.0
    lost = 12 * 1.8e-5 * 2.5 * u / depth**2 + 2 * 0.5 * rho * (u * depth / (0.61 * area)) ** 2
    # 0.2 %: density without the vapour.
    assert lost == pytest.approx(0.5 * rho * 0.1 * 16.0, rel=2e-3)
    assert channel_rate(area, depth, blocked=0.2) < channel_rate(area, depth)
