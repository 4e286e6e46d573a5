"""Condensation and free water at the interfaces of a wall, and water that ran off.

Owns hours at or below a dew point and the water held beyond sorption near an interface.
"""

from __future__ import annotations

from dataclasses import dataclass
from numbers import Real

import numpy as np
import xarray as xr

from hygro.assess.extremes import most_water
from hygro.assess.hourly import Hourly, Record, kept, lasting
from hygro.assess.places import (
    SAME_DEPTH,
    Face,
    cell_spans,
    interface_index,
    span,
    surface,
)
from hygro.assess.select import SECONDS_PER_HOUR, array, flags, holds, series, text, times
from hygro.assess.series import Exceedance, exceedance
from hygro.errors import InputError, must_be
from hygro.record.variables import INNER, OUTER
from weather.moistair import saturation_pressure

TOLERANCE = 1e-3
"""Below saturation by this much a surface counts as at its dew point. [1] Capillary water at a
suction of 1 bar has a relative humidity of 0.99926; 0.001 is 0.016 K of dew point."""
NEAR = 0.01
"""Depth on either side of an interface where water counts as standing at it (our choice). [m]"""


@dataclass(frozen=True)
class Condensation:
    """Hours of condensation at an interface.

    Attributes
    ----------
    condensing : Exceedance
        Hours with the surface at or below the dew point of the air it meets.
    below_indoor_dew_point : Exceedance
        Hours with the surface at or below the dew point of the *room* air: what would condense if
        room air got there by a leak.
    """

    interface: str
    side: str
    condensing: Exceedance
    below_indoor_dew_point: Exceedance


def interface_condensation(
    ds: Record, interface: str, *, side: str = "outer", tolerance: float = TOLERANCE
) -> Condensation:
    """Hours of condensation at one side of a named interface.

    Parameters
    ----------
    ds : Dataset
        A result.
    interface : str
        Name as in ``interface_name``.
    side : str
        "outer" or "inner" side of the interface.
    tolerance : float
        How far below saturation counts as condensing. [1]
    """
    if side not in ("outer", "inner"):
        raise InputError(f"side '{side}': must be 'outer' or 'inner'")
    column = OUTER if side == "outer" else INNER
    return _condensation(ds, interface_index(ds, interface), column, tolerance)


def face_condensation(
    ds: Record, layer: str, face: Face, *, tolerance: float = TOLERANCE
) -> Condensation:
    """Hours of condensation at one face of a layer; see `interface_condensation`."""
    place = surface(ds, layer, face)
    return _condensation(ds, place.interface, place.side, tolerance)


@kept
def _condensation(ds: Hourly, index: int, column: int, tolerance: float) -> Condensation:
    stamps = times(ds)
    rh = array(ds, "interface_relative_humidity")[:, index, column]
    saturated = saturation_pressure(
        array(ds, "interface_temperature")[:, index, column], over="iso13788"
    )
    surplus = array(ds, "indoor_vapour_pressure") - saturated
    return Condensation(
        text(ds, "interface_name")[index],
        ("outer", "inner")[column],
        exceedance(rh, stamps, 1.0 - tolerance, or_equal=True),
        exceedance(surplus, stamps, 0.0, or_equal=True),
    )


@lasting
def near_interface(ds: Hourly, interface: int, depth: float) -> np.ndarray:
    """Thickness of each cell that lies within `depth` of an interface, gap not counted. [m]"""
    must_be(depth, Real, "near", "a depth in m, above 0")
    if not depth > 0.0:
        raise InputError(f"near = {depth} m: must be above 0")
    end = float(array(ds, "interface_depth")[interface])
    outer, inner = cell_spans(ds)
    behind = outer[outer >= end - SAME_DEPTH]
    start = float(behind.min()) if len(behind) else end  # a gap lies between end and start
    before = np.minimum(inner, end) - np.maximum(outer, end - depth)
    after = np.minimum(inner, start + depth) - np.maximum(outer, start)
    return np.maximum(before, 0.0) + np.maximum(after, 0.0)


