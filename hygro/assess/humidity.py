"""Relative humidity at surfaces: the older surface-humidity rules and corrosion hours.

Owns the ratings that need humidity and temperature of a surface and nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr

from hygro.assess.hourly import Hourly, Record, kept
from hygro.assess.places import Face, at_surfaces, surface
from hygro.assess.select import series, times
from hygro.assess.series import (
    DAY,
    MONTH,
    WEEK,
    Exceedance,
    Peak,
    exceedance,
    peak,
    running_mean,
)
from hygro.constants import ZERO_CELSIUS

RULE_COLDEST, RULE_WARMEST = ZERO_CELSIUS + 5.0, ZERO_CELSIUS + 40.0
"""Range of the 30-day mean temperature in which the 30-day rule holds (ASHRAE 160-2009). [K]"""


@dataclass(frozen=True)
class SurfaceHumidity:
    """Peaks of the running means of relative humidity at a surface. [1]

    Attributes
    ----------
    month : Peak
        30-day mean while the 30-day mean temperature is 5-40 °C (ASHRAE 160-2009: below 0.80).
    month_any : Peak
        30-day mean at any temperature.
    week, day : Peak
        7-day and 24-h mean while the mean temperature of the window is 5-40 °C (from memory: below
        0.98 and 1.00).
    """

    surface: str
    month: Peak
    month_any: Peak
    week: Peak
    day: Peak


@dataclass(frozen=True)
class CorrosionHours:
    """Humidity at metal.

    Attributes
    ----------
    month : Peak
        30-day running mean of relative humidity (ASHRAE 160, from memory: below 0.80). [1]
    above_80, above_95 : Exceedance
        Hours above 80 % and 95 % with a temperature above 0 °C.
    """

    surface: str
    month: Peak
    above_80: Exceedance
    above_95: Exceedance


def gated_peak(rh: np.ndarray, temperature: np.ndarray, stamps: np.ndarray, hours: int) -> Peak:
    """Highest running mean of rh [1] while that of the temperature [K] is 5-40 °C."""
    warmth = running_mean(temperature, hours)
    inside = (warmth >= RULE_COLDEST) & (warmth <= RULE_WARMEST)
    return peak(np.where(inside, running_mean(rh, hours), np.nan), stamps)


@kept
def face_state(ds: Hourly, layer: str, face: Face) -> tuple[np.ndarray, np.ndarray]:
    """`surface_state` as plain numbers, dims (time)."""
    names, place = (
        ("interface_temperature", "interface_relative_humidity"),
        surface(ds, layer, face),
    )
    T, rh = (np.ascontiguousarray(at_surfaces(ds, name, (place,))[:, 0]) for name in names)
    return T, rh


def surface_state(ds: Record, layer: str, face: Face) -> tuple[xr.DataArray, xr.DataArray]:
    """Temperature [K] and relative humidity [1] of one face of a layer, hourly."""
    temperature, rh = face_state(ds, layer, face)
    place = surface(ds, layer, face)
    return (
        series(ds, temperature, unit="K", long_name=f"temperature at {place.name}"),
        series(ds, rh, unit="1", long_name=f"relative humidity at {place.name}"),
    )


@kept
def surface_humidity(ds: Hourly, layer: str, face: Face) -> SurfaceHumidity:
    """Rate a surface by the rules of ASHRAE 160-2009, superseded by the mould index."""
    temperature, rh = face_state(ds, layer, face)
    stamps = times(ds)

    def gated(hours: int) -> Peak:
        return gated_peak(rh, temperature, stamps, hours)

    month_any = peak(running_mean(rh, MONTH), stamps)
    name = f"{layer}, {face} face"
    return SurfaceHumidity(name, gated(MONTH), month_any, gated(WEEK), gated(DAY))


@kept
def corrosion(ds: Hourly, layer: str, face: Face) -> CorrosionHours:
    """Rate the humidity that metal meets at one face of a layer."""
    temperature, rh = face_state(ds, layer, face)
    stamps, warm = times(ds), temperature > ZERO_CELSIUS
    return CorrosionHours(
        f"{layer}, {face} face",
        surface_humidity(ds, layer, face).month_any,
        exceedance(rh, stamps, 0.80, gate=warm),
        exceedance(rh, stamps, 0.95, gate=warm),
    )
