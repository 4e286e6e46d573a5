"""Driving rain on a wall, by ISO 15927-3 and by ASHRAE 160; knows no radiation."""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

import numpy as np
import xarray as xr

from weather.arrays import Array, Value
from weather.canonical import needed
from weather.constants import HOUR_SECONDS
from weather.errors import fault
from weather.quality import require_rain

RainMethod = Literal["iso15927", "ashrae160"]
Terrain = Literal["I", "II", "III", "IV"]
Exposure = Literal["severe", "medium", "sheltered"]
Deposition = Literal["steep roof", "low-slope roof", "run-off"]
WallKind = Literal[
    "two-storey gable",
    "three-storey gable",
    "flat roof, top 2.5 m",
    "flat roof, below top 2.5 m",
    "two-storey eaves",
    "three-storey eaves",
]


class _Roughness(NamedTuple):
    factor: float
    length: float
    lowest: float


TERRAIN: dict[str, _Roughness] = {
    "I": _Roughness(0.17, 0.01, 2.0),
    "II": _Roughness(0.19, 0.05, 4.0),
    "III": _Roughness(0.22, 0.3, 8.0),
    "IV": _Roughness(0.24, 1.0, 16.0),
}
"""ISO 15927-3: K_R [1], z0 [m], z_min [m]; I open water or flat land, II farmland, III suburb or
forest, IV town."""

WALL_FACTOR: dict[str, float] = {
    "two-storey gable": 0.4,
    "three-storey gable": 0.3,
    "flat roof, top 2.5 m": 0.5,
    "flat roof, below top 2.5 m": 0.2,
    "two-storey eaves": 0.3,
    "three-storey eaves": 0.4,
}
"""ISO 15927-3 wall factor W (from memory; the last one doubtful). [1]"""

_OBSTRUCTION = (
    (4.0, 0.2),
    (8.0, 0.3),
    (15.0, 0.4),
    (25.0, 0.5),
    (40.0, 0.6),
    (60.0, 0.7),
    (80.0, 0.8),
    (100.0, 0.9),
    (120.0, 1.0),
)

_HEIGHTS = (10.0, 15.0, 20.0, 30.0, 40.0, 50.0)
EXPOSURE: dict[str, tuple[float, ...]] = {
    "severe": (1.3, 1.3, 1.4, 1.5, 1.5, 1.5, 1.5),
    "medium": (1.0, 1.1, 1.2, 1.3, 1.4, 1.5, 1.5),
    "sheltered": (0.7, 0.8, 0.9, 1.1, 1.2, 1.3, 1.5),
}
"""ASHRAE 160 F_E for heights below 10, 15, 20, 30, 40, 50 m and above (from memory). [1]"""

DEPOSITION: dict[str, float] = {"steep roof": 0.35, "low-slope roof": 0.5, "run-off": 1.0}
"""ASHRAE 160 F_D: below a steep or low-slope roof, or subject to run-off (from memory). [1]"""

RAIN_LOAD_FACTOR = 0.2
"""ASHRAE 160 F_L. [kg·s/(m³·mm)]"""


class IsoFactors(NamedTuple):
    """Factors from free driving rain to the wall, ISO 15927-3. [1]"""

    roughness: float = 1.0067
    """C_R; default terrain II at 10 m (computed from the printed formula)."""
    topography: float = 1.0
    """C_T; 1 on flat ground."""
    obstruction: float = 1.0
    """O; 1 without an obstacle within 120 m."""
    wall: float = 0.4
    """W; default two-storey gable."""

    @property
    def product(self) -> float:
        """Product of all, C_R·C_T·O·W. [1]"""
        return self.roughness * self.topography * self.obstruction * self.wall


class AshraeFactors(NamedTuple):
    """Factors of ASHRAE 160. [1]"""

    exposure: float = 1.0
    """F_E; default medium exposure below 10 m."""
    deposition: float = 0.5
    """F_D; default below a low-slope roof."""

    @property
    def product(self) -> float:
        """Product of both, F_E·F_D. [1]"""
        return self.exposure * self.deposition


def iso_factors(
    *,
    terrain: Terrain,
    height: float,
    wall: WallKind,
    obstacle_distance: float | None = None,
    topography: float = 1.0,
) -> IsoFactors:
    """Find the factors of ISO 15927-3 by names.

    Parameters
    ----------
    terrain : {"I", "II", "III", "IV"}
        Open water or flat land, farmland, suburb or forest, town.
    height : float
        Of the place on the wall above ground, 0 or more. [m]
    wall : str
        Kind of the wall and place on it, a key of `weather.rain.WALL_FACTOR`.
    obstacle_distance : float, optional
        To the next obstacle as high as the wall, 4 or more. [m]
    topography : float
        C_T; 1 on flat ground. [1]

    Raises
    ------
    WeatherError
        A name is not known, or a number is out of its range.
    """
    if wall not in WALL_FACTOR:
        raise fault("wall", f"'{wall}' is not known", f"choose from {', '.join(WALL_FACTOR)}")
    obstruction = 1.0 if obstacle_distance is None else obstruction_factor(obstacle_distance)
    return IsoFactors(roughness_factor(terrain, height), topography, obstruction, WALL_FACTOR[wall])


