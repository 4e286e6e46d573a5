"""Sun and sky on a plane, written a second time: position, three models of the diffuse sky.

Owns the formulas (from memory; `tests/twin` holds position and coefficients to a library); knows
no weather file and no wall.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.proof.references.physics import Array

SOLAR_CONSTANT = 1366.1
"""[W/m²]"""
J2000 = np.datetime64("2000-01-01T12:00:00", "s")
BINS = (1.065, 1.23, 1.5, 1.95, 2.8, 4.5, 6.2)
"""Bounds of clearness. [-]"""
F = np.array([
    (-0.008, 0.588, -0.062, -0.060, 0.072, -0.022), (0.130, 0.683, -0.151, -0.019, 0.066, -0.029),
    (0.330, 0.487, -0.221, 0.055, -0.064, -0.026), (0.568, 0.187, -0.295, 0.109, -0.152, -0.014),
    (0.873, -0.392, -0.362, 0.226, -0.462, 0.001), (1.132, -1.237, -0.412, 0.288, -0.823, 0.056),
    (1.060, -1.600, -0.359, 0.264, -1.127, 0.131), (0.678, -0.327, -0.250, 0.156, -1.377, 0.251),
])  # fmt: skip
"""F11, F12, F13, F21, F22, F23 in every bin; Perez et al. 1990."""


class Sky(NamedTuple):
    """Measured sun: zenith angle and azimuth [rad], irradiance direct, global, diffuse [W/m²]."""

    zenith: Array
    azimuth: Array
    extraterrestrial: Array
    direct: Array
    total: Array
    diffuse: Array


def position(utc: NDArray[np.datetime64], latitude: float, longitude: float) -> tuple[Array, Array]:
    """True zenith angle and azimuth from north over east. [rad]

    The low-precision formulas of the Astronomical Almanac: 0.01° from 1950 to 2050.

    Parameters
    ----------
    utc : array of datetime64
        Instants.
    latitude, longitude : float
        North and east positive. [degree]
    """
    days = (utc.astype("datetime64[s]") - J2000) / np.timedelta64(86400, "s")
    anomaly = np.radians(357.528 + 0.9856003 * days)
    ecliptic = np.radians(
        280.460 + 0.9856474 * days + 1.915 * np.sin(anomaly) + 0.020 * np.sin(2.0 * anomaly)
    )
    tilt = np.radians(23.439 - 4e-7 * days)
    ascension = np.arctan2(np.cos(tilt) * np.sin(ecliptic), np.cos(ecliptic))
    declination = np.arcsin(np.sin(tilt) * np.sin(ecliptic))
    sidereal = np.radians(280.46062 + 360.98564737 * days + longitude)
    hour, north = sidereal - ascension, np.radians(latitude)
    up = np.sin(north) * np.sin(declination) + np.cos(north) * np.cos(declination) * np.cos(hour)
    east = -np.cos(declination) * np.sin(hour)
    ahead = np.cos(north) * np.sin(declination) - np.sin(north) * np.cos(declination) * np.cos(hour)
    return np.arccos(up), np.arctan2(east, ahead)


def extraterrestrial(day: Array) -> Array:
    """Normal irradiance outside the atmosphere on a day of the year, Spencer 1971. [W/m²]"""
    x = 2.0 * np.pi * (day - 1.0) / 365.0
    share = 1.00011 + 0.034221 * np.cos(x) + 0.00128 * np.sin(x)
    found: Array = SOLAR_CONSTANT * (share + 0.000719 * np.cos(2 * x) + 0.000077 * np.sin(2 * x))
    return found


def air_mass(zenith: Array) -> Array:
    """Relative optical air mass, Kasten & Young 1989. [-]"""
    found: Array = 1.0 / (np.cos(zenith) + 0.50572 * (96.07995 - np.degrees(zenith)) ** -1.6364)
    return found


def on_plane(sky: Sky, azimuth: float, tilt: float, model: str, albedo: float) -> Array:
    """Beam, sky and ground on a plane of an azimuth and a tilt [degree]. [W/m²]"""
    beta = np.radians(tilt)
    facing = np.cos(sky.zenith) * np.cos(beta) + np.sin(sky.zenith) * np.sin(beta) * np.cos(
        sky.azimuth - np.radians(azimuth)
    )
    share = _MODELS[model](sky, np.maximum(facing, 0.0), beta)
    ground = 0.5 * albedo * sky.total * (1.0 - np.cos(beta))
    found: Array = sky.direct * np.maximum(facing, 0.0) + sky.diffuse * share + ground
    return found


def _isotropic(_sky: Sky, facing: Array, beta: float) -> Array:
    return np.full_like(facing, 0.5 * (1.0 + np.cos(beta)))


def _hay_davies(sky: Sky, facing: Array, beta: float) -> Array:
    """Hay & Davies 1980: as much of the sky from the sun's place as the beam is of the whole."""
    beam = sky.direct / sky.extraterrestrial
    found: Array = beam * facing / np.cos(sky.zenith) + (1.0 - beam) * 0.5 * (1.0 + np.cos(beta))
    return found


def _perez(sky: Sky, facing: Array, beta: float) -> Array:
    """Perez et al. 1990: sky, ring round the sun, band at the horizon."""
    cube = 1.041 * sky.zenith**3
    clear = ((sky.diffuse + sky.direct) / sky.diffuse + cube) / (1.0 + cube)
    bright = sky.diffuse * air_mass(sky.zenith) / sky.extraterrestrial
    f = F[np.digitize(clear, BINS)].T
    ring = np.maximum(f[0] + f[1] * bright + f[2] * sky.zenith, 0.0)
    band = f[3] + f[4] * bright + f[5] * sky.zenith
    around = facing / np.maximum(np.cos(sky.zenith), np.cos(np.radians(85.0)))
    found: Array = (1.0 - ring) * 0.5 * (1.0 + np.cos(beta)) + ring * around + band * np.sin(beta)
    return found


_MODELS = {"isotropic": _isotropic, "haydavies": _hay_davies, "perez": _perez}
