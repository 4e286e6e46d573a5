"""Indoor climate for a wall: one function over every kind of room.

Owns the last check of the indoor air (the file's only business); the rules are in `room_models`,
the balances in `room_balance`, the named rooms in `room_presets`.
"""

from __future__ import annotations

import numpy as np

from hygro.errors import InputError
from hygro.room.models import Room
from hygro.room.time import IndoorClimate, Outdoor, check_kelvin
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
            f"indoor air at {outdoor.time[k]}: RH = {rh:.3f}: must be 0–1 ({int(wrong.sum())} such "
            f"hours); the rule has no air conditioning, so give rh_limit or dehumidify_to, more "
            f"ventilation in summer, or a temperature that follows outdoors"
        )
    return result
