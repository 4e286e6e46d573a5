"""The second formulas of `hygro validate`, remembered, against libraries that have them printed."""

from __future__ import annotations

import numpy as np
import pandas as pd
import psychrolib
import pvlib
import pytest
from CoolProp.CoolProp import PropsSI
from CoolProp.HumidAirProp import HAPropsSI

from hygro.proof.references import moist_air, sun


def test_saturation_over_water_is_that_of_the_standard() -> None:
    # printed with the equation: 300 K 3536.58941 Pa, 500 K 2638897.75 Pa (from memory)
    np.testing.assert_allclose(
        moist_air.over_water(np.array([300.0, 500.0])), [3536.58941, 2638897.75], rtol=1e-8
    )
    T = np.arange(0.5, 60.0) + 273.15
    # the equation of state itself, from which the industrial one may differ by 0.025 %
    reference = [PropsSI("P", "T", t, "Q", 1, "Water") for t in T]
    np.testing.assert_allclose(moist_air.over_water(T), reference, rtol=2.5e-4)


def test_saturation_over_ice_is_near_hyland_and_wexler() -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    celsius = np.arange(-40.0, 0.0)
    reference = [psychrolib.GetSatVapPres(t) for t in celsius]
    # two fits of the same data: a digit in a coefficient shows as more
    np.testing.assert_allclose(moist_air.over_ice(celsius + 273.15), reference, rtol=4e-4)


@pytest.mark.parametrize("celsius", [5.0, 20.0, 40.0, 60.0])
def test_enhanced_moist_air_is_near_a_real_gas(celsius: float) -> None:
    T = celsius + 273.15
    pressure = 0.5 * moist_air.enhancement(101325.0) * moist_air.over_water(np.array(T))
    reference = HAPropsSI("W", "T", T, "P", 101325.0, "R", 0.5)
    # of the 0.5 % of enhancement a quarter may be wrong at the ends of the range
    assert moist_air.humidity_ratio(pressure, 101325.0) == pytest.approx(reference, rel=1.3e-3)


def test_dew_point_is_where_the_pressure_is_that_of_saturation() -> None:
    pressure = float(moist_air.over_water(np.array(285.0)))
    assert moist_air.dew_point(pressure) == pytest.approx(285.0, abs=1e-9)


def test_the_sun_stands_where_a_precise_algorithm_has_it() -> None:
    utc = np.datetime64("2001-01-01T00", "s") + np.arange(8760) * np.timedelta64(3600, "s")
    place = 45.0, -90.0
    zenith, azimuth = np.degrees(sun.position(utc, *place))
    reference = pvlib.solarposition.get_solarposition(
        pd.DatetimeIndex(utc).tz_localize("UTC"), *place
    )
    # 0.01° as the almanac says, in the place of the sun; azimuth more where it stands high
    assert np.abs(zenith - reference["zenith"]).max() < 0.012
    turned = (azimuth - reference["azimuth"] + 180.0) % 360.0 - 180.0
    assert np.abs(turned).max() < 0.02


def test_sky_formulas_are_those_printed() -> None:
    F1, F2 = pvlib.irradiance._get_perez_coefficients("allsitescomposite1990")
    np.testing.assert_array_equal(sun.F, np.hstack([F1, F2]))
    zenith = np.array([0.0, 30.0, 60.0, 85.0])
    np.testing.assert_allclose(
        sun.air_mass(np.radians(zenith)), pvlib.atmosphere.get_relative_airmass(zenith), rtol=1e-9
    )
    days = np.array([1.0, 91.0, 182.0, 273.0])
    reference = pvlib.irradiance.get_extra_radiation(days)
    np.testing.assert_allclose(sun.extraterrestrial(days), reference, rtol=1e-9)
