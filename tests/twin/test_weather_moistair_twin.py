"""Moist air against two independent libraries, −40 to 60 °C."""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest
from CoolProp.CoolProp import PropsSI
from CoolProp.HumidAirProp import HAPropsSI

from weather.moistair import (
    dew_point,
    enthalpy,
    humidity_ratio,
    saturation_pressure,
    vapour_pressure,
)

WARM = np.arange(0.5, 60.5, 2.5) + 273.15
COLD = np.arange(-40.0, 0.0, 2.5) + 273.15


def test_saturation_over_water_is_near_the_equation_of_state() -> None:
    reference = np.array([PropsSI("P", "T", t, "Q", 1, "Water") for t in WARM])
    # The Magnus form of ISO 13788 lies within 0.2 % of IAPWS up to 60 °C: its own accuracy.
    np.testing.assert_allclose(saturation_pressure(WARM), reference, rtol=2e-3)


def test_saturation_over_ice_is_near_hyland_and_wexler() -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    reference = np.array([psychrolib.GetSatVapPres(t - 273.15) for t in COLD])
    # The Magnus form over ice is 2 % low at −40 °C and better above: its own accuracy.
    np.testing.assert_allclose(saturation_pressure(COLD, over="ice"), reference, rtol=2e-2)


def test_saturation_over_supercooled_water_is_near_murphy_and_koop() -> None:
    # Murphy & Koop 2005, eq. 10 (from memory), valid 123–332 K.
    t = COLD
    reference = np.exp(
        54.842763
        - 6763.22 / t
        - 4.210 * np.log(t)
        + 0.000367 * t
        + np.tanh(0.0415 * (t - 218.8))
        * (53.878 - 1331.22 / t - 9.44523 * np.log(t) + 0.014025 * t)
    )
    # The form is fitted above 0 °C; carried down to −40 °C it is up to 3 % low.
    np.testing.assert_allclose(saturation_pressure(t), reference, rtol=3e-2)


@pytest.mark.parametrize("humidity", [0.3, 0.9])
def test_dew_point_agrees_with_psychrolib(humidity: float) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    air = np.array([30.0, 55.0])
    reference = [psychrolib.GetTDewPointFromRelHum(t, humidity) for t in air]
    got = dew_point(vapour_pressure(air + 273.15, humidity)) - 273.15
    # 0.2 % of saturation pressure is 0.04 K of dew point; twice, at air and dew temperature.
    np.testing.assert_allclose(got, reference, atol=0.08)


@pytest.mark.parametrize("celsius", [-40.0, -20.0, 0.0, 20.0, 40.0, 60.0])
def test_humidity_ratio_and_enthalpy_agree_with_psychrolib(celsius: float) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    pressure = 0.5 * psychrolib.GetSatVapPres(celsius)
    reference = psychrolib.GetHumRatioFromVapPres(pressure, 95000.0)
    ratio = humidity_ratio(pressure, 95000.0)
    # Same ideal-gas relation; the mass ratio is 0.621945 in both, to six digits.
    assert ratio == pytest.approx(reference, rel=1e-5)
    # Same linear form, same constants.
    assert enthalpy(celsius + 273.15, ratio) == pytest.approx(
        psychrolib.GetMoistAirEnthalpy(celsius, ratio), abs=1.0
    )


@pytest.mark.parametrize("celsius", [5.0, 20.0, 40.0, 60.0])
def test_humidity_ratio_agrees_with_a_real_gas(celsius: float) -> None:
    temperature = celsius + 273.15
    reference = HAPropsSI("W", "T", temperature, "P", 101325.0, "R", 0.5)
    got = humidity_ratio(vapour_pressure(temperature, 0.5))
    # Real air is enhanced by about 0.5 %, the Magnus form is 0.2 % off.
    assert got == pytest.approx(reference, rel=8e-3)
