"""Indoor climate for a wall: one function over every kind of room. Owns the last check of its air.

The rules are in `models`, the balances in `balance`, the named rooms in `presets`.
"""

from __future__ import annotations

import numpy as np

from hygro.errors import InputError
from hygro.room.models import Room
from hygro.room.time import IndoorClimate, Outdoor, check_kelvin
from hygro.variable import when
from weather.moistair import saturation_pressure


def indoor_climate(room: Room, outdoor: Outdoor) -> IndoorClimate:
    """Hourly indoor temperature [K], vapour pressure [Pa] and the assumptions made.

    Raises
    ------
    InputError
        Where a rule gives air beyond saturation or colder or warmer than any room; nothing is
        clipped.
    """
    result = room.climate(outdoor)
    check_kelvin("indoor temperature", result.temperature)
    p_sat = saturation_pressure(result.temperature, over="water")
    # 1e-9: air at exactly RH 1 comes back with round-off.
    wrong = ~((result.vapour_pressure >= 0.0) & (result.vapour_pressure <= p_sat * (1.0 + 1e-9)))
    if np.any(wrong):
        k = int(np.argmax(wrong))
        rh = result.vapour_pressure[k] / p_sat[k]
        raise InputError(
            f"{_called(room)}: indoor air at {when(outdoor.time[k])}: RH = {rh:.3f}: must be 0–1 "
            f"({int(wrong.sum())} such hours); {_advice(room)}"
        )
    return result


def _called(room: Room) -> str:
    """What a room is known by: its rule or use, else its kind; a wrapping room by what it wraps."""
    inner = getattr(room, "room", None)
    if inner is not None:
        return _called(inner)
    name = getattr(room, "rule", "") or getattr(room, "use", "")
    return f"room '{name}'" if name else f"room of kind '{getattr(room, 'kind', 'given')}'"


def _advice(room: Room) -> str:
    """What a user of that kind of room can do about air that is too humid."""
    warmer = "a temperature that follows outdoors"
    if hasattr(room, "room"):
        return (
            "what the room adds to outdoor air, or takes away, is multiplied to reach the winter "
            "humidity asked for: ask for less, or take a constant or seasonal room"
        )
    if hasattr(room, "air_change"):
        return f"the balance dries nothing: give dehumidify_to, more air_change, or {warmer}"
    if hasattr(room, "rh_limit"):
        return f"nothing dries the air: give rh_limit, or {warmer}"
    if hasattr(room, "rule"):
        return f"the rule has no air conditioning: give {warmer}"
    return "are temperature and humidity those of the same air?"
