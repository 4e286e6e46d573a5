"""Longwave irradiance from sky and ground, and on a plane between them; knows no shortwave."""

from __future__ import annotations

from typing import Literal

import numpy as np
import xarray as xr

from weather.arrays import Array, Numbers, Value
from weather.canonical import hour_mean, is_cyclic, needed, place_of
from weather.constants import STEFAN_BOLTZMANN, ZERO_CELSIUS
from weather.errors import fault
from weather.moistair import standard_pressure
from weather.stamps import hour_of_day

SkyEmissivity = Literal["clark-allen", "berdahl-martin"]

CLOUD_FACTOR = float(np.exp(-2.0 / 8.2))
"""Share of the clear sky's lack that black clouds with their base at 2 km make good. [1]"""


def emissivity_clark_allen(dew_point: Value, cloud_cover: Value) -> Value:
    """Emissivity of the sky after Clark & Allen 1978, clouds after Walton 1983. [1]

    ε = (0.787 + 0.764 ln(T_dp/273))·(1 + 0.0224 N − 0.0035 N² + 0.00028 N³), N opaque cover in
    tenths: what building-energy tools do where infrared is missing (from memory).

    Parameters
    ----------
    dew_point : float or array
        Dew point, about 230–303 K. [K]
    cloud_cover : float or array
        Opaque sky cover. [1]
    """
    tenths = 10.0 * cloud_cover
    clouds = 1.0 + 0.0224 * tenths - 0.0035 * tenths**2 + 0.00028 * tenths**3
    emissivity: Value = (0.787 + 0.764 * np.log(dew_point / 273.0)) * clouds
    return emissivity


def emissivity_berdahl_martin(
    dew_point: Value, cloud_cover: Value, *, hour: Numbers = 0.0, pressure: Numbers = 1e5
) -> Value:
    """Emissivity of the sky after Berdahl & Martin 1984 (from memory). [1]

    ε₀ = 0.711 + 0.56 (θ/100) + 0.73 (θ/100)² + 0.013 cos(2πt/24) + 0.00012 (p − 1000 hPa);
    ε = ε₀ + (1 − ε₀)·n·exp(−h/8.2 km), Martin & Berdahl 1984 (from memory), for black clouds with
    their base at h = 2 km: with it the infrared field of EPW files made from TMY3 is met to its
    rounding.

    Parameters
    ----------
    dew_point : float or array
        Dew point, −13..24 °C in the source. [K]
    cloud_cover : float or array
        Opaque sky cover. [1]
    hour : float or array
        Hour of the day. [h]
    pressure : float or array
        Station pressure. [Pa]
    """
    ratio = (dew_point - ZERO_CELSIUS) / 100.0
    clear: Numbers = 0.711 + 0.56 * ratio + 0.73 * ratio**2
    clear = clear + 0.013 * np.cos(2.0 * np.pi * hour / 24.0)
    clear = clear + 0.00012 * (pressure / 100.0 - 1000.0)
    emissivity: Value = clear + (1.0 - clear) * CLOUD_FACTOR * cloud_cover  # type: ignore[assignment]
    return emissivity


def sky_longwave(dataset: xr.Dataset, *, emissivity: SkyEmissivity = "berdahl-martin") -> Array:
    """Hour means of longwave irradiance from the sky on a horizontal plane. [W/m²]

    Given by `longwave_down` where the weather has it; otherwise from cloud cover, dew point and
    air temperature, whose instants are averaged over the hour. Without station pressure that of
    the standard atmosphere at the altitude is taken (30 hPa change the emissivity by 0.004).

    Raises
    ------
    WeatherError
        When the weather has neither longwave nor clouds, or gaps in them.
    """
    if "longwave_down" in dataset:
        return needed(dataset, "longwave_down", purpose="longwave from the sky")
    purpose = "longwave from the sky (no longwave_down in the weather)"
    cloud = needed(dataset, "cloud_cover", purpose=purpose)
    dew = needed(dataset, "dew_point", purpose=purpose)
    air = needed(dataset, "temperature", purpose=purpose)
    if emissivity == "clark-allen":
        share = emissivity_clark_allen(dew, cloud)
    elif emissivity == "berdahl-martin":
        hour = hour_of_day(dataset["time"].values).astype(np.float64)
        pressure = _pressure(dataset, purpose)
        share = emissivity_berdahl_martin(dew, cloud, hour=hour, pressure=pressure)
    else:
        raise fault("emissivity", f"'{emissivity}' is not known", "clark-allen, berdahl-martin")
    return hour_mean(share * STEFAN_BOLTZMANN * air**4, cyclic=is_cyclic(dataset))


def ground_longwave(dataset: xr.Dataset) -> Array:
    """Hour means of longwave irradiance from the ground, taken as black. [W/m²]

    The ground surface has the temperature of the air unless `ground_temperature` is given.
    """
    name = "ground_temperature" if "ground_temperature" in dataset else "temperature"
    ground = needed(dataset, name, purpose="longwave from the ground")
    return hour_mean(STEFAN_BOLTZMANN * ground**4, cyclic=is_cyclic(dataset))


def longwave_on_plane(
    dataset: xr.Dataset, *, tilt: float, emissivity: SkyEmissivity = "berdahl-martin"
) -> Array:
    """Hour means of longwave irradiance on a plane from sky and ground. [W/m²]

    View factors of an open horizon: (1 + cos tilt)/2 of the sky, (1 − cos tilt)/2 of the ground.
    For a surface of emissivity 1; others absorb their emissivity's share.
    """
    sky_share = 0.5 * (1.0 + np.cos(np.radians(tilt)))
    sky = sky_longwave(dataset, emissivity=emissivity)
    return np.asarray(sky_share * sky + (1.0 - sky_share) * ground_longwave(dataset))


def _pressure(dataset: xr.Dataset, purpose: str) -> Numbers:
    if "pressure" in dataset:
        return needed(dataset, "pressure", purpose=purpose)
    return standard_pressure(place_of(dataset).altitude)
