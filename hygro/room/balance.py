"""Indoor climates from a moisture balance of the room: ASHRAE 160 intermediate, and hour by hour.

Owns the vapour balance of one well-mixed zone; knows nothing of any wall.
"""

from __future__ import annotations

from typing import Annotated, Literal, NamedTuple

import numpy as np
from pydantic import Field

from hygro.constants import GAS_CONSTANT_VAPOUR
from hygro.declare import declared, tag
from hygro.errors import InputError
from hygro.fields import (
    AirChange,
    Count,
    Flag,
    Humidity,
    MoistureProduction,
    Temperature,
    Volume,
    quantity,
    within,
)
from hygro.room.models import IndoorTemperature, indoor_temperature, limited
from hygro.room.time import (
    AVERAGING_TEXT,
    Array,
    IndoorClimate,
    Outdoor,
    Schedule,
    always,
    averaged,
    hourly,
    scaled,
)
from weather.moistair import saturation_pressure

HOUR = 3600.0
"""[s]"""
PERSON_MOISTURE = 0.05 / HOUR
"""Vapour from a resting adult, 50 g/h; common practice gives 40–60 (from memory). [kg/s]"""
BEDROOM_MOISTURE = {1: 8.0, 2: 12.0, 3: 14.0, 4: 15.0}
"""Generation by bedrooms, ASHRAE 160-2009 (from memory); each further bedroom +1. [kg/d]"""
INTERMEDIATE_FACTOR = 1.36e5
"""c in p_i = p_o,24h + c·ṁ/Q, ASHRAE 160 (from memory); R_v·T_i at 294.7 K. [Pa·m³/kg]"""


NOTHING = always(0.0)
"""Schedule of an unused source."""


def bedroom_moisture(bedrooms: int) -> float:
    """Moisture generation of a dwelling, ASHRAE 160-2009 (from memory). [kg/s]"""
    return (BEDROOM_MOISTURE[min(bedrooms, 4)] + max(0, bedrooms - 4)) / 86400.0


