"""Indoor climates by rule: constant, seasonal, by outdoor temperature, by vapour excess, given.

Owns the rules as frozen values, each with one method `climate`; knows nothing of any wall, and
nothing of moisture balances (`room_balance`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np

from hygro.constants import GAS_CONSTANT_VAPOUR
from hygro.errors import InputError
from hygro.wall.room_time import (
    AVERAGING_TEXT,
    Array,
    Averaging,
    IndoorClimate,
    Outdoor,
    averaged,
    check_kelvin,
    check_range,
    check_rh,
)
from weather.moistair import saturation_pressure

TemperatureRule = Literal["en15026", "ashrae160_heating", "ashrae160_cooling"]


class Room(Protocol):
    """Anything that can say what the indoor air is, hour by hour."""

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Indoor temperature and vapour pressure for the outdoor hours."""


def en15026_temperature(T_day: Array) -> Array:
    """Indoor temperature by daily mean outdoor temperature, EN 15026 annex C (from memory). [K]

    20 °C up to 10 °C outdoors, then linear to 25 °C at 20 °C.
    """
    return np.interp(T_day, [283.15, 293.15], [293.15, 298.15])


def ashrae160_temperature(T_24h: Array, *, cooling: bool) -> Array:
    """Indoor temperature by 24-h running mean, ASHRAE 160 section 4.3 (from memory). [K]

    21.1 °C while heating; above 18.3 °C outdoors 2.8 K warmer than the mean, with cooling at most
    23.9 °C.
    """
    floating = np.maximum(T_24h + 2.8, 294.25)
    return np.minimum(floating, 297.05) if cooling else floating


def indoor_temperature(rule: float | TemperatureRule, outdoor: Outdoor) -> tuple[Array, str]:
    """Hourly indoor temperature [K] and the words that say how it was found."""
    T = outdoor.temperature
    if rule == "en15026":
        mean = averaged(T, outdoor.time, "calendar_day")
        return en15026_temperature(mean), "indoor temperature after EN 15026 (from memory)"
    if rule in ("ashrae160_heating", "ashrae160_cooling"):
        mean = averaged(T, outdoor.time, "running_24h")
        cooling = rule == "ashrae160_cooling"
        text = f"indoor temperature after ASHRAE 160, cooling={cooling} (from memory)"
        return ashrae160_temperature(mean, cooling=cooling), text
    if isinstance(rule, str):
        raise InputError(f"room: temperature = '{rule}': give kelvin, or a known rule")
    check_kelvin("room.temperature", rule)
    return np.full(T.shape, float(rule)), f"indoor temperature constant at {rule:g} K"


def _from_rh(T: Array, rh: Array | float, assumptions: list[str]) -> IndoorClimate:
    return IndoorClimate(T, rh * saturation_pressure(T, over="water"), assumptions)


def limited(T: Array, p: Array, rh_limit: float | None) -> tuple[Array, str | None]:
    """Vapour pressure held at or below a relative humidity that the user asks for."""
    if rh_limit is None:
        return p, None
    top = rh_limit * saturation_pressure(T, over="water")
    text = f"indoor RH held at or below {rh_limit:g} in {int(np.sum(p > top))} h"
    return np.minimum(p, top), text


@dataclass(frozen=True)
class Constant:
    """Constant temperature [K] and relative humidity [-]."""

    temperature: float
    rh: float

    def __post_init__(self) -> None:
        check_kelvin("room.temperature", self.temperature)
        check_rh("room.rh", self.rh)

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Return the same state in every hour."""
        T = np.full(outdoor.temperature.shape, self.temperature)
        return _from_rh(
            T, self.rh, [f"indoor air constant, {self.temperature:g} K, RH {self.rh:g}"]
        )


@dataclass(frozen=True)
class Seasonal:
    """A cosine over the calendar year between winter and summer values.

    Attributes
    ----------
    winter_temperature, summer_temperature : float
        [K]
    winter_rh, summer_rh : float
        [-]
    summer_day : float
        Day of the year of the summer extreme, 1 = 1 January. Default 15 July, 196 (common
        practice, no source); in the southern hemisphere 15.
    """

    winter_temperature: float
    summer_temperature: float
    winter_rh: float
    summer_rh: float
    summer_day: float = 196.0

    def __post_init__(self) -> None:
        check_kelvin("room.winter_temperature", self.winter_temperature)
        check_kelvin("room.summer_temperature", self.summer_temperature)
        check_rh("room.winter_rh", self.winter_rh)
        check_rh("room.summer_rh", self.summer_rh)
        check_range("room.summer_day", self.summer_day, 1.0, 366.0, "day of the year")

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Return the state on the cosine in every hour."""
        first = outdoor.time.astype("datetime64[Y]")
        day = (outdoor.time - first.astype("datetime64[h]")) / np.timedelta64(24, "h")
        length = ((first + 1).astype("datetime64[D]") - first.astype("datetime64[D]")).astype(int)
        warm = 0.5 + 0.5 * np.cos(2.0 * np.pi * (day - (self.summer_day - 1.0)) / length)
        T = self.winter_temperature + (self.summer_temperature - self.winter_temperature) * warm
        rh = self.winter_rh + (self.summer_rh - self.winter_rh) * warm
        return _from_rh(T, rh, [f"indoor air on a yearly cosine, summer day {self.summer_day:g}"])


