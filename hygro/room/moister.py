"""A room that is moister or drier in winter than another. Owns that change alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hygro.room.models import Room
from hygro.room.time import Array, IndoorClimate, Outdoor, averaged
from weather.constants import ZERO_CELSIUS
from weather.moistair import saturation_pressure

LEAST, MOST = 0.05, 0.95
"""Relative humidity that the changed air keeps within (our choice). [1]"""
NONE_FROM = 20.0
"""Outdoor temperature from which nothing is added, as in the classes of ISO 13788. [°C]"""


@dataclass(frozen=True)
class Moister:
    """A room with vapour added in cold weather.

    The sum added is `excess` where the 24-h mean outdoors is at most 0 °C, and falls to nothing at
    20 °C: the shape of the humidity classes of ISO 13788 annex A (from memory). The air stays
    within 5 and 95 % RH unless the room itself is beyond.

    Attributes
    ----------
    room : Room
        The room that is changed.
    excess : float
        Vapour pressure added in cold weather; negative: a drier room. [Pa]
    """

    room: Room
    excess: float

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Return the air of the room with what is added."""
        air = self.room.climate(outdoor)
        p = air.vapour_pressure + self.excess * share(outdoor)
        p_sat = saturation_pressure(air.temperature, over="water")
        low = np.minimum(LEAST * p_sat, air.vapour_pressure)
        high = np.maximum(MOST * p_sat, air.vapour_pressure)
        text = f"{self.excess:+.0f} Pa of vapour in cold weather, none from {NONE_FROM:g} °C on"
        return IndoorClimate(air.temperature, np.clip(p, low, high), [*air.assumptions, text])


def share(outdoor: Outdoor) -> Array:
    """Share of the excess in each hour: 1 up to 0 °C outdoors, 0 from `NONE_FROM` on. [1]"""
    mean = averaged(outdoor.temperature, outdoor.time, "running_24h") - ZERO_CELSIUS
    return np.clip(1.0 - mean / NONE_FROM, 0.0, 1.0)
