"""Indoor climates by rule: constant, seasonal, by outdoor temperature, by vapour excess, given.

Owns the rules as frozen values, each with one method `climate`; knows nothing of any wall, and
nothing of moisture balances (`room_balance`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal, Protocol, get_args

import numpy as np
from pydantic import BeforeValidator, WithJsonSchema

from hygro.constants import GAS_CONSTANT_VAPOUR, ZERO_CELSIUS
from hygro.data_files import table
from hygro.declare import declared, set_once, tag
from hygro.errors import InputError, near_matches
from hygro.fields import (
    Humidity,
    Name,
    Number,
    RoomTemperature,
    Temperature,
    Text,
    read,
    schema,
    within,
)
from hygro.room.time import (
    AVERAGING_TEXT,
    Array,
    Averaging,
    IndoorClimate,
    Outdoor,
    averaged,
    check_kelvin,
)
from hygro.types import Data
from weather.moistair import saturation_pressure

TemperatureRule = Literal["en15026", "ashrae160_heating", "ashrae160_cooling"]
RULES = get_args(TemperatureRule)
"""Named rules for the indoor temperature."""


_BOUNDS = (223.15, 343.15)


def _temperature_or_rule(value: object) -> object:
    if value in RULES:
        return value
    if isinstance(value, str) and value[:1].isalpha():
        raise InputError(f"{value!r}: no temperature and no rule; {near_matches(value, RULES)}")
    return read(value, "temperature", *_BOUNDS, likely="degC degF")


IndoorTemperature = Annotated[
    float | TemperatureRule,
    BeforeValidator(_temperature_or_rule),
    WithJsonSchema({"anyOf": [{"enum": list(RULES)}, schema("temperature", *_BOUNDS)]}),
]


class Room(Protocol):
    """Anything that can say what the indoor air is, hour by hour."""

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Indoor temperature and vapour pressure for the outdoor hours."""


A_ROOM = (
    "a room, which says what the indoor air is: take one with hygro.get_room('en15026_normal') or "
    "make one, as hygro.Constant"
)


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
    assert not isinstance(rule, str)  # one of the rules
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


@declared
class Constant:
    """Constant temperature and relative humidity.

    Parameters
    ----------
    temperature : float
        Indoor air. [K]
    rh : float
        Relative humidity. [1]
    """

    temperature: RoomTemperature
    rh: Humidity
    kind: Literal["constant"] = tag(default="constant", kw_only=True)

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Return the same state in every hour."""
        T = np.full(outdoor.temperature.shape, self.temperature)
        return _from_rh(
            T, self.rh, [f"indoor air constant, {self.temperature:g} K, RH {self.rh:g}"]
        )


@declared
class Seasonal:
    """A cosine over the calendar year between winter and summer values.

    Parameters
    ----------
    winter_temperature, summer_temperature : float
        Indoor air. [K]
    winter_rh, summer_rh : float
        Relative humidity. [1]
    summer_day : float
        Day of the year of the summer extreme, 1 = 1 January. Default 15 July, 196 (common
        practice, no source); in the southern hemisphere 15.
    """

    winter_temperature: RoomTemperature
    summer_temperature: RoomTemperature
    winter_rh: Humidity
    summer_rh: Humidity
    summer_day: Annotated[float, *within(1.0, 366.0, "day of the year")] = 196.0
    kind: Literal["seasonal"] = tag(default="seasonal", kw_only=True)

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Return the state on the cosine in every hour."""
        first = outdoor.time.astype("datetime64[Y]")
        day = (outdoor.time - first.astype("datetime64[h]")) / np.timedelta64(24, "h")
        length = ((first + 1).astype("datetime64[D]") - first.astype("datetime64[D]")).astype(int)
        warm = 0.5 + 0.5 * np.cos(2.0 * np.pi * (day - (self.summer_day - 1.0)) / length)
        T = self.winter_temperature + (self.summer_temperature - self.winter_temperature) * warm
        rh = self.winter_rh + (self.summer_rh - self.winter_rh) * warm
        return _from_rh(T, rh, [f"indoor air on a yearly cosine, summer day {self.summer_day:g}"])


