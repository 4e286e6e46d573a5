"""Condensate as it forms on a face: mass and hours.

Hours at the dew point move with the size of the cells, because a face that stands at saturation
says nothing of how much arrives there. What forms does not: it is counted from the water itself.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from hygro.assess.condensation import (
    NEAR,
    condensate,
    loose_condensate,
    loose_layers,
    sorbed_water,
)
from hygro.assess.draining import ran_off
from hygro.assess.places import Face, interface_index, surface, surfaces
from hygro.assess.select import HOURS_PER_YEAR, series, text
from hygro.assess.series import Exceedance, exceedance

FORMS = 1e-4
"""Mass in an hour from which condensate is said to form: 0.1 g/m² (our choice). [kg/m²]"""


def formed(ds: xr.Dataset, interface: str, *, near: float = NEAR) -> xr.DataArray:
    """Condensate that formed in the hour before, at an interface. [kg/m²]

    What the water beyond sorption (above 95 % RH) within `near` [m] rose by, and what ran off out
    of those layers meanwhile; 0 in hours when it fell. Where a layer that takes up no liquid
    touches the interface, its water alone counts: what wood and absorbent layers take up there is
    sorbed, not formed. What dries by day and comes back by night forms twice.

    Raises
    ------
    InputError
        The interface is not in this wall.
    """
    tight = _tight(ds, interface)
    if tight:
        sorbed = sorbed_water(ds)
        held = loose_condensate(ds, interface, near=near, sorbed=sorbed)
        rise = np.diff(held.values) + _drained(ds, interface, tight, sorbed)
    else:
        rise = np.diff(condensate(ds, interface, near=near).values)
    return series(
        ds,
        np.concatenate([[0.0], rise.clip(min=0.0)]),
        unit="kg m-2",
        long_name=f"condensate formed in the hour at {interface}",
    )


def face_formed(ds: xr.Dataset, layer: str, face: Face, *, near: float = NEAR) -> xr.DataArray:
    """`formed` at the interface that a face of a layer lies on."""
    return formed(ds, text(ds, "interface_name")[surface(ds, layer, face).interface], near=near)


def formed_per_year(found: xr.DataArray) -> float:
    """Mean mass formed in a year; the whole where the record is shorter. [kg/m²]"""
    return float(found.sum()) / max((found.size - 1) / HOURS_PER_YEAR, 1.0)


def forming(found: xr.DataArray) -> Exceedance:
    """Hours in which condensate formed."""
    return exceedance(found.values, found["time"].values, FORMS, or_equal=True)


def _tight(ds: xr.Dataset, interface: str) -> list[int]:
    """Layers at an interface that take up no liquid, wood left out."""
    loose, k = loose_layers(ds), interface_index(ds, interface)
    return [s.layer for s in surfaces(ds) if s.interface == k and loose[s.layer]]


def _drained(ds: xr.Dataset, interface: str, layers: list[int], sorbed: np.ndarray) -> np.ndarray:
    """What drained in each hour from layers whose wetter face lies there. (N,) [kg/m²]"""
    total = np.zeros(ds.sizes["time"] - 1)
    out = ran_off(ds)
    if out is None:
        return total

    def standing(name: str) -> np.ndarray:
        return loose_condensate(ds, name, sorbed=sorbed).values[1:]

    for layer in (k for k in layers if out[:, k].any()):
        faces = {text(ds, "interface_name")[s.interface] for s in surfaces(ds) if s.layer == layer}
        here, others = standing(interface), map(standing, faces - {interface})
        wetter = np.all([here >= there for there in others], axis=0)
        total += np.where(wetter, out[:, layer], 0.0)
    return total
