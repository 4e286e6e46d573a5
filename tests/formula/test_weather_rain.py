"""Driving rain by ISO 15927-3 and ASHRAE 160 against hand values and tables."""

from __future__ import annotations

import numpy as np
import pytest

from weather import AshraeFactors, IsoFactors, Place, WeatherError
from weather.canonical import Origin, build
from weather.rain import (
    DEPOSITION,
    ashrae_factors,
    driving_rain,
    exposure_factor,
    free_driving_rain_ashrae160,
    free_driving_rain_iso15927,
    iso_factors,
    obstruction_factor,
    roughness_factor,
)

# ISO 15927-3, C_R at z_min, 10, 20 and 30 m, computed from the printed formula.
C_R = {
    "I": (2.0, 0.9007, 1.1743, 1.2922, 1.3611),
    "II": (4.0, 0.8326, 1.0067, 1.1384, 1.2154),
    "III": (8.0, 0.7224, 0.7714, 0.9239, 1.0131),
    "IV": (16.0, 0.6654, 0.6654, 0.7190, 0.8163),
}


def weather_of(rain: float, wind: float, direction: float, celsius: float = 10.0, hours: int = 24):
    ones = np.ones(hours)
    time = np.datetime64("2001-03-01T01", "h") + np.arange(hours)
    return build(
        {
            "temperature": (celsius + 273.15) * ones,
            "relative_humidity": 0.9 * ones,
            "wind_speed": wind * ones,
            "wind_direction": direction * ones,
            "precipitation": rain * ones,
        },
        time,
        Place(50.0, 10.0, 100.0, 1.0),
        Origin("by hand", "", "measured"),
    )


def test_iso_15927_one_hour_by_hand() -> None:
    # v = 5 m/s, r = 2 mm/h, head-on: 2/9·5·2^(8/9) = 2.0575 l/m² (computed).
    got = free_driving_rain_iso15927(5.0, 200.0, 2.0, azimuth=200.0)
    assert got == pytest.approx(2.0575, abs=5e-5)  # printed to four decimals


@pytest.mark.parametrize("terrain", C_R)
def test_roughness_factor_is_that_of_the_table(terrain: str) -> None:
    lowest, *factors = C_R[terrain]
    got = [roughness_factor(terrain, z) for z in (lowest, 10.0, 20.0, 30.0)]
    np.testing.assert_allclose(got, factors, atol=5.1e-5)  # printed to four decimals
    assert roughness_factor(terrain, 0.0) == got[0]


def test_obstruction_factor_steps_at_the_distances_of_the_table() -> None:
    # ISO 15927-3 (from memory).
    distances = [4, 7.9, 8, 15, 25, 40, 60, 80, 100, 119.9, 120, 500]
    expected = [0.2, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.9, 1.0, 1.0]
    assert [obstruction_factor(d) for d in distances] == expected
    with pytest.raises(WeatherError, match="begins at 4 m"):
        obstruction_factor(3.0)


def test_exposure_factor_is_that_of_the_table() -> None:
    # ASHRAE 160 (from memory): corners of the table.
    assert exposure_factor("severe", 5.0) == 1.3
    assert exposure_factor("medium", 12.0) == 1.1
    assert exposure_factor("sheltered", 9.9) == 0.7
    assert exposure_factor("sheltered", 35.0) == 1.2
    assert exposure_factor("medium", 25.0) == 1.3
    assert exposure_factor("sheltered", 60.0) == 1.5


def test_worked_products_of_a_published_digest() -> None:
    # Trade digest on driving rain, 2010: free driving rain 170 (west) and 380 mm (east) a year;
    # sheltered low wall ×0.7×0.5×0.5, top of a tower ×1.5×1×1. Products computed: 29.75, 570.
    low = ashrae_factors(exposure="sheltered", height=2.7, deposition="low-slope roof")
    top = ashrae_factors(exposure="severe", height=50.0, deposition="run-off")
    # The halving between two buildings is no factor of ASHRAE 160.
    assert 170.0 * low.product * 0.5 == pytest.approx(29.75)
    assert 380.0 * top.product == pytest.approx(570.0)


def test_iso_factors_multiply() -> None:
    factors = iso_factors(
        terrain="III", height=10.0, obstacle_distance=30.0, wall="two-storey gable"
    )
    # 0.7714·1·0.5·0.4 = 0.15428 by hand; four digits.
    assert factors.product == pytest.approx(0.15428, abs=1e-5)


def test_driving_rain_is_a_flux_of_the_hour() -> None:
    got = driving_rain(
        weather_of(2.0, 5.0, 90.0), azimuth=90.0, method="iso15927", factors=IsoFactors(1, 1, 1, 1)
    )
    # 2.0575 kg/m² in 3600 s.
    np.testing.assert_allclose(got, 2.0575 / 3600.0, rtol=3e-5)


def test_ashrae_160_by_hand() -> None:
    # 0.2·5 m/s·2 mm/h·cos 60° = 1 kg/(m²·h); ×1.0×0.35.
    assert free_driving_rain_ashrae160(5.0, 60.0, 2.0, azimuth=0.0) == pytest.approx(1.0)
    got = driving_rain(
        weather_of(2.0, 5.0, 60.0),
        azimuth=0.0,
        method="ashrae160",
        factors=AshraeFactors(1.0, DEPOSITION["steep roof"]),
    )
    np.testing.assert_allclose(got, 0.35 / 3600.0)


@pytest.mark.parametrize("method", ["iso15927", "ashrae160"])
def test_snow_calm_and_lee_give_no_driving_rain(method: str) -> None:
    cases = [
        weather_of(2.0, 5.0, 90.0, celsius=0.5),  # snow, below 1 °C
        weather_of(2.0, 0.0, 90.0),  # calm
        weather_of(2.0, 5.0, 271.0),  # wind from behind
    ]
    for dataset in cases:
        assert np.all(driving_rain(dataset, azimuth=90.0, method=method) == 0.0)
    assert np.all(driving_rain(weather_of(2.0, 5.0, 90.0), azimuth=90.0, method=method) > 0.0)


def test_snow_threshold_is_a_parameter() -> None:
    from weather import with_rain

    dataset = weather_of(2.0, 5.0, 90.0, celsius=0.5)
    assert float(dataset["rain"].sum()) == 0.0
    assert float(with_rain(dataset, snow_below=273.15)["rain"].sum()) == 48.0


def test_factors_of_the_other_method_are_refused() -> None:
    with pytest.raises(WeatherError, match="do not belong to ashrae160"):
        driving_rain(
            weather_of(1.0, 5.0, 0.0), azimuth=0.0, method="ashrae160", factors=IsoFactors()
        )


def test_unknown_method_is_answered_with_the_known_ones() -> None:
    with pytest.raises(WeatherError, match="iso15927, ashrae160"):
        driving_rain(weather_of(1.0, 5.0, 0.0), azimuth=0.0, method="guess")
