"""Air change of a gap behind cladding, hour by hour, from wind and buoyancy.

Owns the flow resistance of openings and channel and the balance of heat that sets the gap's own
temperature for this purpose; knows nothing of the march. Flow is counted upward.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from hygro.constants import GRAVITY, HEAT_CAPACITY_AIR, STANDARD_PRESSURE
from hygro.data_files import table
from hygro.errors import InputError, SolveError, near_matches
from hygro.wall.flow import air_density
from weather.arrays import Numbers, Value

Array = npt.NDArray[np.float64]

VISCOSITY = 1.8e-5
"""Dynamic viscosity of air near 15 °C (handbook, from memory). [Pa·s]"""


@dataclass(frozen=True)
class GapGeometry:
    """A gap with openings at bottom and top.

    Attributes
    ----------
    depth : float
        [m]
    height : float
        Between the openings. [m]
    bottom, top : float
        Free area of the openings per width of wall. [m²/m]
    discharge : float
        Discharge coefficient of the openings, 0.61 sharp-edged (handbook, from memory); insect
        screens lower it. [-]
    wind_coefficient : float
        Wind pressure coefficient at the bottom less that at the top opening; 0.1: common practice,
        no source. [-]
    blocked : float
        Share of the channel that battens take. [-]
    """

    depth: float
    height: float
    bottom: float
    top: float
    discharge: float = 0.61
    wind_coefficient: float = 0.1
    blocked: float = 0.0

    def __post_init__(self) -> None:
        for key, most in (("depth", 0.5), ("height", 200.0), ("bottom", 0.5), ("top", 0.5)):
            value = getattr(self, key)
            if not 0.0 < value <= most:
                raise InputError(
                    f"gap: {key} = {value}: must be above 0 and at most {most}; in mm?"
                )
        if not 0.0 < self.discharge <= 1.0:
            raise InputError(f"gap: discharge = {self.discharge}: must be 0–1")
        if not 0.0 <= self.blocked < 1.0:
            raise InputError(f"gap: blocked = {self.blocked}: must be 0–1; in percent?")


class GapWeather(NamedTuple):
    """Hourly surroundings of the gap."""

    T_o: Array
    """Outdoor air. [K]"""
    p_o: Array
    """Outdoor vapour pressure. [Pa]"""
    T_cladding: Array
    """Sol-air temperature outside of the cladding. [K]"""
    T_i: Array
    """Indoor air. [K]"""
    wind_speed: Array
    """At the facade. [m/s]"""
    pressure: float = STANDARD_PRESSURE
    """Of the air at the site. [Pa]"""


class GapState(NamedTuple):
    """Hourly flow in the gap."""

    velocity: Array
    """Mean in the channel, upward positive. [m/s]"""
    air_change: Array
    """Without sign. [1/s]"""
    temperature: Array
    """Mean of the gap air as assumed for buoyancy. [K]"""


def loss_coefficient(gap: GapGeometry) -> float:
    """Local losses of both openings, ζ = Σ (A_gap/(C_d·A_open))², on channel velocity. [-]"""
    channel = gap.depth * (1.0 - gap.blocked)
    return sum((channel / (gap.discharge * opening)) ** 2 for opening in (gap.bottom, gap.top))


def friction_factor(reynolds: Value) -> Value:
    """Friction factor between parallel plates on the hydraulic diameter 2·depth. [-]

    The greater of 96/Re (laminar, exact) and 0.3164/Re^0.25 (Blasius, to Re 10⁵, from memory);
    they cross near Re 2040.
    """
    re = np.maximum(reynolds, 1e-12)
    return np.maximum(96.0 / re, 0.3164 / re**0.25)


def pressure_loss(gap: GapGeometry, velocity: Value, density: Value | float) -> Value:
    """Pressure that drives a velocity through openings and channel. [Pa]

    Δp = (ζ + f·H/D)·½ρu², D = 2·depth; the laminar channel part is 12·μ·H·u/d².
    """
    u = np.abs(velocity)
    D = 2.0 * gap.depth
    friction = friction_factor(density * u * D / VISCOSITY) * gap.height / D
    return np.sign(velocity) * (loss_coefficient(gap) + friction) * 0.5 * density * u**2


def channel_velocity(gap: GapGeometry, pressure: Numbers, density: Numbers) -> Array:
    """Velocity for a driving pressure, with its sign: the inverse of `pressure_loss`. [m/s]

    Laminar flow by the closed form of the quadratic; where that comes out turbulent, fixed-point
    iteration on the friction factor.

    Raises
    ------
    SolveError
        If the iteration does not settle (it contracts by about 1/8 per step, so it should).
    """
    drive, rho = np.broadcast_arrays(np.abs(np.asarray(pressure, dtype=float)), density)
    a = 0.5 * rho * loss_coefficient(gap)
    b = 12.0 * VISCOSITY * gap.height / gap.depth**2
    # 2Δp/(b + √(b² + 4aΔp)) keeps its digits where the quadratic term is small.
    u = 2.0 * drive / (b + np.sqrt(b * b + 4.0 * a * drive))
    D = 2.0 * gap.depth
    turbulent = friction_factor(rho * u * D / VISCOSITY) > 96.0 * VISCOSITY / (
        np.maximum(rho * u * D, 1e-12)
    ) * (1.0 + 1e-12)
    for _ in range(60):
        f = friction_factor(rho * u * D / VISCOSITY)
        zeta = loss_coefficient(gap) + f * gap.height / D
        better = np.where(turbulent, np.sqrt(2.0 * drive / (rho * zeta)), u)
        # 1e-12 relative: the contraction reaches round-off in some 15 steps.
        if np.all(np.abs(better - u) <= 1e-12 * (u + 1e-12)):
            return np.asarray(np.sign(pressure) * better)
        u = better
    raise SolveError("gap flow: friction factor did not settle; check depth and height of the gap")


def driving_pressure(
    gap: GapGeometry, weather: GapWeather, T_gap: Array, p_gap: Array | None = None
) -> Array:
    """Upward driving pressure from wind, heat and (if given) the lightness of moist air. [Pa]

    ½ρ_o·U²·ΔCp + (ρ_o − ρ_gap)·g·H. Without `p_gap` the gap air is as moist as outdoors.
    """
    rho_o = air_density(weather.T_o, weather.p_o, pressure=weather.pressure)
    moist = weather.p_o if p_gap is None else p_gap
    rho_gap = air_density(T_gap, moist, pressure=weather.pressure)
    wind = 0.5 * rho_o * weather.wind_speed**2 * gap.wind_coefficient
    return np.asarray(wind + (rho_o - rho_gap) * GRAVITY * gap.height)


def gap_ventilation(
    gap: GapGeometry,
    weather: GapWeather,
    *,
    R_cladding: float,
    R_wall: float,
    p_gap: Array | None = None,
) -> GapState:
    """Hourly air change of the gap with the gap temperature that goes with it.

    Quasi-steady and well mixed over the height: T_gap = (U_c·T_cladding + U_w·T_i + C·T_o)/(U_c +
    U_w + C), C = ρ·c·u·d/H. Flow and temperature are found together by bisection between outdoor
    temperature and the temperature of a gap without flow, where the balance always changes sign.
    Sun and sky stand in `T_cladding`.

    Parameters
    ----------
    gap : GapGeometry
        The gap.
    weather : GapWeather
        Hourly arrays.
    R_cladding : float
        From the sol-air temperature to the gap air. [m²·K/W]
    R_wall : float
        From the gap air to indoors. [m²·K/W]
    p_gap : array, optional
        Vapour pressure in the gap, for moist buoyancy. [Pa]
    """
    if R_cladding <= 0.0 or R_wall <= 0.0:
        raise InputError("gap: R_cladding and R_wall must be above 0 m²·K/W")
    U_c, U_w = 1.0 / R_cladding, 1.0 / R_wall
    still = (U_c * weather.T_cladding + U_w * weather.T_i) / (U_c + U_w)
    rho = air_density(weather.T_o, weather.p_o, pressure=weather.pressure)
    per_speed = rho * HEAT_CAPACITY_AIR * gap.depth * (1.0 - gap.blocked) / gap.height

    def velocity(T: Array) -> Array:
        return channel_velocity(gap, driving_pressure(gap, weather, T, p_gap), rho)

    near, far = weather.T_o.astype(float), still
    # 40 halvings of at most 100 K leave 1e-10 K.
    for _ in range(40):
        mid = 0.5 * (near + far)
        C = per_speed * np.abs(velocity(mid))
        balance = (U_c + U_w) * (still - mid) + C * (weather.T_o - mid)
        outward = balance * (still - weather.T_o) > 0.0
        near, far = np.where(outward, mid, near), np.where(outward, far, mid)
    T = 0.5 * (near + far)
    u = velocity(T)
    return GapState(u, np.abs(u) / gap.height, T)


class AirChange(NamedTuple):
    """Usual air change behind a cladding. [1/s]"""

    low: float
    high: float
    source: str


def cladding_air_change(cladding: str) -> AirChange:
    """Usual range of air change behind a kind of cladding, with its source.

    Raises
    ------
    InputError
        An unknown kind, with near matches.
    """
    rows = table("hygro.wall", "cladding_ventilation")
    if cladding not in rows:
        raise InputError(f"cladding: '{cladding}' is not known; {near_matches(cladding, rows)}")
    row = rows[cladding]
    low, high = (value / 3600.0 for value in row["air_changes_per_hour"])
    return AirChange(low, high, row["source"])
