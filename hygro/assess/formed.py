"""Condensate as it forms on a face: mass and hours.

Hours at the dew point move with the size of the cells, because a face that stands at saturation
says nothing of how much arrives there. What forms does not: it is counted from the water itself.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from hygro.assess.condensation import NEAR, beyond_sorption, held_by_nothing, loose_layers
from hygro.assess.draining import ran_off
from hygro.assess.hourly import Hourly, Record, kept
from hygro.assess.places import Face, interface_index, surface, surfaces
from hygro.assess.select import HOURS_PER_YEAR, series, text, times
from hygro.assess.series import Exceedance, exceedance

FORMS = 1e-4
"""Mass in an hour from which condensate is said to form: 0.1 g/m² (our choice). [kg/m²]"""


def formed(ds: Record, interface: str, *, near: float = NEAR) -> xr.DataArray:
    """Condensate that formed in the hour before, at an interface. [kg/m²]

    What the water beyond sorption (see `condensate`) within `near` [m] rose by, and what ran off
    out of those layers meanwhile; 0 in hours when it fell. Where a layer that takes up no liquid
    touches the interface, its water alone counts: what wood and absorbent layers take up there is
    sorbed, not formed. What dries by day and comes back by night forms twice.

    Raises
    ------
    InputError
        The interface is not in this wall.
    """
    return series(
        ds,
        forms_at(ds, interface_index(ds, interface), near),
        unit="kg m-2",
        long_name=f"condensate formed in the hour at {interface}",
    )


@kept
def forms_at(ds: Hourly, interface: int, near: float = NEAR) -> np.ndarray:
    """`formed` as plain numbers, dims (time)."""
    tight = _tight(ds, interface)
    if tight:
        rise = np.diff(held_by_nothing(ds, interface, near)) + _drained(ds, interface, tight)
    else:
        rise = np.diff(beyond_sorption(ds, interface, near))
    return np.concatenate([[0.0], rise.clip(min=0.0)])


def face_formed(ds: Record, layer: str, face: Face, *, near: float = NEAR) -> xr.DataArray:
    """`formed` at the interface that a face of a layer lies on."""
    return formed(ds, text(ds, "interface_name")[surface(ds, layer, face).interface], near=near)


def formed_per_year(found: xr.DataArray | np.ndarray) -> float:
    """Mean mass formed in a year; the whole where the record is shorter. [kg/m²]"""
    return float(found.sum()) / max((found.size - 1) / HOURS_PER_YEAR, 1.0)


def forming(found: xr.DataArray) -> Exceedance:
    """Hours in which condensate formed."""
    return forming_hours(found.values, found["time"].values)


def forming_hours(found: np.ndarray, stamps: np.ndarray) -> Exceedance:
    """`forming` of plain numbers at their instants."""
    return exceedance(found, stamps, FORMS, or_equal=True)


def _tight(ds: Record, interface: int) -> list[int]:
    """Layers at an interface that take up no liquid, wood left out."""
    loose = loose_layers(ds)
    return [s.layer for s in surfaces(ds) if s.interface == interface and loose[s.layer]]


def _drained(ds: Record, interface: int, layers: list[int]) -> np.ndarray:
    """What drained in each hour from layers whose wetter face lies there. (N,) [kg/m²]"""
    total = np.zeros(len(times(ds)) - 1)
    out = ran_off(ds)
    if out is None:
        return total

    def standing(k: int) -> np.ndarray:
        return held_by_nothing(ds, k)[1:]

    for layer in (k for k in layers if out[:, k].any()):
        faces = {s.interface for s in surfaces(ds) if s.layer == layer}
        here, others = standing(interface), map(standing, faces - {interface})
        wetter = np.all([here >= there for there in others], axis=0)
        total += np.where(wetter, out[:, layer], 0.0)
    return total