def ashrae_factors(*, exposure: Exposure, height: float, deposition: Deposition) -> AshraeFactors:
    """Find the factors of ASHRAE 160 by names.

    Parameters
    ----------
    exposure : str
        How open the terrain is, a key of `weather.rain.EXPOSURE`.
    height : float
        Of the building, 0 or more. [m]
    deposition : str
        What shelters the wall, a key of `weather.rain.DEPOSITION`.

    Raises
    ------
    WeatherError
        A name is not known, or the height is negative.
    """
    if deposition not in DEPOSITION:
        raise fault("deposition", f"'{deposition}' is not known", ", ".join(DEPOSITION))
    return AshraeFactors(exposure_factor(exposure, height), DEPOSITION[deposition])


def roughness_factor(terrain: Terrain, height: float) -> float:
    """C_R of ISO 15927-3 at a height [m]: K_R·ln(z/z0), not below the value at z_min. [1]"""
    if terrain not in TERRAIN:
        raise fault("terrain", f"'{terrain}' is not known", f"choose from {', '.join(TERRAIN)}")
    if height < 0.0:
        raise fault("height", f"{height:g} m: must be 0 or more")
    row = TERRAIN[terrain]
    return row.factor * math.log(max(height, row.lowest) / row.length)


def obstruction_factor(distance: float) -> float:
    """O of ISO 15927-3 by distance [m] to the next obstacle of the wall's height (memory). [1]"""
    if distance < _OBSTRUCTION[0][0]:
        raise fault("distance", f"{distance:g} m: the table begins at 4 m")
    return [factor for start, factor in _OBSTRUCTION if distance >= start][-1]


def exposure_factor(exposure: Exposure, height: float) -> float:
    """F_E of ASHRAE 160 by exposure and building height [m] (from memory). [1]"""
    if exposure not in EXPOSURE:
        raise fault("exposure", f"'{exposure}' is not known", f"choose from {', '.join(EXPOSURE)}")
    if height < 0.0:
        raise fault("height", f"{height:g} m: must be 0 or more")
    return EXPOSURE[exposure][sum(height >= edge for edge in _HEIGHTS)]


def free_driving_rain_iso15927(
    wind_speed: Value, wind_direction: Value, rain: Value, *, azimuth: float
) -> Value:
    """Driving rain through a vertical plane in open country, each hour. [kg/m² in the hour]

    ISO 15927-3, hourly method: I = 2/9·v·r^(8/9)·cos(D − θ) where the cosine is positive.

    Parameters
    ----------
    wind_speed, wind_direction : float or array
        Hourly at 10 m [m/s]; where it comes from, clockwise from north [degree].
    rain : float or array
        Rain of the hour without snow. [mm] or [kg/m²]
    azimuth : float
        Outward normal of the wall, clockwise from north. [degree]
    """
    free: Value = 2.0 / 9.0 * wind_speed * rain ** (8.0 / 9.0) * _facing(wind_direction, azimuth)
    return free


def free_driving_rain_ashrae160(
    wind_speed: Value, wind_direction: Value, rain: Value, *, azimuth: float
) -> Value:
    """F_L·U·cos θ·r of ASHRAE 160 with F_L = 0.2, each hour. [kg/m² in the hour]

    Arguments as in `free_driving_rain_iso15927`.
    """
    free: Value = RAIN_LOAD_FACTOR * wind_speed * rain * _facing(wind_direction, azimuth)
    return free


def driving_rain(
    dataset: xr.Dataset,
    *,
    azimuth: float,
    method: RainMethod,
    factors: IsoFactors | AshraeFactors | None = None,
) -> Array:
    """Rain striking a wall, mean of each hour; snow and calm give none. [kg/(m²·s)]

    The wind at the stamp that ends the hour stands for the hour.

    Parameters
    ----------
    dataset : Dataset
        With rain, wind_speed, wind_direction.
    azimuth : float
        Outward normal of the wall, clockwise from north. [degree]
    method : {"iso15927", "ashrae160"}
        Formula; each takes its own factors.
    factors : IsoFactors or AshraeFactors, optional
        Defaults of the method when not given; all ones give free driving rain.

    Raises
    ------
    WeatherError
        When the weather has no credible rain, or the factors belong to the other method.
    """
    require_rain(dataset)
    chosen = _factors(method, factors)
    purpose = "driving rain"
    wind = needed(dataset, "wind_speed", purpose=purpose)
    direction = needed(dataset, "wind_direction", purpose=purpose)
    rain = needed(dataset, "rain", purpose=purpose)
    form = free_driving_rain_iso15927 if method == "iso15927" else free_driving_rain_ashrae160
    free = np.asarray(form(wind, direction, rain, azimuth=azimuth))
    return free * chosen.product / HOUR_SECONDS


def _factors(method: str, factors: IsoFactors | AshraeFactors | None) -> IsoFactors | AshraeFactors:
    kinds = {"iso15927": IsoFactors, "ashrae160": AshraeFactors}
    if method not in kinds:
        raise fault("rain_method", f"'{method}' is not known", f"choose from {', '.join(kinds)}")
    if factors is None:
        return IsoFactors() if method == "iso15927" else AshraeFactors()
    if not isinstance(factors, kinds[method]):
        raise fault("rain_factors", f"{type(factors).__name__} do not belong to {method}")
    for name, value in factors._asdict().items():
        if not 0.0 <= value <= 3.0:
            raise fault(f"rain_factors, {name}", f"{value:g}: must be 0–3")
    return factors


def _facing(wind_direction: Value, azimuth: float) -> Value:
    """Cosine between wind and normal, 0 from behind."""
    cosine: Value = np.maximum(np.cos(np.radians(wind_direction - azimuth)), 0.0)
    return cosine
