"""Hand formulas of layered walls against printed tables."""

from __future__ import annotations

import numpy as np
import pytest

from hygro.errors import InputError
from hygro.quantities import R_IP
from hygro.wall.framing import (
    Path,
    framed_paths,
    isothermal_planes_resistance,
    parallel_path_resistance,
    resistance_bounds,
)
from hygro.wall.steady import (
    SteadyLayer,
    SteadyWall,
    condensing_plane,
    highest_indoor_rh,
    least_outboard_share,
    outboard_share,
    plane_index,
    plane_temperature,
    steady_state,
    total_resistance,
    u_value,
)
from weather.moistair import dew_point, saturation_pressure


def _kelvin(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8 + 273.15


def _fahrenheit(kelvin: float) -> float:
    return (kelvin - 273.15) * 1.8 + 32.0


# Dew-point ratio, 70 °F indoors, computed from (T_dp − T_o)/(T_i − T_o); columns 50 … −22 °F.
OUTDOOR_F = (50, 41, 32, 23, 14, 5, -4, -13, -22)
RATIO = {
    0.20: (27.1, (0, 0, 0, 0.09, 0.23, 0.34, 0.42, 0.48, 0.53)),
    0.25: (32.6, (0, 0, 0.02, 0.20, 0.33, 0.42, 0.49, 0.55, 0.59)),
    0.30: (37.2, (0, 0, 0.14, 0.30, 0.41, 0.50, 0.56, 0.60, 0.64)),
    0.35: (41.1, (0, 0, 0.24, 0.39, 0.48, 0.56, 0.61, 0.65, 0.69)),
    0.40: (44.6, (0, 0.12, 0.33, 0.46, 0.55, 0.61, 0.66, 0.69, 0.72)),
    0.50: (50.5, (0.03, 0.33, 0.49, 0.59, 0.65, 0.70, 0.74, 0.77, 0.79)),
    0.60: (55.5, (0.27, 0.50, 0.62, 0.69, 0.74, 0.78, 0.80, 0.83, 0.84)),
}


@pytest.mark.parametrize("rh", RATIO)
def test_dew_point_ratio_matches_the_table(rh):
    T_i = _kelvin(70.0)
    T_dew = float(dew_point(rh * saturation_pressure(T_i)))
    printed, ratios = RATIO[rh]
    # 0.15 °F: rounding of 0.05 and a saturation formula that the table does not name.
    assert _fahrenheit(T_dew) == pytest.approx(printed, abs=0.15)
    found = [least_outboard_share(T_o=_kelvin(T), T_i=T_i, T_dew=T_dew) for T in OUTDOOR_F]
    # 0.005 rounding plus 0.15 °F over 20 °F, the smallest denominator.
    np.testing.assert_allclose(found, ratios, atol=0.005 + 0.15 / 20.0)


def test_magazine_example_is_wet_with_seven_of_eighteen_and_dry_with_fourteen_of_twenty_five():
    # Printed in a trade magazine: 70 °F, 50 % RH, dew point 50 °F, 32 °F outdoors: 47 and 53 °F.
    for outer, total, printed in ((7.0, 18.0, 47.0), (14.0, 25.0, 53.0)):
        layers = (SteadyLayer("outer", outer, 0.0), SteadyLayer("cavity", total - outer, 0.0))
        wall = SteadyWall(layers, R_se=0.0, R_si=0.0)
        T = plane_temperature(wall, 2, T_o=_kelvin(32.0), T_i=_kelvin(70.0))
        # Half a degree: the article prints whole degrees.
        assert _fahrenheit(T) == pytest.approx(printed, abs=0.5)
        share = least_outboard_share(T_o=_kelvin(32.0), T_i=_kelvin(70.0), T_dew=_kelvin(50.0))
        assert (outboard_share(wall, 2) >= share) == (printed > 50.0)


# Inner face of sheathing [°C] and highest indoor RH [%] at −3, −8, −11, −21 °C outdoors and 21.1 °C
# indoors, computed as 1-D series: films and gypsum, cavity R-20, sheathing, gap,
# cladding and film R-0.77 (ft²·h·°F/Btu).
SHEATHING = {
    0: ((-1.5, 22), (-6.2, 15), (-9.0, 11), (-18.4, 5)),
    5: ((2.6, 29), (-1.2, 22), (-3.5, 18), (-11.2, 9)),
    7.5: ((4.1, 33), (0.6, 26), (-1.5, 22), (-8.5, 12)),
    11.25: ((6.0, 37), (2.9, 30), (1.0, 26), (-5.2, 16)),
    15: ((7.5, 42), (4.7, 34), (3.0, 30), (-2.6, 20)),
    20: ((9.1, 46), (6.6, 39), (5.1, 35), (0.2, 25)),
    30: ((11.4, 54), (9.4, 47), (8.2, 43), (4.2, 33)),
}
SHARE = {0: 0.0, 5: 0.20, 7.5: 0.27, 11.25: 0.36, 15: 0.43, 20: 0.50, 30: 0.60}


def _trade_wall(outer: float, cavity: float = 20.0) -> SteadyWall:
    layers = (
        SteadyLayer("cladding", 0.77 * R_IP, 1e9),
        SteadyLayer("outer", outer * R_IP, 1e9),
        SteadyLayer("sheathing", 0.62 * R_IP, 1e10),
        SteadyLayer("cavity", cavity * R_IP, 1e8),
        SteadyLayer("gypsum", 1.13 * R_IP, 1e9),
    )
    return SteadyWall(layers, R_se=0.0, R_si=0.0)


@pytest.mark.parametrize("outer", SHEATHING)
def test_sheathing_temperature_and_tolerable_rh_match_the_table(outer):
    wall = _trade_wall(outer)
    plane = plane_index(wall, "sheathing", "inner")
    for celsius, (T, rh) in zip((-3, -8, -11, -21), SHEATHING[outer], strict=True):
        T_o, T_i = celsius + 273.15, 21.1 + 273.15
        found = plane_temperature(wall, plane, T_o=T_o, T_i=T_i) - 273.15
        assert found == pytest.approx(T, abs=0.051)  # one printed decimal
        percent = 100.0 * highest_indoor_rh(wall, plane, T_o=T_o, T_i=T_i)
        # Whole per cent are printed, and the table leaves the saturation formula (ice) unnamed.
        assert percent == pytest.approx(rh, abs=0.6)


@pytest.mark.parametrize("outer", SHARE)
def test_outboard_share_counts_cavity_and_outer_only(outer):
    wall = _trade_wall(outer)
    plane = plane_index(wall, "outer", "inner")
    # 0.005: two printed decimals; 11.25/31.25 is 0.36 exactly.
    assert outboard_share(wall, plane, counted=("outer", "cavity")) == pytest.approx(
        SHARE[outer], abs=0.005
    )


def test_empty_cavity_keeps_the_sheathing_warm():
    # Computed: R-5 outside, nothing in the cavity, −8 °C: 16.7 °C, 76 % RH.
    wall = _trade_wall(5.0, cavity=0.0)
    plane = plane_index(wall, "sheathing", "inner")
    T = plane_temperature(wall, plane, T_o=265.15, T_i=294.25)
    assert pytest.approx(273.15 + 16.7, abs=0.051) == T  # one printed decimal
    rh = highest_indoor_rh(wall, plane, T_o=265.15, T_i=294.25)
    assert rh == pytest.approx(0.76, abs=0.006)  # whole per cent


def test_u_value_is_the_inverse_of_the_sum():
    wall = SteadyWall((SteadyLayer("a", 1.0, 1e9), SteadyLayer("b", 2.83, 1e9)))
    assert total_resistance(wall) == pytest.approx(4.0)
    assert u_value(wall) == pytest.approx(0.25)


def test_profile_runs_from_air_to_air_in_steps_of_resistance():
    wall = SteadyWall((SteadyLayer("a", 1.0, 3e9), SteadyLayer("b", 2.83, 1e9)))
    state = steady_state(wall, T_o=273.15, p_o=400.0, T_i=293.15, p_i=1200.0)
    np.testing.assert_allclose(state.temperature - 273.15, [0.0, 0.2, 5.2, 19.35, 20.0])
    np.testing.assert_allclose(state.vapour_pressure, [400.0, 400.0, 1000.0, 1200.0, 1200.0])


def test_condensing_plane_is_the_cold_side_of_the_insulation():
    layers = (
        SteadyLayer("board", 0.1, 1e10),
        SteadyLayer("wool", 4.0, 1e8),
        SteadyLayer("gypsum", 0.05, 5e8),
    )
    wall = SteadyWall(layers)
    plane = condensing_plane(wall, T_o=263.15, p_o=200.0, T_i=293.15, p_i=1000.0)
    assert plane == plane_index(wall, "board", "inner")
    assert condensing_plane(wall, T_o=263.15, p_o=200.0, T_i=293.15, p_i=240.0) is None


def test_framing_bounds_of_a_hand_worked_wall():
    paths = framed_paths([1.0], 4.0, 1.0, [1.0], fraction=0.2)
    # Upper: 1/(0.8/6 + 0.2/3) = 5; lower: 1 + 1/(0.8/4 + 0.2/1) + 1 = 4.5.
    assert parallel_path_resistance(paths) == pytest.approx(5.0)
    assert isothermal_planes_resistance(paths) == pytest.approx(4.5)
    assert resistance_bounds(paths).mean == pytest.approx(4.75)
    assert resistance_bounds(paths).largest_error == pytest.approx(0.5 / 9.5)


def test_steady_formulas_refuse_impossible_input():
    with pytest.raises(InputError, match=r"a\.R = -1"):
        SteadyWall((SteadyLayer("a", -1.0, 0.0),))
    with pytest.raises(InputError, match="did you mean 'sheathing'"):
        plane_index(_trade_wall(5.0), "sheating", "inner")
    with pytest.raises(InputError, match="in percent"):
        framed_paths([1.0], 4.0, 1.0, [1.0], fraction=25.0)
    with pytest.raises(InputError, match="add up to 1"):
        parallel_path_resistance([Path(0.5, (1.0,)), Path(0.2, (1.0,))])
    with pytest.raises(InputError, match="must be below"):
        least_outboard_share(T_o=300.0, T_i=294.0, T_dew=280.0)
