"""A year of weather in a few numbers: degree days, climate zone, rain, extremes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import xarray as xr

from weather.arrays import Array, Whole
from weather.canonical import needed
from weather.constants import YEAR_DAYS, YEAR_HOURS, ZERO_CELSIUS
from weather.errors import WeatherError
from weather.quality import annual_sum, has_rain
from weather.rain import free_driving_rain_iso15927
from weather.series import calendar_time

ORIENTATIONS = {"N": 0, "NE": 45, "E": 90, "SE": 135, "S": 180, "SW": 225, "W": 270, "NW": 315}
"""Azimuths of the eight orientations. [degree]"""


class Summary(NamedTuple):
    """The numbers a reader asks of a climate first; per year where that applies."""

    years: float
    mean_temperature: float
    """[K]"""
    coldest: float
    """Coldest hour. [K]"""
    warmest: float
    """Warmest hour. [K]"""
    monthly_temperature: tuple[float, ...]
    """January to December. [K]"""
    heating_degree_days: float
    """Base 18 °C. [K·d]"""
    heating_degree_days_18_3: float
    """Base 18.3 °C (65 °F). [K·d]"""
    cooling_degree_days: float
    """Base 10 °C. [K·d]"""
    thermal_zone: int
    """0..8, ASHRAE 169 (from memory)."""
    moisture_regime: str | None
    """A humid, B dry, C marine; None without credible rain or whole years."""
    precipitation: float | None
    """[kg/m²]"""
    rain: float | None
    """Without snow. [kg/m²]"""
    driving_rain: dict[str, float] | None
    """Free driving rain of ISO 15927-3 by orientation. [kg/m²]"""
    missing_share: dict[str, float]
    """[1]"""

    def _repr_html_(self) -> str:
        """A small table, for a notebook."""
        rows = [
            ("years", f"{self.years:g}"),
            (
                "coldest, mean, warmest hour",
                ", ".join(
                    f"{T - ZERO_CELSIUS:.1f} °C"
                    for T in (self.coldest, self.mean_temperature, self.warmest)
                ),
            ),
            ("heating degree days (18.3 °C)", f"{self.heating_degree_days_18_3:.0f} K·d"),
            ("thermal zone", f"{self.thermal_zone}{self.moisture_regime or ''}"),
            ("rain of a year", "not credible" if self.rain is None else f"{self.rain:.0f} mm"),
            *(
                (f"driving rain, facing {side}", f"{value:.0f} mm")
                for side, value in (self.driving_rain or {}).items()
            ),
        ]
        cells = "".join(f"<tr><th>{name}</th><td>{value}</td></tr>" for name, value in rows)
        return f"<table>{cells}</table>"


def summarise(dataset: xr.Dataset) -> Summary:
    """Summarise whole years of weather.

    Parameters
    ----------
    dataset : Dataset
        Canonical weather.

    Raises
    ------
    WeatherError
        When the series is shorter than 8760 hours or its temperature has gaps.
    """
    if dataset.sizes["time"] < YEAR_HOURS:
        raise WeatherError(f"summary: {dataset.sizes['time']} hours, a whole year has {YEAR_HOURS}")
    temperature = needed(dataset, "temperature", purpose="a summary")
    monthly = monthly_means(dataset, "temperature")
    heating = degree_days(temperature, below=18.3 + ZERO_CELSIUS)
    cooling = degree_days(temperature, above=10.0 + ZERO_CELSIUS)
    rainy = has_rain(dataset)
    return Summary(
        years=dataset.sizes["time"] / YEAR_HOURS,
        mean_temperature=float(temperature.mean()),
        coldest=float(temperature.min()),
        warmest=float(temperature.max()),
        monthly_temperature=tuple(float(value) for value in monthly),
        heating_degree_days=degree_days(temperature, below=18.0 + ZERO_CELSIUS),
        heating_degree_days_18_3=heating,
        cooling_degree_days=cooling,
        thermal_zone=thermal_zone(heating, cooling),
        moisture_regime=_regime(dataset, monthly) if rainy else None,
        precipitation=annual_sum(dataset, "precipitation") if rainy else None,
        rain=annual_sum(dataset, "rain") if rainy else None,
        driving_rain=annual_driving_rain(dataset) if rainy else None,
        missing_share={
            str(name): float(np.isnan(dataset[name].values).mean()) for name in dataset.data_vars
        },
    )


def degree_days(
    temperature: Array, *, below: float | None = None, above: float | None = None
) -> float:
    """Degree days per year of 365 days from daily means of whole days. [K·d]

    Parameters
    ----------
    temperature : array
        Hourly, beginning with the hour that ends at 01:00. [K]
    below, above : float
        Base: give one. [K]
    """
    days = len(temperature) // 24
    daily = temperature[: days * 24].reshape(days, 24).mean(axis=1)
    if (below is None) == (above is None):
        raise WeatherError("degree_days: give either below or above")
    excess = below - daily if below is not None else daily - above
    return float(np.maximum(excess, 0.0).sum() * YEAR_DAYS / days)


def thermal_zone(heating: float, cooling: float) -> int:
    """Thermal climate zone 0..8 of ASHRAE 169 (from memory).

    Parameters
    ----------
    heating : float
        Heating degree days, base 18.3 °C. [K·d]
    cooling : float
        Cooling degree days, base 10 °C. [K·d]
    """
    for zone, limit in ((0, 6000.0), (1, 5000.0), (2, 3500.0)):
        if cooling > limit:
            return zone
    for zone, limit in ((3, 2000.0), (4, 3000.0), (5, 4000.0), (6, 5000.0), (7, 7000.0)):
        if heating <= limit:
            return zone
    return 8


def moisture_regime(temperature: Array, precipitation: Array, *, north: bool) -> str:
    """Moisture regime A, B or C of ASHRAE 169 (from memory).

    Marine: coldest month −3..18 °C, warmest below 22 °C, four months above 10 °C, and the wettest
    month of the cold half at least three times the driest of the rest. Dry: less annual
    precipitation [mm] than 20·(T + 14), 20·(T + 7) or 20·T with at least 70 %, 30–70 % or less
    than 30 % of it in the warm half.

    Parameters
    ----------
    temperature : array of 12
        Monthly means. [K]
    precipitation : array of 12
        Monthly sums. [kg/m²]
    north : bool
        Northern hemisphere: the warm half is April to September.
    """
    theta = np.asarray(temperature) - ZERO_CELSIUS
    months = np.arange(12)
    warm = (months >= 3) & (months <= 8) if north else (months < 3) | (months > 8)
    marine = -3.0 < theta.min() < 18.0 and theta.max() < 22.0 and np.sum(theta > 10.0) >= 4
    if marine and precipitation[~warm].max() >= 3.0 * precipitation[warm].min():
        return "C"
    share = precipitation[warm].sum() / precipitation.sum()
    shift = 14.0 if share >= 0.7 else 7.0 if share >= 0.3 else 0.0
    return "B" if precipitation.sum() < 20.0 * (theta.mean() + shift) else "A"


def annual_driving_rain(dataset: xr.Dataset) -> dict[str, float]:
    """Free driving rain of ISO 15927-3 by eight orientations, per year. [kg/m²]"""
    purpose = "driving rain"
    wind = needed(dataset, "wind_speed", purpose=purpose)
    direction = needed(dataset, "wind_direction", purpose=purpose)
    rain = needed(dataset, "rain", purpose=purpose)
    years = dataset.sizes["time"] / YEAR_HOURS
    return {
        name: float(
            np.sum(free_driving_rain_iso15927(wind, direction, rain, azimuth=azimuth)) / years
        )
        for name, azimuth in ORIENTATIONS.items()
    }


def monthly_means(dataset: xr.Dataset, name: str) -> Array:
    """Mean of each calendar month over all years; an hour belongs to the month it lies in."""
    month = months_of(dataset)
    values = dataset[name].values
    return np.array([values[month == number].mean() for number in range(1, 13)])


def months_of(dataset: xr.Dataset) -> Whole:
    """Calendar month 1..12 each hour lies in: the stamp ends it, so 00:00 is the day before."""
    middle = calendar_time(dataset) - np.timedelta64(30, "m")
    return np.asarray(middle.astype("datetime64[M]").astype(int) % 12 + 1)


def _regime(dataset: xr.Dataset, monthly: Array) -> str:
    years = dataset.sizes["time"] / YEAR_HOURS
    month = months_of(dataset)
    values = dataset["precipitation"].values
    sums = np.array([values[month == number].sum() / years for number in range(1, 13)])
    return moisture_regime(monthly, sums, north=float(dataset.attrs["latitude"]) >= 0.0)
