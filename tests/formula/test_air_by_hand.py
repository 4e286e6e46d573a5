"""Air through gaps, leaks and insulation, hour by hour, against formulas written out again here.

Pressures: ideal gases, ½ρv², handbook wind profile; Cp: Swami & Chandra 1988; channel: laminar flow
between plates, Blasius beyond, two openings in series; all from memory.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from feature_walls import frame
from real_walls import STILL, plain, surface, typical
from scipy.optimize import brentq
from test_loads_by_hand import ROUND, climate, loads

from hygro.errors import InputError
from hygro.room.models import Constant
from hygro.wall.air import Hours, gap_rate_of, leak_pressures, leak_rate
from hygro.wall.elements import Gap, Layer, Openings, Washing
from hygro.wall.flow import (
    Exposure,
    Leakage,
    air_density,
    leak_flow,
    leakage_from_test,
    pressure_coefficient,
    wall_pressures,
)
from hygro.wall.gap_flow import GapGeometry, GapWeather, driving_pressure, pressure_loss
from hygro.wall.leaks import AirLeak
from hygro.wall.loads import build_loads, radiation_constant
from hygro.wall.surfaces import Outside
from hygro.wall.wall import Wall
from hygro.wall.washing import washed, washing_rate

R_AIR, R_VAPOUR, P, G = 287.06, 461.5, 101325.0, 9.81
MU = 1.8e-5


def rho(T: float, p: float = 0.0) -> float:
    """Dry air and vapour, each an ideal gas. [kg/m³]"""
    return (P - p) / (R_AIR * T) + p / (R_VAPOUR * T)


def cp(angle: float, ratio: float = 1.0) -> float:
    """The printed regression, written out. [-]"""
    a, g = math.radians(angle), math.log(ratio)
    told = (
        1.248 - 0.703 * math.sin(a / 2) - 1.175 * math.sin(a) ** 2
        + 0.131 * math.sin(2 * a * g) ** 3 + 0.769 * math.cos(a / 2)
        + 0.07 * g**2 * math.sin(a / 2) ** 2 + 0.717 * math.cos(a / 2) ** 2
    )  # fmt: skip
    return 0.6 * math.log(told) / math.log(2.734)


def one_hour(T_o: float, T_i: float, wind: float = 0.0, direction: float = 0.0) -> Hours:
    return Hours(
        time=np.array(["2001-01-01T01"], dtype="datetime64[ns]"),
        outside=surface(T_o, 200.0, 25.0, 1e-7),
        inside=surface(T_i, 900.0, 8.0, 1e-8),
        wind=np.array([wind]),
        direction=np.array([direction]),
    )


def test_wind_pressure_coefficient_of_a_hand_worked_angle() -> None:
    # 45°: 1.248 − 0.2690 − 0.5875 + 0.7105 + 0.6120 = 1.7139; 0.6·ln 1.7139/ln 2.734 = 0.3214
    assert float(pressure_coefficient(45.0)) == pytest.approx(0.3214, abs=1e-4)


@pytest.mark.parametrize("ratio", [0.5, 1.0, 3.0])
@pytest.mark.parametrize("angle", [0.0, 30.0, 60.0, 100.0, 150.0, 180.0])
def test_wind_pressure_coefficient_is_the_printed_regression(angle: float, ratio: float) -> None:
    found = pressure_coefficient(np.array([angle, -angle]), side_ratio=ratio)
    assert found == pytest.approx([cp(angle, ratio)] * 2, rel=1e-12)


def test_leak_of_constant_coefficient_sums_stack_wind_and_fan() -> None:
    leak = AirLeak("sheathing", permeance=2e-5, height=4.0, fan_pressure=1.5,
                   wind_coefficient=0.3, exponent=0.8)  # fmt: skip
    hour = one_hour(263.15, 293.15, wind=6.0)
    # heavier cold air outside drives room air out above the neutral plane; wind pushes inward
    pressure = (rho(263.15) - rho(293.15)) * G * 4.0 - 0.5 * rho(263.15) * 0.3 * 36.0 + 1.5
    assert leak_pressures(typical(), leak, hour)[0] == pytest.approx(pressure, rel=1e-9)
    expected = math.copysign(2e-5 * abs(pressure) ** 0.8, pressure)
    assert leak_rate(typical(), leak, hour)[0] == pytest.approx(expected, rel=1e-9)
    strong = one_hour(263.15, 293.15, wind=12.0)
    assert leak_rate(typical(), leak, strong)[0] < 0.0


def test_leak_in_the_wind_profile_of_a_city() -> None:
    leak = AirLeak("sheathing", permeance=2e-5, height=3.0, fan_pressure=2.0,
                   building_height=12.0, terrain="city")  # fmt: skip
    wall = typical(azimuth=90.0)
    # station: exponent 0.14 below 270 m at 10 m; city: 0.33 below 460 m
    speed = 7.0 * (270.0 / 10.0) ** 0.14 * (12.0 / 460.0) ** 0.33
    for direction, angle in ((90.0, 0.0), (130.0, 40.0), (270.0, 180.0)):
        hour = one_hour(268.15, 293.15, 7.0, direction)
        wind = 0.5 * rho(268.15) * speed**2 * (-0.2 - cp(angle))
        expected = (rho(268.15) - rho(293.15)) * G * 3.0 + wind + 2.0
        assert leak_pressures(wall, leak, hour)[0] == pytest.approx(expected, rel=1e-9)


def test_parts_of_the_pressure_on_a_long_wall_in_a_suburb() -> None:
    place = Exposure(180.0, 2.0, 8.0, fan_pressure=3.0, indoor_coefficient=-0.1, side_ratio=2.0)
    found = wall_pressures(
        place, T_o=np.array([273.15]), T_i=np.array([293.15]),
        wind_speed=np.array([5.0]), wind_direction=np.array([235.0]),
    )  # fmt: skip
    speed = 5.0 * (270.0 / 10.0) ** 0.14 * (8.0 / 370.0) ** 0.22
    wind = 0.5 * rho(273.15) * speed**2 * (-0.1 - cp(55.0, 2.0))
    assert found.wind[0] == pytest.approx(wind, rel=1e-9)
    assert found.stack[0] == pytest.approx((rho(273.15) - rho(293.15)) * G * 2.0, rel=1e-9)
    assert found.total[0] == pytest.approx(found.stack[0] + wind + 3.0, rel=1e-9)


def test_moist_air_is_lighter_by_the_ratio_of_the_gas_constants() -> None:
    assert air_density(293.15, 2000.0) == pytest.approx(rho(293.15, 2000.0), rel=1e-9)


def test_a_test_point_fixes_the_flow_at_one_pascal() -> None:
    leak = leakage_from_test(2.0, unit="L/(s·m2)", pressure=64.0, exponent=0.5)
    # 2 L/s at 64 Pa: 0.25 L/s at 1 Pa
    assert leak.coefficient == pytest.approx(0.25e-3, rel=1e-12)
    assert leak_flow(Leakage(1e-3, 0.5), -9.0) == pytest.approx(-3e-3, rel=1e-12)


def test_leaks_follow_the_air_at_the_end_of_each_hour() -> None:
    leak = AirLeak("sheathing", permeance=1e-5, exponent=1.0)
    found = loads(leaks=[leak]).source[:, 0]
    # stack of 2.5 m at 5, 8, 10 °C outdoors and 21 °C indoors, no wind coefficient
    # in the thinner air of 100 m, p/p0 = (1 - 2.25577e-5 x 100)^5.2559
    thin = (1.0 - 2.25577e-3) ** 5.2559
    expected = [1e-5 * thin * (rho(T) - rho(294.15)) * G * 2.5 for T in (278.15, 281.15, 283.15)]
    np.testing.assert_allclose(found, expected, rtol=1e-9)


def test_radiation_constant_is_emissivity_times_that_of_a_black_body() -> None:
    wall = frame(outside=Outside(emissivity=0.8))
    assert radiation_constant(wall) == pytest.approx(0.8 * 5.670374419e-8, rel=1e-7)


# Two hours: sun, then a clear night; film coefficients 25 and 10 W/(m²·K).
T_O, P_O = np.array([283.15, 275.15]), np.array([700.0, 600.0])
SUN_AND_SKY = np.array([700.0, 250.0])
H_OUT, WIND = np.array([25.0, 10.0]), np.array([0.5, 2.0])
CHANNEL = Openings(0.012, 3.0, discharge=0.5, wind_coefficient=0.2, friction=True, blocked=0.25)


def channel_wall() -> Wall:
    cladding, inner = Layer(plain(0.5), 0.02, name="cladding"), Layer(plain(0.04), 0.1, name="in")
    outside = replace(STILL, emissivity=0.9)
    return Wall("channel", (cladding, Gap("gap", 0.019, CHANNEL), inner), outside=outside)


def channel_loss(u: float, density: float) -> float:
    """Two openings of 12 mm seen by a channel of 19 mm with a quarter blocked, 3 m of friction."""
    zeta = 2.0 * (0.019 * 0.75 / (0.5 * 0.012)) ** 2
    reynolds = density * abs(u) * 2 * 0.019 / MU
    factor = max(96.0 / reynolds, 0.3164 / reynolds**0.25)
    loss = (zeta + factor * 3.0 / (2 * 0.019)) * 0.5 * density * u**2
    return math.copysign(loss, u)


def channel_flow(hour: int) -> float:
    """Air through the channel per wall area: heat and pressure balance in one unknown. [m³/(s·m²)]

    Sol-air outside, film of 1/7 on both sides of the gap, room behind 0.13 m²·K/W.
    """
    T_o, p_o, T_i = T_O[hour], P_O[hour], 294.15
    T_sol = T_o + (SUN_AND_SKY[hour] - 0.9 * 5.670374e-8 * T_o**4) / H_OUT[hour]
    U_c = 1.0 / (0.5 * (1 / 25.0 + 1 / 10.0) + 1 / 7 + 0.02 / 0.5)
    U_w = 1.0 / (1 / 7 + 0.1 / 0.04 + 0.13)
    density = rho(T_o, p_o)

    def velocity(T: float) -> float:
        drive = 0.5 * density * WIND[hour] ** 2 * 0.2 + (density - rho(T, p_o)) * G * 3.0
        if abs(drive) < 1e-9:
            return 0.0
        size = brentq(lambda u: channel_loss(u, density) - abs(drive), 1e-9, 20.0, xtol=1e-14)
        return math.copysign(size, drive)

    def surplus(T: float) -> float:
        carried = density * 1006.0 * abs(velocity(T)) * 0.019 * 0.75 / 3.0
        return U_c * (T_sol - T) + U_w * (T_i - T) + carried * (T_o - T)

    T = brentq(surplus, T_o - 60.0, T_o + 60.0, xtol=1e-11)
    return abs(velocity(T)) / 3.0 * 0.019 * 0.75


def test_channel_flow_is_the_root_of_heat_and_pressure() -> None:
    ends = (np.array([*x]) for x in (T_O, P_O, H_OUT, 7e-9 * H_OUT))
    outside = replace(surface(*[0.0] * 4), **dict(zip(
        ("temperature", "vapour_pressure", "heat_coefficient", "vapour_coefficient"), ends,
        strict=True,
    )), radiation=SUN_AND_SKY, rain=np.zeros(2))  # fmt: skip
    inside = surface(294.15, 1000.0, 8.0, 1e-8)
    inside = replace(inside, temperature=np.full(2, 294.15))
    time = np.array(["2001-01-01T01", "2001-01-01T02"], dtype="datetime64[ns]")
    wall = channel_wall()
    gap = wall.gaps[0]
    found = gap_rate_of(wall, gap, Hours(time, outside, inside, WIND, np.zeros(2)))
    expected = [channel_flow(0), channel_flow(1)]
    # bisection of the engine to 1e-10 K; σ and the gas constants have six digits or more
    np.testing.assert_allclose(found, expected, rtol=1e-4)
    assert found[0] > 1.2 * found[1]


def test_driving_pressure_is_upward_for_wind_below_and_warm_or_moist_air_inside() -> None:
    gap = GapGeometry(0.02, 3.0, 0.01, 0.01)
    one = np.ones(1)
    case = GapWeather(273.15 * one, 500.0 * one, 273.15 * one, 293.15 * one, 4.0 * one)
    moist = driving_pressure(gap, case, 283.15 * one, 1200.0 * one)[0]
    outer = rho(273.15, 500.0)
    expected = 0.5 * outer * 16.0 * 0.1 + (outer - rho(283.15, 1200.0)) * G * 3.0
    assert moist == pytest.approx(expected, rel=1e-9)
    same = driving_pressure(gap, case, 283.15 * one)[0]
    assert same == pytest.approx(expected - (rho(283.15, 500.0) - rho(283.15, 1200.0)) * G * 3.0)


def test_losses_of_unequal_openings_and_turbulent_friction() -> None:
    gap = GapGeometry(0.05, 4.0, 0.02, 0.04, discharge=0.6)
    u = 1.5
    zeta = (0.05 / (0.6 * 0.02)) ** 2 + (0.05 / (0.6 * 0.04)) ** 2
    reynolds = 1.2 * u * 0.1 / MU  # 10 000, turbulent
    factor = 0.3164 / reynolds**0.25
    expected = (zeta + factor * 4.0 / 0.1) * 0.5 * 1.2 * u**2
    assert pressure_loss(gap, u, 1.2) == pytest.approx(expected, rel=1e-12)


def test_wind_washing_of_a_hand_worked_hour() -> None:
    washing = Washing(0.05, 1e-9, length=2.0, wind_coefficient=0.4)
    # ½·ρ·0.4·6² over 2 m, κ/μ times that, through 50 mm of 2 m
    pressure = 0.5 * rho(268.15) * 0.4 * 36.0
    expected = 1e-9 / MU * pressure / 2.0 * 0.05 / 2.0
    assert washing_rate(washing, wind=6.0, T=268.15) == pytest.approx(expected, rel=1e-9)


def test_the_washed_layer_keeps_its_thickness_and_the_permeability_given() -> None:
    wool = plain(0.04, air_permeability=1e-9)
    for given, used in ((None, 1e-9), (5e-9, 5e-9)):
        outer, plane, inner = washed(
            [Layer(wool, 0.12, name="wool", wind_washing=Washing(0.03, given))]
        )
        assert isinstance(plane, Gap)
        assert isinstance(plane.air_change, Washing)
        assert plane.air_change.permeability == used
        assert outer.thickness + plane.depth + inner.thickness == pytest.approx(0.12, abs=1e-12)
        assert outer.thickness == pytest.approx(0.03, abs=1e-12)


def test_air_change_of_each_hour_is_taken_as_given() -> None:
    changes = tuple(100.0 * k for k in range(1, 15))
    hours = one_hour(273.15, 293.15)._replace(wind=np.zeros(14))
    found = gap_rate_of(typical(), Gap("gap", 0.036, changes), hours)
    # 100 1/h · 36 mm / 3600 s
    np.testing.assert_allclose(found, 1e-3 * np.arange(1, 15), rtol=ROUND)


def test_air_flow_of_each_hour_is_taken_as_given() -> None:
    room = Constant(294.15, 0.5)
    found = build_loads(frame(air_flow=(1e-4, -2e-4, 0.0)), climate(), room)
    assert found.air.tolist() == [1e-4, -2e-4, 0.0]
    with pytest.raises(InputError, match="air flow has 2 values"):
        build_loads(frame(air_flow=(1e-4, 2e-4)), climate(), room)
