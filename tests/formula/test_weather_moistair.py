"""Moist-air formulas against printed values and their own derivative and inverse."""

from __future__ import annotations

import numpy as np
import pytest

from weather import WeatherError
from weather.moistair import (
    ZERO_CELSIUS,
    dew_point,
    enthalpy,
    humidity_ratio,
    saturation_pressure,
    saturation_slope,
    standard_pressure,
    vapour_density,
    vapour_pressure,
)

# ISO 13788:2012 formula (from memory), computed from the printed equation. [°C, Pa]
ISO_13788 = {
    -20: 102.7,
    -10: 259.3,
    -5: 401.2,
    0: 610.5,
    5: 871.9,
    10: 1227.3,
    15: 1704.4,
    20: 2337.0,
    25: 3165.9,
    30: 4240.5,
}


@pytest.mark.parametrize(("celsius", "pressure"), ISO_13788.items())
def test_saturation_pressure_is_that_of_iso_13788(celsius: int, pressure: float) -> None:
    # The table is rounded to 0.1 Pa.
    assert saturation_pressure(celsius + 273.15, over="iso13788") == pytest.approx(
        pressure, abs=0.0501
    )


def test_iso_13788_is_water_above_and_ice_below_zero() -> None:
    temperature = np.array([253.15, 268.15, 273.15, 293.15])
    mixed = saturation_pressure(temperature, over="iso13788")
    assert np.array_equal(mixed[:2], saturation_pressure(temperature[:2], over="ice"))
    assert np.array_equal(mixed[2:], saturation_pressure(temperature[2:], over="water"))


def test_supercooled_water_holds_more_vapour_than_ice() -> None:
    temperature = np.linspace(233.15, 273.0, 50)
    assert np.all(
        saturation_pressure(temperature, over="water")
        > saturation_pressure(temperature, over="ice")
    )


@pytest.mark.parametrize("over", ["water", "ice", "iso13788"])
def test_slope_is_the_derivative(over: str) -> None:
    temperature = np.array([235.0, 255.0, 270.0, 275.0, 300.0, 330.0])
    step = 1e-3
    difference = (
        saturation_pressure(temperature + step, over=over)
        - saturation_pressure(temperature - step, over=over)
    ) / (2 * step)
    # Central difference: error about step²·p'''/6p' < 1e-9, plus round-off 1e-16/1e-3 relative.
    np.testing.assert_allclose(saturation_slope(temperature, over=over), difference, rtol=1e-8)


@pytest.mark.parametrize("over", ["water", "ice", "iso13788"])
def test_dew_point_inverts_saturation(over: str) -> None:
    temperature = np.linspace(225.0, 335.0, 111)
    back = dew_point(saturation_pressure(temperature, over=over), over=over)
    # Algebraic inverse: round-off of exp and log only, at 300 K about 1e-13 K times ten.
    np.testing.assert_allclose(back, temperature, atol=1e-10, rtol=0)


def test_scalars_stay_scalar() -> None:
    assert isinstance(saturation_pressure(290.0, over="iso13788"), float)
    assert isinstance(dew_point(1000.0, over="iso13788"), float)


def test_dry_air_has_no_dew_point() -> None:
    with pytest.raises(WeatherError, match="dry air"):
        dew_point(np.array([1000.0, 0.0]))


def test_unknown_surface_is_refused() -> None:
    with pytest.raises(WeatherError, match="'snow' is not known"):
        saturation_pressure(270.0, over="snow")


def test_air_at_21_degrees_and_40_percent_has_its_dew_point_near_7_degrees() -> None:
    # 21.1 °C and 40 %: 7.0 °C (computed by another formula; the two differ below 0.05 K).
    got = dew_point(vapour_pressure(21.1 + ZERO_CELSIUS, 0.4)) - ZERO_CELSIUS
    assert got == pytest.approx(7.0, abs=0.1)


def test_vapour_density_of_saturated_air_at_20_degrees() -> None:
    # 17.3 g/m³, common table value (from memory), given to three digits.
    assert vapour_density(293.15, saturation_pressure(293.15)) == pytest.approx(0.0173, abs=5e-5)


def test_humidity_ratio_and_enthalpy_by_hand() -> None:
    # p_v = 1000 Pa, p = 101325 Pa: 0.621945·1000/100325 = 6.1993e-3 (by hand).
    ratio = humidity_ratio(1000.0, 101325.0)
    assert ratio == pytest.approx(6.1993e-3, rel=1e-4)  # hand value has five digits
    # 1006·20 + 0.0061993·(2.501e6 + 37200) = 35 855 J/kg (by hand, five digits).
    assert enthalpy(293.15, ratio) == pytest.approx(35855.0, abs=1.0)


def test_standard_pressure_at_1500_m() -> None:
    # 84.556 kPa, ASHRAE Fundamentals table (from memory), five digits.
    assert standard_pressure(1500.0) == pytest.approx(84556.0, abs=5.0)