@declared
class Ashrae160Intermediate:
    """Steady balance against the 24-h mean outdoor vapour pressure, ASHRAE 160 (from memory).

    Parameters
    ----------
    volume : float
        Of the dwelling. [m³]
    bedrooms : int
        Fix the moisture generation of the 2009 table; later editions changed it.
    airtight : bool
        0.1 instead of 0.2 air changes per hour.
    temperature : float or TemperatureRule
        [K] or a rule's name.
    rh_limit : float or None
        Highest indoor RH, held by a dehumidifier. [-]
    """

    volume: Volume
    bedrooms: Annotated[Count, Field(ge=1, le=50)]
    airtight: Flag = False
    temperature: IndoorTemperature = "ashrae160_cooling"
    rh_limit: Humidity | None = None
    kind: Literal["ashrae160 intermediate"] = tag(default="ashrae160 intermediate", kw_only=True)

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Return p_i = p_o,24h + c·ṁ/Q."""
        flow = (0.1 if self.airtight else 0.2) * self.volume / HOUR
        source = bedroom_moisture(self.bedrooms)
        mean = averaged(outdoor.vapour_pressure, outdoor.time, "running_24h")
        T, text = indoor_temperature(self.temperature, outdoor)
        p, cap = limited(T, mean + INTERMEDIATE_FACTOR * source / flow, self.rh_limit)
        rule = (
            f"indoor vapour: ASHRAE 160 intermediate method (from memory), {self.bedrooms} "
            f"bedrooms, {flow:.4g} m³/s; {AVERAGING_TEXT['running_24h']}"
        )
        return IndoorClimate(T, p, [rule, text, *([cap] if cap else [])])


@declared
class Buffer:
    """Surfaces that take up and give back vapour, lumped in one node.

    Parameters
    ----------
    area : float
        Of the surfaces. [m²]
    capacity : float
        Water per area and unit of relative humidity. [kg/m²]
    conductance : float
        Between room air and the node. [kg/(m²·s·Pa)]
    """

    area: Annotated[float, *within(1e-3, 1e6)]
    capacity: Annotated[float, *within(1e-9, 100.0)]
    conductance: Annotated[float, *within(0.0, 1e-5)]


def daily_buffer(
    *, area: float, permeability: float, slope: float, T: float = 296.15, film: float = 2e-8
) -> Buffer:
    """Buffer of a thick homogeneous surface for daily swings.

    Effective depth d = √(δ·p_sat·τ/(π·ξ)) with τ = 86 400 s; capacity ξ·d; the node sits d/2 deep
    behind the air film. Valid for layers thicker than d and swings of about a day.

    Parameters
    ----------
    area : float
        [m²]
    permeability : float
        Vapour permeability δ. [kg/(m·s·Pa)]
    slope : float
        Moisture storage ξ = ρ·∂u/∂φ. [kg/m³]
    T : float
        Temperature of the surface. [K]
    film : float
        Surface coefficient, 2e-8 s/m (common practice, no source). [kg/(m²·s·Pa)]
    """
    depth = float(np.sqrt(permeability * saturation_pressure(T) * 86400.0 / (np.pi * slope)))
    return Buffer(area, slope * depth, 1.0 / (1.0 / film + 0.5 * depth / permeability))


@declared
class Balance:
    """Hourly vapour balance of one well-mixed room.

    A schedule is one value, 24 of every day or 168 of a week from Monday 0 h on.

    Parameters
    ----------
    volume : float
        Of the room. [m³]
    air_change : Schedule
        Outdoor air at room density. [1/h]
    production : Schedule
        Vapour from everything but people. [kg/s]
    occupants : Schedule
        Persons present. [1]
    person_moisture : float
        Vapour per person. [kg/s]
    temperature : float or {"en15026", "ashrae160_heating", "ashrae160_cooling"}
        Indoor temperature or its rule. [K]
    open_window_air_change : float
        Further outdoor air in hours whose 24-h mean outdoor temperature exceeds
        `open_window_above`. [1/h]
    open_window_above : float
        18.3 °C, where ASHRAE 160 stops heating (from memory). [K]
    humidify_to, dehumidify_to : float, optional
        Set points, held at the end of each hour as far as the capacity reaches. [1]
    humidifier, dehumidifier : float, optional
        Capacities; left out: as much as it takes. [kg/s]
    buffer : Buffer, optional
        Surfaces that buffer.
    initial_rh : float, optional
        At the first hour; left out: the steady state of the first hour's inputs. [1]
    """

    volume: Volume
    air_change: Annotated[Schedule, *hourly("air change", 0.0, 1e5)]
    production: Annotated[
        Schedule,
        *hourly("moisture production", 0.0, 0.1, likely="kg/day"),
    ] = NOTHING
    occupants: Annotated[Schedule, *hourly("fraction", 0.0, 1e5)] = NOTHING
    person_moisture: Annotated[float, *quantity("moisture production", 0.0, 0.01)] = PERSON_MOISTURE
    temperature: IndoorTemperature = "ashrae160_heating"
    open_window_air_change: AirChange = 0.0
    open_window_above: Temperature = 291.45
    humidify_to: Humidity | None = None
    dehumidify_to: Humidity | None = None
    humidifier: MoistureProduction | None = None
    dehumidifier: MoistureProduction | None = None
    buffer: Buffer | None = None
    initial_rh: Humidity | None = None
    kind: Literal["balance"] = tag(default="balance", kw_only=True)

    def __post_init__(self) -> None:
        """Refuse set points that contradict each other."""
        if (self.humidify_to or 0.0) > (1.0 if self.dehumidify_to is None else self.dehumidify_to):
            raise InputError(
                f"humidify_to = {self.humidify_to} is above dehumidify_to = "
                f"{self.dehumidify_to}: the two machines would fight"
            )

    @property
    def flow_per_change(self) -> float:
        """Air flow of one air change an hour. [m³/s per 1/h]"""
        return self.volume / HOUR

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Return the room air of the balance."""
        result = moisture_balance(self, outdoor)
        return IndoorClimate(result.temperature, result.vapour_pressure, result.assumptions)


class BalanceResult(NamedTuple):
    """Room air at each hour and what the machines did in the hour that follows it."""

    temperature: Array
    """[K]"""
    vapour_pressure: Array
    """[Pa]"""
    humidifier: Array
    """Water added; the last hour has none. [kg/s]"""
    dehumidifier: Array
    """Water removed; the last hour has none. [kg/s]"""
    buffer_rh: Array
    """RH of the buffer node; equals the room's where there is no buffer. [-]"""
    assumptions: list[str]


class _Inputs(NamedTuple):
    T: Array
    p_sat: Array
    flow: Array
    source: Array
    p_o: Array


def _inputs(room: Balance, outdoor: Outdoor, T: Array) -> _Inputs:
    warm = averaged(outdoor.temperature, outdoor.time, "running_24h") > room.open_window_above
    given = scaled(room.air_change, room.flow_per_change).values(outdoor.time)
    flow = given + room.open_window_air_change * room.flow_per_change * warm
    people = room.occupants.values(outdoor.time) * room.person_moisture
    source = room.production.values(outdoor.time) + people
    p = outdoor.vapour_pressure
    p_o = 0.5 * (p + np.append(p[1:], p[-1]))
    return _Inputs(T, np.asarray(saturation_pressure(T, over="water")), flow, source, p_o)