@declared
class OutdoorRule:
    """Indoor RH as a broken line over a mean of outdoor temperature.

    Parameters
    ----------
    rule : str
        A rule of `data/rules.toml` such as "en15026_normal", or the name of your own.
    temperature : float or {"en15026", "ashrae160_heating", "ashrae160_cooling"}, optional
        Indoor temperature or its rule; left out: as the named rule has it. [K]
    outdoor : list of float
        For a rule of your own: rising outdoor temperatures of the corners; constant beyond. [K]
    rh : list of float
        For a rule of your own: indoor relative humidity at the corners. [1]
    averaging : {"calendar_day", "running_24h", "month", "none"}
        Which mean of outdoor temperature is meant.
    source : str
        Where the rule is from.
    """

    rule: Name
    temperature: IndoorTemperature | None = None
    outdoor: tuple[Temperature, ...] = ()
    rh: tuple[Humidity, ...] = ()
    averaging: Averaging = "calendar_day"
    source: Text = ""
    kind: Literal["rule"] = tag(default="rule", kw_only=True)

    def __post_init__(self) -> None:
        """Settle a named rule; refuse corners that are no line."""
        if not self.outdoor and not self.rh:
            for key, value in named_rule("rh", self.rule).items():
                if key != "temperature" or self.temperature is None:
                    set_once(self, key, value)
        if self.temperature is None:
            raise InputError("temperature: missing; a rule of your own needs it")
        _check_corners(self.outdoor, self.rh, "rh")

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Return temperature by its rule and humidity by the broken line."""
        assert self.temperature is not None  # settled above
        mean = averaged(outdoor.temperature, outdoor.time, self.averaging)
        T, text = indoor_temperature(self.temperature, outdoor)
        rule = f"indoor RH: {self.rule}, {self.source}; {AVERAGING_TEXT[self.averaging]}"
        return _from_rh(T, np.interp(mean, self.outdoor, self.rh), [rule, text])


@declared
class MoistureExcess:
    """Vapour excess of the indoor air as a broken line over mean outdoor temperature.

    Parameters
    ----------
    rule : str
        A rule of `data/rules.toml` such as "iso13788_class3", or the name of your own.
    temperature : float or {"en15026", "ashrae160_heating", "ashrae160_cooling"}
        Indoor temperature or its rule; 20 °C is common practice with ISO 13788. [K]
    margin : float
        Multiplies the excess; the 2001 edition of ISO 13788 asks for 1.10 (from memory). [1]
    rh_limit : float, optional
        Highest indoor RH, held by a dehumidifier or opened windows. [1]
    averaging : {"calendar_day", "running_24h", "month", "none"}, optional
        Mean of outdoor temperature and vapour pressure; left out: as the named rule has it, else
        calendar months as ISO 13788 has them.
    outdoor : list of float
        For a rule of your own: rising outdoor temperatures of the corners; constant beyond. [K]
    excess : list of float
        For a rule of your own: excess at the corners, pressure [Pa] or density [kg/m³].
    quantity : {"pressure", "density"}
        A density excess counts densities of outdoor and indoor air at their own temperatures.
    source : str
        Where the rule is from.
    """

    rule: Name
    temperature: IndoorTemperature = 293.15
    margin: Annotated[float, *within(0.01, 3.0, "a factor, such as 1.10")] = 1.0
    rh_limit: Humidity | None = None
    averaging: Averaging | None = None
    outdoor: tuple[Temperature, ...] = ()
    excess: tuple[Number, ...] = ()
    quantity: Literal["pressure", "density"] = "pressure"
    source: Text = ""
    kind: Literal["excess"] = tag(default="excess", kw_only=True)

    def __post_init__(self) -> None:
        """Settle a named rule; refuse corners that are no line."""
        if not self.outdoor and not self.excess:
            for key, value in named_rule("excess", self.rule).items():
                if key != "averaging" or self.averaging is None:
                    set_once(self, key, value)
        set_once(self, "averaging", self.averaging or "month")
        _check_corners(self.outdoor, self.excess, "excess")

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Return outdoor vapour plus the excess."""
        averaging = self.averaging or "month"
        T_mean = averaged(outdoor.temperature, outdoor.time, averaging)
        p_mean = averaged(outdoor.vapour_pressure, outdoor.time, averaging)
        T, text = indoor_temperature(self.temperature, outdoor)
        more = np.interp(T_mean, self.outdoor, [self.margin * x for x in self.excess])
        if self.quantity == "pressure":
            p = p_mean + more
        else:
            p = (p_mean / (GAS_CONSTANT_VAPOUR * T_mean) + more) * GAS_CONSTANT_VAPOUR * T
        p, cap = limited(T, p, self.rh_limit)
        times = f", times {self.margin:g}" if self.margin != 1.0 else ""
        rule = f"indoor vapour: {self.rule}, {self.source}{times}; {AVERAGING_TEXT[averaging]}"
        return IndoorClimate(T, p, [rule, text, *([cap] if cap else [])])


def named_rule(table_name: str, name: str) -> Data:
    """Fields of a rule of `data/rules.toml`, in SI; raises `InputError` with near matches."""
    known = table("hygro.room", "rules")[table_name]
    if name not in known:
        raise InputError(f"rule: '{name}': unknown; {near_matches(name, known)}")
    row = known[name]
    found = {"outdoor": tuple(x + ZERO_CELSIUS for x in row["outdoor"]), "source": row["source"]}
    if "averaging" in row:
        found["averaging"] = row["averaging"]
    if "temperature" in row:
        T = row["temperature"]
        found["temperature"] = T if isinstance(T, str) else T + ZERO_CELSIUS
    if "rh" in row:
        return found | {"rh": tuple(row["rh"])}
    unit, quantity = (1e-3, "density") if "density" in row else (1.0, "pressure")
    return found | {"excess": tuple(unit * x for x in row[quantity]), "quantity": quantity}


def _check_corners(outdoor: tuple[float, ...], values: tuple[float, ...], name: str) -> None:
    if not outdoor or len(outdoor) != len(values) or np.any(np.diff(outdoor) <= 0.0):
        raise InputError(f"outdoor must rise and be as long as {name}")


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
