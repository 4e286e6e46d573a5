"""A room of any kind, brought to a mean humidity in winter. Owns that one wrapping room."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from hygro.errors import InputError
from hygro.room.models import Room
from hygro.room.time import IndoorClimate, Outdoor
from weather.moistair import saturation_pressure


@dataclass(frozen=True)
class AtWinterHumidity:
    """A room whose moisture excess is scaled until its mean winter humidity is a given one.

    p = p_o + f (p_room - p_o) with one factor f for all hours, so that the mean relative humidity
    over the three coldest calendar months is `rh` (our choice): more or less moisture production,
    or air change, in the same rhythm. Temperatures stay.

    Parameters
    ----------
    room : Room
        Which is scaled.
    rh : float
        Mean relative humidity of the three coldest calendar months. [1]
    """

    room: Room
    rh: float
    kind: ClassVar[str] = "at winter humidity"

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Return the air of the room with its excess scaled.

        Raises
        ------
        InputError
            The room is no moister than outdoors in winter, so that there is nothing to scale.
        """
        found = self.room.climate(outdoor)
        p_sat = saturation_pressure(found.temperature, over="water")
        cold = _coldest_months(outdoor)
        outdoors = float((outdoor.vapour_pressure / p_sat)[cold].mean())
        indoors = float((found.vapour_pressure / p_sat)[cold].mean())
        if not indoors - outdoors > 1e-6:
            raise InputError("winter_rh: the room is no moister than outdoors in winter")
        factor = (self.rh - outdoors) / (indoors - outdoors)
        p = outdoor.vapour_pressure + factor * (found.vapour_pressure - outdoor.vapour_pressure)
        text = f"moisture excess times {factor:.4g}: {100 * self.rh:.3g} % RH on average in winter"
        return IndoorClimate(found.temperature, p, [*found.assumptions, text])


def _coldest_months(outdoor: Outdoor) -> np.ndarray:
    """Hours of the three coldest calendar months."""
    month = outdoor.time.astype("datetime64[M]").astype(int) % 12
    present = np.unique(month)
    means = [float(outdoor.temperature[month == m].mean()) for m in present]
    return np.isin(month, present[np.argsort(means)[:3]])