def _propagators(room: Balance, x: _Inputs) -> tuple[Array, Array, Array]:
    """Exact hour: state' = Φ·state + response·(source + g·p_o); returns Φ, response, g.

    State is (room vapour pressure, RH of the buffer node):
    (V/(R_v T)) dp/dt = g (p_o − p) + source + A k (φ p_sat − p), g = flow/(R_v T);
    A c dφ/dt = A k (p − φ p_sat).
    """
    air = room.volume / (GAS_CONSTANT_VAPOUR * x.T)
    g = x.flow / (GAS_CONSTANT_VAPOUR * x.T)
    buffer = room.buffer or Buffer(1.0, 1.0, 0.0)
    area, capacity, conductance = buffer.area, buffer.capacity, buffer.conductance
    exchange = area * conductance
    M = np.empty((len(x.T), 2, 2))
    M[:, 0, 0] = -(g + exchange) / air
    M[:, 0, 1] = exchange * x.p_sat / air
    M[:, 1, 0] = conductance / capacity
    M[:, 1, 1] = -conductance * x.p_sat / capacity
    determinant = g * exchange * x.p_sat / (air * area * capacity)
    phi, integral = _exponential(M, determinant, HOUR)
    return phi, integral[:, :, 0] / air[:, None], g


def _exponential(M: Array, determinant: Array, h: float) -> tuple[Array, Array]:
    """Exponential of M·h and its integral over h, for 2×2 matrices with real eigenvalues ≤ 0.

    f(M) = ½(f1 + f2)·I + (f1 − f2)/(λ1 − λ2)·(M − m·I) with m the mean eigenvalue (Sylvester).
    The determinant comes from the caller, who knows it without cancellation.
    """
    m = 0.5 * (M[:, 0, 0] + M[:, 1, 1])
    s = np.sqrt(np.maximum(m * m - determinant, 0.0))
    fast = m - s
    slow = np.divide(determinant, fast, out=np.zeros_like(m), where=fast < 0.0)
    shifted = M - m[:, None, None] * np.eye(2)

    def function(at_slow: Array, at_fast: Array) -> Array:
        # s = 0 means M = 0 here, where the second term is 0 whatever the quotient.
        quotient = np.divide(at_slow - at_fast, 2.0 * s, out=np.zeros_like(m), where=s > 0.0)
        mean = 0.5 * (at_slow + at_fast)
        return np.asarray(mean[:, None, None] * np.eye(2) + quotient[:, None, None] * shifted)

    def integral(rate: Array) -> Array:
        return np.divide(np.expm1(rate * h), rate, out=np.full_like(m, h), where=rate < 0.0)

    return function(np.exp(slow * h), np.exp(fast * h)), function(integral(slow), integral(fast))


def _start(room: Balance, x: _Inputs) -> tuple[float, str]:
    if room.initial_rh is not None:
        return room.initial_rh * x.p_sat[0], f"room starts at RH {room.initial_rh:g}"
    if x.flow[0] <= 0.0:
        raise InputError("room: initial_rh is needed: the first hour has no ventilation")
    p = x.p_o[0] + x.source[0] * GAS_CONSTANT_VAPOUR * x.T[0] / x.flow[0]
    low, high = _set_points(room, x.p_sat[0])
    return float(np.clip(p, low, high)), "room starts in the steady state of its first hour"


def _set_points(room: Balance, p_sat: float) -> tuple[float, float]:
    low = -np.inf if room.humidify_to is None else room.humidify_to * p_sat
    return low, np.inf if room.dehumidify_to is None else room.dehumidify_to * p_sat


def _most(capacity: float | None) -> float:
    return np.inf if capacity is None else capacity


def moisture_balance(room: Balance, outdoor: Outdoor) -> BalanceResult:
    """Integrate the balance hour by hour; exact for inputs that are constant within an hour.

    Flow, sources and temperature of an hour are those of its start; outdoor vapour pressure is the
    mean of its ends. When the indoor temperature changes, vapour pressure of the air and RH of the
    buffer stay.
    """
    T, text = indoor_temperature(room.temperature, outdoor)
    x = _inputs(room, outdoor, T)
    phi, response, g = _propagators(room, x)
    p0, start = _start(room, x)
    n = len(T)
    state = np.empty((n, 2))
    state[0] = p0, p0 / x.p_sat[0]
    added, removed = np.zeros(n), np.zeros(n)
    forced = x.source + g * x.p_o
    for k in range(n - 1):
        free = phi[k] @ state[k] + response[k] * forced[k]
        low, high = _set_points(room, x.p_sat[k])
        if free[0] < low:
            added[k] = min(_most(room.humidifier), (low - free[0]) / response[k, 0])
        elif free[0] > high:
            removed[k] = min(_most(room.dehumidifier), (free[0] - high) / response[k, 0])
        state[k + 1] = free + response[k] * (added[k] - removed[k])
    rh = state[:, 1] if room.buffer else state[:, 0] / x.p_sat
    words = [
        f"indoor vapour: hourly balance of a well-mixed room of {room.volume:g} m³",
        text,
        start,
    ]
    return BalanceResult(T, state[:, 0], added, removed, rh, words)
