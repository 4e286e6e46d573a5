"""The tables `[room.NAME]` of the case file. Owns their keys and bounds; builds nothing."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Discriminator, Field, Tag, WithJsonSchema

from hygro.case.fields import (
    AirChange,
    Entry,
    Humidity,
    MoistureProduction,
    Temperature,
    Volume,
    read,
)
from hygro.units import parse

RULES = ("en15026", "ashrae160_heating", "ashrae160_cooling")
"""Named rules for the indoor temperature."""

_LOW, _HIGH = 223.15, 343.15


def _temperature_or_rule(value: Any) -> Any:
    if value in RULES:
        return value
    return read(value, "temperature", _LOW, _HIGH, f"or a rule: {', '.join(RULES)}")


TemperatureRule = Annotated[
    Any,
    BeforeValidator(_temperature_or_rule),
    WithJsonSchema(
        {
            "description": f"Text with a unit (degC, degF, K) or one of {', '.join(RULES)}",
            "type": "string",
        }
    ),
]


class ConstantRoom(Entry):
    """Constant temperature and humidity."""

    kind: Literal["constant"]
    temperature: Temperature
    rh: Humidity


class SeasonalRoom(Entry):
    """A cosine over the year between winter and summer values."""

    kind: Literal["seasonal"]
    winter_temperature: Temperature
    summer_temperature: Temperature
    winter_rh: Humidity
    summer_rh: Humidity
    summer_day: Annotated[float, Field(ge=1, le=366)] = 196.0


class RuleRoom(Entry):
    """Indoor humidity by outdoor temperature, after a standard: `rule = "en15026_normal"`."""

    kind: Literal["rule"]
    rule: str
    temperature: TemperatureRule | None = None


class ExcessRoom(Entry):
    """Vapour excess by outdoor temperature, after a standard: `rule = "iso13788_class3"`."""

    kind: Literal["excess"]
    rule: str
    temperature: TemperatureRule = parse("20 degC", "temperature")
    margin: Annotated[float, Field(gt=0, le=3)] = 1.0
    rh_limit: Humidity | None = None


class PresetRoom(Entry):
    """A named use of a room: `use = "dwelling_normal"`."""

    kind: Literal["preset"]
    use: str


class IntermediateRoom(Entry):
    """The intermediate method of ASHRAE 160, from bedrooms and volume."""

    kind: Literal["ashrae160 intermediate"]
    volume: Volume
    bedrooms: Annotated[int, Field(ge=1, le=50)]
    airtight: bool = False
    temperature: TemperatureRule = "ashrae160_cooling"
    rh_limit: Humidity | None = None


class BalanceRoom(Entry):
    """An hourly vapour balance of one well-mixed room."""

    kind: Literal["balance"]
    volume: Volume
    air_change: AirChange
    production: MoistureProduction = 0.0
    occupants: Annotated[float, Field(ge=0)] = 0.0
    temperature: TemperatureRule = "ashrae160_heating"
    open_window_air_change: AirChange = 0.0
    humidify_to: Humidity | None = None
    dehumidify_to: Humidity | None = None
    initial_rh: Humidity | None = None


Column = Annotated[list[str], Field(min_length=2, max_length=2)]
"""Name of a column and the unit of its numbers."""


class FileRoom(Entry):
    """Hourly indoor air from a CSV file beside the case; a row stands for the end of its hour.

    A header like `temperature [degC]`, `relative_humidity [%]` or `vapour_pressure [Pa]` says what
    a column is; other headers are named here: `temperature = ["T", "degC"]`. The rows are a year
    of 8760 hours from 1 January on, repeated, or all hours of the run; where there is a column
    `time` of ISO 8601 stamps they are found by their stamps.
    """

    kind: Literal["file"]
    file: str
    temperature: Column | None = None
    relative_humidity: Column | None = None
    vapour_pressure: Column | None = None
    time: str | None = None


RoomKind = (
    ConstantRoom
    | SeasonalRoom
    | RuleRoom
    | ExcessRoom
    | PresetRoom
    | IntermediateRoom
    | BalanceRoom
    | FileRoom
)


def _kind(value: Any) -> str | None:
    return value.get("kind") if isinstance(value, dict) else getattr(value, "kind", None)


RoomEntry = Annotated[
    Annotated[ConstantRoom, Tag("constant")]
    | Annotated[SeasonalRoom, Tag("seasonal")]
    | Annotated[RuleRoom, Tag("rule")]
    | Annotated[ExcessRoom, Tag("excess")]
    | Annotated[PresetRoom, Tag("preset")]
    | Annotated[IntermediateRoom, Tag("ashrae160 intermediate")]
    | Annotated[BalanceRoom, Tag("balance")]
    | Annotated[FileRoom, Tag("file")],
    Discriminator(_kind),
]
