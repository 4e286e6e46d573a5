"""Sun of an hour, hour means, sums of years, moisture regimes: numbers worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from weather import Place
from weather.canonical import Origin, build, hour_mean
from weather.longwave import ground_longwave, longwave_on_plane
from weather.plane import sun_of
from weather.quality import annual_sum
from weather.summary import moisture_regime

EQUATOR = Place(0.0, 0.0, 0.0, 0.0, "on the equator, at the zone's meridian")


def equinox_hour(hour: int) -> tuple[float, float]:
    """Minute in the hour at which the sun is taken on 20 March, and its zenith angle. [degree]"""
    end = np.array([f"2001-03-20T{hour:02d}:00"], dtype="datetime64[s]")
    sun = sun_of(end, EQUATOR)
    minute = (sun.moment[0] - end[0]) / np.timedelta64(60, "s") + 60.0
    return float(minute), float(sun.zenith[0])


# On the equator at the equinox the sun climbs straight up at 15° an hour. The equation of time of
# 20 March is −7.4 min (almanac, from memory, ±0.2): the sun rises at 6:07.4 and sets at 18:07.4.
LATE = 7.4


@pytest.mark.parametrize(
    ("hour", "minute", "height"),
    [
        (7, (LATE + 60.0) / 2.0, (60.0 - LATE) / 2.0 / 4.0),  # sunlit from 6:07.4 to 7:00
        (19, LATE / 2.0, LATE / 2.0 / 4.0),  # sunlit from 18:00 to 18:07.4
        (8, 30.0, (90.0 - LATE) / 4.0),  # up all hour
        (6, 30.0, -(30.0 + LATE) / 4.0),  # down all hour
    ],
)
def test_the_sun_stands_at_the_middle_of_the_sunlit_part(
    hour: int, minute: float, height: float
) -> None:
    got, zenith = equinox_hour(hour)
    # Equation of time ±0.2 min, halved; declination under 0.2°, at these heights below 0.05°.
    assert got == pytest.approx(minute, abs=0.2)
    assert 90.0 - zenith == pytest.approx(height, abs=0.1)


def test_hour_mean_is_the_middle_of_the_two_ends() -> None:
    values = np.array([1.0, 4.0, 2.0, 7.0])
    # (7 + 1)/2, (1 + 4)/2, (4 + 2)/2, (2 + 7)/2: exact in binary.
    assert hour_mean(values, cyclic=True).tolist() == [4.0, 2.5, 3.0, 4.5]
    assert hour_mean(values, cyclic=False).tolist() == [1.0, 2.5, 3.0, 4.5]


def warming(kind: str) -> xr.Dataset:
    columns = {
        "temperature": np.array([280.0, 290.0, 290.0]),
        "relative_humidity": np.full(3, 0.5),
        "longwave_down": np.array([300.0, 310.0, 320.0]),
    }
    time = np.datetime64("2001-01-01T01") + np.arange(3)
    return build(columns, time, EQUATOR, Origin("by hand", "", kind))


def test_longwave_of_the_ground_is_the_mean_of_the_hour() -> None:
    # σ = 5.670374e-8: 280 K 348.533, 290 K 401.055 W/m²; their mean 374.794.
    assert ground_longwave(warming("measured")) == pytest.approx(
        [348.533, 374.794, 401.055], abs=2e-3
    )
    assert ground_longwave(warming("typical year"))[0] == pytest.approx(374.794, abs=2e-3)


def test_longwave_given_as_hour_means_is_not_averaged_again() -> None:
    wall = longwave_on_plane(warming("measured"), tilt=90.0)
    # Half sky, half ground.
    assert wall == pytest.approx([324.267, 342.397, 360.528], abs=2e-3)


def rainy(hours: int) -> xr.Dataset:
    """One millimetre in every hour."""
    return xr.Dataset({"precipitation": ("time", np.ones(hours))})


@pytest.mark.parametrize(
    ("hours", "yearly"),
    [
        (8760, 8760.0),  # a year without leap day counts as a year
        (17520, 8760.0),
        (7013, 8766.0),  # 0.8 years: 1 mm/h in 8766 h of the mean year
        (7889, 8766.0),  # 0.9 years
        (9643, 8766.0),  # 1.1 years
        (10519, 8766.0),  # 1.2 years
    ],
)
def test_annual_sum_of_parts_of_years(hours: int, yearly: float) -> None:
    assert annual_sum(rainy(hours), "precipitation") == pytest.approx(yearly, abs=1e-6)


# Monthly means of 2 and 14 °C, half a year each: 8 °C in the mean; six months above 10 °C.
MILD = 273.15 + np.array([2.0] * 3 + [14.0] * 6 + [2.0] * 3)
# 23 °C in summer is no marine climate; mean 8 °C again.
CONTINENTAL = 273.15 + np.array([-7.0] * 3 + [23.0] * 6 + [-7.0] * 3)


def rain(total: float, *, warm_share: float) -> np.ndarray:
    """Monthly sums, even within the warm and the cold half."""
    cold, warm = total * (1.0 - warm_share) / 6.0, total * warm_share / 6.0
    return np.array([cold] * 3 + [warm] * 6 + [cold] * 3)


@pytest.mark.parametrize(
    ("share", "limit"),
    # ASHRAE 169 (from memory): 20·(8 + 14), 20·(8 + 7), 20·8 mm.
    [(0.7, 440.0), (0.69, 300.0), (0.5, 300.0), (0.3, 300.0), (0.29, 160.0), (0.1, 160.0)],
)
def test_dry_climates_begin_at_their_limit(share: float, limit: float) -> None:
    # 1e-9: the sum of twelve months comes back with round-off.
    share += 1e-9
    below = rain(limit - 0.1, warm_share=share)
    above = rain(limit + 0.1, warm_share=share)
    assert moisture_regime(CONTINENTAL, below, north=True) == "B"
    assert moisture_regime(CONTINENTAL, above, north=True) == "A"


def test_the_warm_half_lies_in_the_other_months_in_the_south() -> None:
    wet_summer = rain(350.0, warm_share=0.8)
    assert moisture_regime(CONTINENTAL, wet_summer, north=True) == "B"  # below 440 mm
    assert moisture_regime(CONTINENTAL, wet_summer, north=False) == "A"  # above 160 mm


@pytest.mark.parametrize(
    ("temperature", "share", "regime"),
    [
        (MILD, 0.25, "C"),  # winter months three times as wet
        (MILD, 0.26, "A"),  # 2.85 times
        (MILD - 4.9, 0.2, "C"),  # coldest month −2.9 °C, warmest 9.1 °C: see below
        (MILD - 5.1, 0.2, "A"),  # coldest month −3.1 °C
        (MILD + 7.9, 0.2, "C"),  # warmest month 21.9 °C
        (MILD + 8.1, 0.2, "A"),  # 22.1 °C
    ],
)
def test_marine_climates_begin_at_their_limits(
    temperature: np.ndarray, share: float, regime: str
) -> None:
    # Four months must be above 10 °C: the four warmest are set to 12 °C at least.
    months = temperature.copy()
    months[4:8] = np.maximum(months[4:8], 285.15)
    assert moisture_regime(months, rain(900.0, warm_share=share - 1e-9), north=True) == regime


def test_a_marine_climate_has_four_mild_months() -> None:
    months = np.full(12, 273.15 + 5.0)
    months[5:8] = 273.15 + 12.0
    assert moisture_regime(months, rain(900.0, warm_share=0.1), north=True) == "A"
    months[8] = 273.15 + 10.1
    assert moisture_regime(months, rain(900.0, warm_share=0.1), north=True) == "C"
