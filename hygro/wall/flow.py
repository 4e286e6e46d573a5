"""Air pressure across a wall, hour by hour, and the flow through its leaks.

Owns stack, wind and fan pressure and the power law; knows nothing of gaps behind cladding
(`gap_flow`), of moisture or of the march. Pressure differences are indoors minus outdoors: positive
drives exfiltration.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt

from hygro.constants import GAS_CONSTANT_AIR, GAS_CONSTANT_VAPOUR, GRAVITY, STANDARD_PRESSURE
from hygro.errors import InputError, near_matches
from weather.arrays import Value

Array = npt.NDArray[np.float64]
Terrain = Literal["open", "suburban", "city"]

TERRAIN: dict[str, tuple[float, float]] = {
    "open": (0.14, 270.0),
    "suburban": (0.22, 370.0),
    "city": (0.33, 460.0),
}
"""Wind exponent and boundary layer thickness [m], ASHRAE Fundamentals ch. 24 (from memory)."""
FLOW_EXPONENT = 0.65
"""Exponent n of cracks (common practice, no source). [-]"""


def air_density(
    T: Value, vapour_pressure: Value | float = 0.0, *, pressure: float = STANDARD_PRESSURE
) -> Value:
    """Density of moist air, ideal gases. [kg/m³]

    Parameters
    ----------
    T : float or array
        [K]
    vapour_pressure : float or array
        [Pa]
    pressure : float
        Total pressure. [Pa]
    """
    dry = (pressure - vapour_pressure) / GAS_CONSTANT_AIR
    return (dry + vapour_pressure / GAS_CONSTANT_VAPOUR) / T


def stack_pressure(
    T_o: Value,
    T_i: Value,
    height: float,
    *,
    p_o: Value | float = 0.0,
    p_i: Value | float = 0.0,
    pressure: float = STANDARD_PRESSURE,
) -> Value:
    """Stack pressure at a height above the neutral plane, Δp = (ρ_o − ρ_i)·g·z. [Pa]

    Parameters
    ----------
    T_o, T_i : float or array
        Outdoor and indoor air temperature. [K]
    height : float
        Above the neutral plane; below it negative. [m]
    p_o, p_i : float or array
        Vapour pressures; 0 leaves moisture out. [Pa]
    pressure : float
        Of the air at the site. [Pa]
    """
    outdoor, indoor = (
        air_density(T_o, p_o, pressure=pressure),
        air_density(T_i, p_i, pressure=pressure),
    )
    return (outdoor - indoor) * GRAVITY * height


def wind_speed_at(
    speed: Value, height: float, *, terrain: Terrain, met_height: float = 10.0
) -> Value:
    """Wind speed at a height on site from that of an open weather station. [m/s]

    U_H = U_met·(δ_met/z_met)^a_met·(H/δ)^a, ASHRAE Fundamentals ch. 24 (from memory). Valid below
    the boundary layer, away from single obstacles.

    Parameters
    ----------
    speed : float or array
        Measured at `met_height` in open country. [m/s]
    height, met_height : float
        Above ground. [m]
    terrain : {"open", "suburban", "city"}
        Around the building.
    """
    if terrain not in TERRAIN:
        raise InputError(f"wind: terrain = '{terrain}'; {near_matches(terrain, TERRAIN)}")
    a_met, delta_met = TERRAIN["open"]
    a, delta = TERRAIN[terrain]
    if not 0.0 < height <= delta:
        raise InputError(f"wind: height = {height}: must be 0–{delta} m above ground")
    return speed * (delta_met / met_height) ** a_met * (height / delta) ** a


def pressure_coefficient(
    angle: npt.ArrayLike, *, side_ratio: float = 1.0, at_normal: float = 0.6
) -> Array:
    """Mean wind pressure coefficient of a wall of a low building. [-]

    Swami & Chandra 1988 (from memory): Cp/Cp(0) = ln(1.248 − 0.703 sin(α/2) − 1.175 sin²α +
    0.131 sin³(2αG) + 0.769 cos(α/2) + 0.07 G² sin²(α/2) + 0.717 cos²(α/2)), G = ln(side ratio),
    Cp(0) = 0.6. Up to three storeys, isolated, side ratio 0.25–4.

    Parameters
    ----------
    angle : float or array
        Between wind direction and the outward normal of the wall; any angle. [deg]
    side_ratio : float
        Width of this wall over that of the adjacent one. [-]
    at_normal : float
        Coefficient at normal incidence. [-]
    """
    if not 0.25 <= side_ratio <= 4.0:
        raise InputError(f"wind: side_ratio = {side_ratio}: must be 0.25–4")
    folded = np.abs((np.asarray(angle, dtype=float) + 180.0) % 360.0 - 180.0)
    a, G = np.deg2rad(folded), np.log(side_ratio)
    s, c = np.sin(a / 2.0), np.cos(a / 2.0)
    inside = 1.248 - 0.703 * s - 1.175 * np.sin(a) ** 2 + 0.131 * np.sin(2.0 * a * G) ** 3
    inside += 0.769 * c + 0.07 * G**2 * s**2 + 0.717 * c**2
    return at_normal * np.log(inside) / np.log(1.248 + 0.769 + 0.717)


@dataclass(frozen=True)
class Exposure:
    """What fixes the pressure at one place of a facade.

    Attributes
    ----------
    azimuth : float
        Of the wall's outward normal, clockwise from north. [deg]
    above_neutral : float
        Height above the neutral plane. [m]
    building_height : float
        Where the wind speed is taken. [m]
    terrain : Terrain
        Around the building.
    fan_pressure : float
        Indoor overpressure by fans. [Pa]
    indoor_coefficient : float
        Wind pressure coefficient of the indoor air; −0.2 for evenly spread leaks (common practice,
        no source). [-]
    side_ratio : float
        Width of this wall over that of the adjacent one. [-]
    """

    azimuth: float
    above_neutral: float
    building_height: float
    terrain: Terrain = "suburban"
    fan_pressure: float = 0.0
    indoor_coefficient: float = -0.2
    side_ratio: float = 1.0

    def __post_init__(self) -> None:
        if not 0.0 <= self.azimuth <= 360.0:
            raise InputError(f"exposure: azimuth = {self.azimuth}: must be 0–360°; in radians?")


class Pressures(NamedTuple):
    """Parts of the pressure difference, indoors minus outdoors. [Pa]"""

    stack: Array
    wind: Array
    fan: Array

    @property
    def total(self) -> Array:
        """Sum of the parts. [Pa]"""
        return self.stack + self.wind + self.fan


def wall_pressures(
    exposure: Exposure,
    *,
    T_o: Array,
    T_i: Array,
    wind_speed: Array,
    wind_direction: Array,
    pressure: float = STANDARD_PRESSURE,
) -> Pressures:
    """Hourly pressure difference across the wall from stack, wind and fans. [Pa]

    Parameters
    ----------
    exposure : Exposure
        The place.
    T_o, T_i : array
        [K]
    wind_speed : array
        At 10 m in open country. [m/s]
    wind_direction : array
        Where the wind comes from, clockwise from north; may be NaN in calm hours. [deg]
    pressure : float
        Of the air at the site. [Pa]
    """
    speed = wind_speed_at(wind_speed, exposure.building_height, terrain=exposure.terrain)
    calm = speed == 0.0
    if np.any(np.isnan(wind_direction) & ~calm):
        k = int(np.argmax(np.isnan(wind_direction) & ~calm))
        raise InputError(f"wind: wind_direction[{k}] is missing although wind blows")
    angle = np.where(calm, 0.0, wind_direction) - exposure.azimuth
    outside = pressure_coefficient(angle, side_ratio=exposure.side_ratio)
    density = air_density(T_o, pressure=pressure)
    wind = 0.5 * density * speed**2 * (exposure.indoor_coefficient - outside)
    stack = stack_pressure(T_o, T_i, exposure.above_neutral, pressure=pressure)
    return Pressures(stack, wind, np.full(np.shape(wind), exposure.fan_pressure))


class Leakage(NamedTuple):
    """Power-law leak q = C·Δp^n."""

    coefficient: float
    """Flow per area at 1 Pa. [m³/(s·m²·Paⁿ)]"""
    exponent: float
    """[-]"""


FlowUnit = Literal["m3/(s·m2)", "L/(s·m2)", "m3/(h·m2)"]
_FLOW_UNITS = {"m3/(s·m2)": 1.0, "L/(s·m2)": 1e-3, "m3/(h·m2)": 1.0 / 3600.0}


def leakage_from_test(
    flow: float, *, unit: FlowUnit, pressure: float, exponent: float = FLOW_EXPONENT
) -> Leakage:
    """Power law through one test point, e.g. 2 L/(s·m²) at 75 Pa or 3 m³/(h·m²) at 50 Pa.

    Parameters
    ----------
    flow : float
        Air flow per area of envelope, in `unit`.
    unit : {"m3/(s·m2)", "L/(s·m2)", "m3/(h·m2)"}
        Unit of `flow`.
    pressure : float
        Test pressure. [Pa]
    exponent : float
        0.5 turbulent to 1 laminar. [-]
    """
    if unit not in _FLOW_UNITS:
        raise InputError(f"leakage: unit = '{unit}'; {near_matches(unit, _FLOW_UNITS)}")
    if not (0.5 <= exponent <= 1.0):
        raise InputError(f"leakage: exponent = {exponent}: must be 0.5–1")
    if not (flow >= 0.0 and pressure > 0.0):
        raise InputError(f"leakage: flow = {flow} at {pressure} Pa: must not be negative")
    return Leakage(flow * _FLOW_UNITS[unit] / pressure**exponent, exponent)


def leak_at(leak: Leakage, pressure: float) -> Leakage:
    """The leak in air of a pressure [Pa]: C = C0 (ρ0/ρ)^(1 − n), ASTM E779 (from memory).

    Thinner air flows faster through an orifice (n = 0.5), as fast through a laminar crack (n = 1).
    """
    thin = STANDARD_PRESSURE / pressure
    return Leakage(leak.coefficient * thin ** (1.0 - leak.exponent), leak.exponent)


def leak_flow(leak: Leakage, pressure: Value) -> Value:
    """Flow through the leak, with the sign of the pressure. [m³/(s·m²)]"""
    return np.sign(pressure) * leak.coefficient * np.abs(pressure) ** leak.exponent


def leak_pressure(leak: Leakage, flow: Value) -> Value:
    """Pressure that drives a flow: the inverse of `leak_flow`. [Pa]"""
    if leak.coefficient <= 0.0:
        raise InputError("leakage: an airtight wall has no pressure for a flow")
    return np.sign(flow) * (np.abs(flow) / leak.coefficient) ** (1.0 / leak.exponent)
