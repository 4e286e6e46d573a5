"""Named rooms and rules, built from the data files that hold their numbers and sources.

Owns the meaning of `data/presets.toml`; knows no physics.
"""

from __future__ import annotations

from functools import cache
from typing import Literal

from hygro.constants import ZERO_CELSIUS
from hygro.data_files import table
from hygro.declare import declared, tag
from hygro.errors import InputError, near_matches
from hygro.fields import Name
from hygro.room.balance import HOUR, Balance, Buffer
from hygro.room.models import Constant, Seasonal
from hygro.room.time import IndoorClimate, Outdoor, Schedule, always, scaled, weekly
from hygro.types import Data


@declared
class Preset:
    """A named use of a room.

    Parameters
    ----------
    use : str
        A room of `data/presets.toml`, such as "dwelling_normal".
    """

    use: Name
    kind: Literal["preset"] = tag(default="preset", kw_only=True)

    def __post_init__(self) -> None:
        """Refuse an unknown use."""
        room_preset(self.use)

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Return the air of that room."""
        return room_preset(self.use).climate(outdoor)


@cache
def room_preset(name: str) -> Constant | Seasonal | Balance:
    """Room of `room_presets.toml`, e.g. "dwelling_normal"."""
    data = _entry(_presets(), name)
    if data["kind"] == "constant":
        return Constant(data["temperature_celsius"] + ZERO_CELSIUS, data["rh"])
    if data["kind"] == "seasonal":
        return Seasonal(
            data["winter_temperature_celsius"] + ZERO_CELSIUS,
            data["summer_temperature_celsius"] + ZERO_CELSIUS,
            data["winter_rh"],
            data["summer_rh"],
        )
    return _balance(data)


def preset_names() -> tuple[str, ...]:
    """Names of all presets."""
    return tuple(_presets())


def _presets() -> Data:
    return {
        key: value for key, value in table("hygro.room", "presets").items() if key != "profiles"
    }


def _entry(known: Data, name: str) -> Data:
    if name not in known:
        raise InputError(f"use: '{name}': unknown; {near_matches(name, known)}")
    entry: Data = known[name]
    return entry


def _profile(name: str, *, weekend_off: bool = False) -> Schedule:
    day = tuple(float(x) for x in table("hygro.room", "presets")["profiles"][name])
    return weekly(day, (0.0,) * 24 if weekend_off else None)


def _balance(data: Data) -> Balance:
    off = data.get("weekend_off", False)
    production = always(0.0)
    if "production_kg_per_day" in data:
        shape = _profile(data["production_profile"])
        production = scaled(shape, data["production_kg_per_day"] / HOUR / sum(shape.week[:24]))
    people = always(0.0)
    if "occupants" in data:
        people = scaled(_profile(data["occupants_profile"], weekend_off=off), data["occupants"])
    return Balance(
        volume=data["volume_m3"],
        air_change=_air_change(data, off),
        production=production,
        occupants=people,
        temperature=data["temperature"],
        open_window_air_change=data.get("open_window_air_changes_per_hour", 0.0),
        open_window_above=data.get("open_window_above_celsius", 18.3) + ZERO_CELSIUS,
        dehumidify_to=data.get("dehumidify_to"),
        buffer=_buffer(data.get("buffer")),
    )


def _buffer(data: dict[str, float] | None) -> Buffer | None:
    if data is None:
        return None
    return Buffer(data["area_m2"], data["capacity_kg_per_m2"], data["conductance"])


def _air_change(data: Data, weekend_off: bool) -> Schedule:
    full = data["air_changes_per_hour"]
    if "ventilation_profile" not in data:
        return always(full)
    shape = _profile(data["ventilation_profile"], weekend_off=weekend_off)
    least = data["least_air_changes_per_hour"]
    return Schedule(tuple(max(least, full * x) for x in shape.week))