@dataclass(frozen=True)
class OutdoorRule:
    """Indoor RH as a broken line over a mean of outdoor temperature.

    Attributes
    ----------
    name, source : str
        For the list of assumptions.
    outdoor : tuple of float
        Rising outdoor temperatures of the corners; constant beyond. [K]
    rh : tuple of float
        Indoor relative humidity at the corners. [-]
    temperature : float or TemperatureRule
        [K] or a rule's name.
    averaging : Averaging
        Which mean of outdoor temperature is meant.
    """

    name: str
    source: str
    outdoor: tuple[float, ...]
    rh: tuple[float, ...]
    temperature: float | TemperatureRule
    averaging: Averaging = "calendar_day"

    def __post_init__(self) -> None:
        check_rh(f"{self.name}.rh", self.rh)
        if len(self.outdoor) != len(self.rh) or np.any(np.diff(self.outdoor) <= 0.0):
            raise InputError(f"{self.name}: outdoor must rise and be as long as rh")

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Return temperature by its rule and humidity by the broken line."""
        mean = averaged(outdoor.temperature, outdoor.time, self.averaging)
        T, text = indoor_temperature(self.temperature, outdoor)
        rule = f"indoor RH: {self.name}, {self.source}; {AVERAGING_TEXT[self.averaging]}"
        return _from_rh(T, np.interp(mean, self.outdoor, self.rh), [rule, text])


@dataclass(frozen=True)
class MoistureExcess:
    """Vapour excess of the indoor air as a broken line over mean outdoor temperature.

    Attributes
    ----------
    name, source : str
        For the list of assumptions.
    outdoor : tuple of float
        Rising outdoor temperatures of the corners; constant beyond. [K]
    excess : tuple of float
        Excess at the corners: pressure [Pa] or density [kg/m³].
    quantity : "pressure" or "density"
        A density excess counts densities of outdoor and indoor air at their own temperatures.
    temperature : float or TemperatureRule
        [K] or a rule's name.
    averaging : Averaging
        Mean of outdoor temperature and vapour pressure; ISO 13788 means months.
    rh_limit : float or None
        Highest indoor RH, held by a dehumidifier or opened windows. [-]
    """

    name: str
    source: str
    outdoor: tuple[float, ...]
    excess: tuple[float, ...]
    quantity: Literal["pressure", "density"]
    temperature: float | TemperatureRule = 293.15
    averaging: Averaging = "month"
    rh_limit: float | None = None

    def __post_init__(self) -> None:
        if self.rh_limit is not None:
            check_rh(f"{self.name}.rh_limit", self.rh_limit)
        if len(self.outdoor) != len(self.excess) or np.any(np.diff(self.outdoor) <= 0.0):
            raise InputError(f"{self.name}: outdoor must rise and be as long as excess")

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Return outdoor vapour plus the excess."""
        T_mean = averaged(outdoor.temperature, outdoor.time, self.averaging)
        p_mean = averaged(outdoor.vapour_pressure, outdoor.time, self.averaging)
        T, text = indoor_temperature(self.temperature, outdoor)
        more = np.interp(T_mean, self.outdoor, self.excess)
        if self.quantity == "pressure":
            p = p_mean + more
        else:
            p = (p_mean / (GAS_CONSTANT_VAPOUR * T_mean) + more) * GAS_CONSTANT_VAPOUR * T
        p, cap = limited(T, p, self.rh_limit)
        rule = f"indoor vapour: {self.name}, {self.source}; {AVERAGING_TEXT[self.averaging]}"
        return IndoorClimate(T, p, [rule, text, *([cap] if cap else [])])


@dataclass(frozen=True, eq=False)
class Series:
    """Indoor air from a file's hourly arrays, aligned with the outdoor hours.

    Attributes
    ----------
    temperature : array
        [K]
    vapour_pressure : array
        [Pa]
    source : str
        Where they come from.
    """

    temperature: Array
    vapour_pressure: Array
    source: str

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Return the arrays; they must be as long as the outdoor hours."""
        n = len(outdoor.time)
        if len(self.temperature) != n or len(self.vapour_pressure) != n:
            raise InputError(
                f"room series: {len(self.temperature)} and {len(self.vapour_pressure)} hours, but "
                f"{n} outdoors; is the year a leap year?"
            )
        check_kelvin("room series.temperature", self.temperature)
        text = f"indoor air from {self.source}"
        return IndoorClimate(np.asarray(self.temperature), np.asarray(self.vapour_pressure), [text])
