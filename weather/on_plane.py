"""The weather's loads on one plane, as a wall needs them; knows no wall.

This is the seam to whatever simulates a surface: sun, longwave and rain on the same hours.
"""

from __future__ import annotations

import xarray as xr

from weather.canonical import note
from weather.errors import fault
from weather.longwave import SkyEmissivity, longwave_on_plane
from weather.plane import SNOW_ALBEDO, SkyModel, shortwave_on_plane, snowy
from weather.rain import AshraeFactors, IsoFactors, RainMethod, driving_rain
from weather.variables import attributes


def plane_loads(
    dataset: xr.Dataset,
    *,
    azimuth: float,
    tilt: float = 90.0,
    albedo: float = 0.2,
    snow_albedo: float | None = SNOW_ALBEDO,
    sky: SkyModel = "perez",
    emissivity: SkyEmissivity = "berdahl-martin",
    rain_method: RainMethod | None = "iso15927",
    rain_factors: IsoFactors | AshraeFactors | None = None,
) -> xr.Dataset:
    """Hour means of sun, longwave and driving rain on a plane.

    Parameters
    ----------
    dataset : Dataset
        Canonical weather without gaps in what is needed.
    azimuth, tilt : float
        Outward normal clockwise from north; from the horizontal, 90 is a wall. [degree]
    albedo : float
        Shortwave reflectance of the ground. [1]
    snow_albedo : float or None
        The same under snow of 3 cm and more, where the weather has `snow_depth`; None leaves
        snow out. [1]
    sky : {"perez", "haydavies", "isotropic"}
        Model of diffuse radiation.
    emissivity : {"clark-allen", "berdahl-martin"}
        Model of sky longwave, used only where the weather has no `longwave_down`.
    rain_method : {"iso15927", "ashrae160"} or None
        None asks for no rain on purpose: `driving_rain` is then left out and that is noted.
    rain_factors : IsoFactors or AshraeFactors, optional
        Factors of the method.

    Returns
    -------
    Dataset
        `solar` with its parts `solar_beam`, `solar_sky`, `solar_ground` [W/m²], `longwave_in`
        [W/m²] for emissivity 1, `driving_rain` [kg/(m²·s)] on the `time` of the weather.

    Raises
    ------
    WeatherError
        On gaps, angles out of bounds, missing or implausible rain, driving rain on a plane that
        is not vertical.
    """
    sun = shortwave_on_plane(
        dataset, azimuth=azimuth, tilt=tilt, albedo=albedo, snow_albedo=snow_albedo, sky=sky
    )
    series = {
        "solar": sun.total,
        "solar_beam": sun.beam,
        "solar_sky": sun.sky,
        "solar_ground": sun.ground,
        "longwave_in": longwave_on_plane(dataset, tilt=tilt, emissivity=emissivity),
    }
    if rain_method is not None:
        _check_vertical(tilt)
        series["driving_rain"] = driving_rain(
            dataset, azimuth=azimuth, method=rain_method, factors=rain_factors
        )
    result = xr.Dataset(
        {name: ("time", values, attributes(name)) for name, values in series.items()},
        coords=dataset.coords,
        attrs={**dataset.attrs, "azimuth": azimuth, "tilt": tilt, "albedo": albedo, "sky": sky},
    )
    if snow_albedo is not None and "snow_depth" in dataset:
        text = f"snow on the ground in {int(snowy(dataset).sum())} hours: albedo {snow_albedo:g}"
        result = note(result, text)
    return _with_notes(result, dataset, emissivity, rain_method, rain_factors)


def _check_vertical(tilt: float) -> None:
    if tilt != 90.0:
        raise fault(
            "tilt",
            f"{tilt:g}: both driving-rain methods hold for vertical walls only",
            "give rain_method=None",
        )


def _with_notes(
    result: xr.Dataset,
    dataset: xr.Dataset,
    emissivity: str,
    method: str | None,
    factors: IsoFactors | AshraeFactors | None,
) -> xr.Dataset:
    if "longwave_down" not in dataset:
        result = note(result, f"longwave from the sky: {emissivity}, cloud cover and dew point")
    if "ground_temperature" not in dataset:
        result = note(result, "ground surface taken at air temperature")
    if method is None:
        return note(result, "no driving rain, on purpose")
    return note(result, f"driving rain: {method}, {factors or 'default factors'}")