@lasting
def sorbed_water(ds: Hourly) -> np.ndarray:
    """Water content of the storage curve of each layer at 95 % RH. Dims (layer). [kg/m³]

    The curve tells ice and water together and knows no temperature: what was sorbed is so when it
    freezes. A record from before it was kept has it from the materials of its wall.

    Raises
    ------
    InputError
        The record has neither.
    """
    if holds(ds, "layer_w_sorbed"):
        return array(ds, "layer_w_sorbed")
    if ds.wall is None:
        raise InputError(
            "result: array 'layer_w_sorbed' (water content at 95 % RH) is missing, as in records "
            "from before it was kept, and no wall is stored whose materials tell it; run it again"
        )
    return np.array([layer.material.w_sorbed for layer in ds.wall.solids])


def condensate(ds: Record, interface: str, *, near: float = NEAR) -> xr.DataArray:
    """Water beyond sorption within `near` [m] of an interface, hourly. [kg/m²]

    Beyond what the storage curves of its layers hold at 95 % RH (`layer_w_sorbed`). Counts
    condensate and leaked rain alike: the Dataset does not tell where water came from.
    """
    k = interface_index(ds, interface)
    return _series(ds, k, near, beyond_sorption(ds, k, near), "beyond sorption")


def face_condensate(ds: Record, layer: str, face: Face, *, near: float = NEAR) -> xr.DataArray:
    """`condensate` at the interface that a face of a layer lies on."""
    k = surface(ds, layer, face).interface
    return _series(ds, k, near, beyond_sorption(ds, k, near), "beyond sorption")


@kept
def beyond_sorption(ds: Hourly, interface: int, near: float = NEAR) -> np.ndarray:
    """`condensate` as plain numbers, dims (time)."""
    return _beyond(ds, interface, near, sorbed_water(ds))


def loose_layers(ds: Record) -> np.ndarray:
    """Whether each layer takes up no liquid, wood left out: its water may run down."""
    return (flags(ds, "layer_absorbent") == 0) & (flags(ds, "layer_wood_based") == 0)


def loose_condensate(ds: Record, interface: str, *, near: float = NEAR) -> xr.DataArray:
    """`condensate` in `loose_layers`."""
    k = interface_index(ds, interface)
    return _series(ds, k, near, held_by_nothing(ds, k, near), "that nothing holds")


@kept
def held_by_nothing(ds: Hourly, interface: int, near: float = NEAR) -> np.ndarray:
    """`loose_condensate` as plain numbers, dims (time)."""
    held = np.where(loose_layers(ds), sorbed_water(ds), np.inf)
    return _beyond(ds, interface, near, held)


def free_water(ds: Record, interface: str, *, near: float = NEAR) -> xr.DataArray:
    """Water above free saturation within `near` [m] of an interface, hourly. [kg/m²]

    Such water is held by no pore force and can run down.
    """
    held = array(ds, "layer_w_free")
    k = interface_index(ds, interface)
    return _series(ds, k, near, _beyond(ds, k, near, held), "above free saturation")


def _beyond(ds: Record, interface: int, near: float, held: np.ndarray) -> np.ndarray:
    weights = near_interface(ds, interface, near)
    inside = span(weights > 0.0)
    held = held[flags(ds, "cell_layer")[inside]]
    if (most_water(ds)[inside] <= held).all():
        return np.zeros(len(times(ds)))
    surplus = np.maximum(array(ds, "water_content")[:, inside] - held, 0.0)
    return surplus @ weights[inside]


def _series(
    ds: Record, interface: int, near: float, values: np.ndarray, words: str
) -> xr.DataArray:
    name = text(ds, "interface_name")[interface]
    return series(
        ds,
        values,
        unit="kg m-2",
        long_name=f"water {words} within {near * 1000:g} mm of {name}",
    )


@dataclass(frozen=True)
class RunOff:
    """Water that met the wall or leaked into it and did not stay, over the whole run. [kg/m²]

    `rain_runoff` ran down the outdoor surface; `drained` found no room inside and drained;
    `leak_vapour` was dropped by leaking air (net).
    """

    rain_incident: float
    rain_absorbed: float
    rain_runoff: float
    leak_rain: float
    drained: float
    leak_vapour: float


def run_off(ds: Record) -> RunOff:
    """Sum the hourly rain and leak flows of a run."""
    return RunOff(*(float(hourly_mass(ds, name).sum()) for name in RunOff.__annotations__))


def hourly_mass(ds: Record, name: str) -> np.ndarray:
    """Mass of each hour of a flow (hour mean), without the first instant. [kg/m²]"""
    return array(ds, name)[1:] * SECONDS_PER_HOUR
