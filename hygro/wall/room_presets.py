"""Named rooms and rules, built from the data files that hold their numbers and sources.

Owns the meaning of `data/room_rules.toml` and `data/room_presets.toml`; knows no physics.
"""

from __future__ import annotations

from typing import Any

from hygro.constants import ZERO_CELSIUS
from hygro.errors import InputError, near_matches
from hygro.wall.room_balance import HOUR, Balance, Buffer
from hygro.wall.room_models import Constant, MoistureExcess, OutdoorRule, Seasonal, TemperatureRule
from hygro.wall.room_time import Averaging, Schedule, always, scaled, weekly
from hygro.wall.tables import table


def outdoor_rule(name: str) -> OutdoorRule:
    """Indoor RH by outdoor temperature: a table of `room_rules.toml`, e.g. "en15026_normal"."""
    data = _entry(table("room_rules")["rh"], name, "indoor rule")
    temperature = data["temperature"]
    if not isinstance(temperature, str):
        temperature += ZERO_CELSIUS
    return OutdoorRule(
        name, data["source"], _kelvin(data["outdoor"]), tuple(data["rh"]), temperature,
        data["averaging"],
    )  # fmt: skip


def moisture_excess(
    name: str,
    *,
    temperature: float | TemperatureRule = 293.15,
    margin: float = 1.0,
    averaging: Averaging | None = None,
    rh_limit: float | None = None,
) -> MoistureExcess:
    """Vapour excess by outdoor temperature: a table of `room_rules.toml`, e.g. "iso13788_class3".

    Parameters
    ----------
    name : str
        Name of the table.
    temperature : float or TemperatureRule
        Indoor temperature; 20 °C is common practice with ISO 13788. [K]
    margin : float
        Multiplies the excess; the 2001 edition of ISO 13788 asks for 1.10 (from memory). [-]
    averaging : Averaging, optional
        Default: what the table says, else calendar months as ISO 13788 has them.
    rh_limit : float, optional
        Highest indoor RH. [-]
    """
    data = _entry(table("room_rules")["excess"], name, "indoor rule")
    is_density = "density" in data
    raw = data["density"] if is_density else data["pressure"]
    unit = 1e-3 if is_density else 1.0
    return MoistureExcess(
        name=name,
        source=data["source"] + (f", times {margin:g}" if margin != 1.0 else ""),
        outdoor=_kelvin(data["outdoor"]),
        excess=tuple(margin * unit * x for x in raw),
        quantity="density" if is_density else "pressure",
        temperature=temperature,
        averaging=averaging or data.get("averaging", "month"),
        rh_limit=rh_limit,
    )


def room_preset(name: str) -> Constant | Seasonal | Balance:
    """Room of `room_presets.toml`, e.g. "dwelling_normal"."""
    data = _entry(_presets(), name, "room preset")
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


def preset_source(name: str) -> str:
    """What a preset is and where its numbers come from."""
    data = _entry(_presets(), name, "room preset")
    return f"{data['text']}; {data['source']}"


def preset_names() -> tuple[str, ...]:
    """Names of all presets."""
    return tuple(_presets())


def _presets() -> dict[str, Any]:
    return {key: value for key, value in table("room_presets").items() if key != "profiles"}


def _entry(known: dict[str, Any], name: str, what: str) -> dict[str, Any]:
    if name not in known:
        raise InputError(f"{what}: name = '{name}' is not known; {near_matches(name, known)}")
    entry: dict[str, Any] = known[name]
    return entry


def _kelvin(celsius: list[float]) -> tuple[float, ...]:
    return tuple(x + ZERO_CELSIUS for x in celsius)


def _profile(name: str, *, weekend_off: bool = False) -> Schedule:
    day = tuple(float(x) for x in table("room_presets")["profiles"][name])
    return weekly(day, (0.0,) * 24 if weekend_off else None)


def _balance(data: dict[str, Any]) -> Balance:
    to_flow = data["volume_m3"] / HOUR
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
        ventilation=_ventilation(data, to_flow, off),
        production=production,
        occupants=people,
        temperature=data["temperature"],
        open_window=data.get("open_window_air_changes_per_hour", 0.0) * to_flow,
        open_window_above=data.get("open_window_above_celsius", 18.3) + ZERO_CELSIUS,
        dehumidify_to=data.get("dehumidify_to"),
        buffer=_buffer(data.get("buffer")),
    )


def _buffer(data: dict[str, float] | None) -> Buffer | None:
    if data is None:
        return None
    return Buffer(data["area_m2"], data["capacity_kg_per_m2"], data["conductance"])


def _ventilation(data: dict[str, Any], to_flow: float, weekend_off: bool) -> Schedule:
    full = data["air_changes_per_hour"]
    if "ventilation_profile" not in data:
        return always(full * to_flow)
    shape = _profile(data["ventilation_profile"], weekend_off=weekend_off)
    least = data["least_air_changes_per_hour"]
    return Schedule(tuple(max(least, full * x) * to_flow for x in shape.week))
