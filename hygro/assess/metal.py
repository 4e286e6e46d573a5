"""Metal that crosses insulation: its temperature hour by hour, and the hours it is wet.

Owns the step from a record to the fin of `hygro.wall.shank`; takes the wall from the record.
Storage in the metal is left out: a screw follows its surroundings within minutes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hygro.assess.hourly import Record, hourly
from hygro.assess.humidity import gated_peak
from hygro.assess.places import at_surfaces, surface
from hygro.assess.select import array, times
from hygro.assess.series import MONTH, Exceedance, Peak, exceedance
from hygro.constants import ZERO_CELSIUS
from hygro.material.model import NOT_STATED
from hygro.wall.elements import Layer
from hygro.wall.interruptions import Attachment
from hygro.wall.resistance import R_SI, conductivity, resistance
from hygro.wall.shank import (
    Shank,
    embedded_conductance,
    parallel_path_temperature,
    shank_temperature,
)
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure

HELD = 1.0
"""Conductance that holds the outer end of a shank at its plane: some seventy times that of a 6 mm
screw in 100 mm of insulation. [W/K]"""
CORROSION_RH = 0.80
"""Humidity at metal above which it corrodes: ASHRAE 160 and the time of wetness of ISO 9223 (from
memory). [1]"""


@dataclass(frozen=True)
class MetalHours:
    """How metal fares at the inner end of the insulation that it crosses.

    Attributes
    ----------
    temperature, humidity : array
        Hourly, at the metal: [K], and relative, at most 1. [1]
    lowest : float
        [K]
    below_dew_point : Exceedance
        Hours at or below the dew point of the air at the inner face of the insulation.
    below_cavity_dew_point : Exceedance
        The same for the air at the inner face of the next layer inward, where tips stick out.
    below_indoor_dew_point : Exceedance
        The same for room air, which a leak may bring.
    above_80 : Exceedance
        Hours with a relative humidity at the metal above 80 % and above 0 °C.
    month : Peak
        30-day running mean of the relative humidity at the metal, at most 1 per hour, while the
        30-day mean of its temperature is 5-40 °C. [1]
    """

    temperature: np.ndarray
    humidity: np.ndarray
    lowest: float
    below_dew_point: Exceedance
    below_cavity_dew_point: Exceedance
    below_indoor_dew_point: Exceedance
    above_80: Exceedance
    month: Peak


@dataclass(frozen=True)
class MetalRating:
    """One attachment in one layer.

    Attributes
    ----------
    estimate : MetalHours or None
        A shank as a fin; None for lines, which are no fins.
    bound : MetalHours
        Metal on a path of its own from the outer face of the insulation to the room: the cold
        bound.
    bears : str or None
        Corrosivity category that metal and coating bear, as the wall states it.
    touches : tuple of str
        What the materials that hold the inner end state of metal in contact with them.
    """

    attachment: str
    layer: str
    estimate: MetalHours | None
    bound: MetalHours
    bears: str | None = None
    touches: tuple[str, ...] = ()

    @property
    def place(self) -> str:
        """Name in words."""
        return f"{self.attachment} at the inner face of {self.layer}"

    @property
    def rated(self) -> MetalHours:
        """The estimate, or the bound where there is none."""
        return self.estimate or self.bound


def metal_ratings(ds: Record) -> tuple[MetalRating, ...]:
    """Rate every attachment of the wall of a record, outside to inside; empty where none is set.

    Metal that goes on through the next layer under the same name is rated at its end there.
    """
    wall = hourly(ds).wall
    if wall is None:
        return ()
    return tuple(
        metal_rating(ds, wall, layer, item)
        for layer in wall.solids
        for item in layer.attachments
        if not _goes_on(wall, layer, item)
    )


def _goes_on(wall: Wall, layer: Layer, item: Attachment) -> bool:
    behind = _behind(wall, layer)
    return behind is not None and item.name in [other.name for other in behind.attachments]


def metal_rating(ds: Record, wall: Wall, layer: Layer, item: Attachment) -> MetalRating:
    """Rate one attachment from the hourly temperatures of the planes that it joins.

    Estimate: T = T_out + f·(T_in − T_out) between the hourly temperatures of the two faces of the
    layer, f from the fin (`shank_temperature`), which is linear in them. Bound: T = T_out + (T_i −
    T_out)·R_metal/(R_metal + R_inner) with R_metal = d/k and R_inner from the inner face to the
    room air.
    """
    outer, inner = surface(ds, layer.name, "outer"), surface(ds, layer.name, "inner")
    faces = at_surfaces(ds, "interface_temperature", (outer, inner))
    room = array(ds, "indoor_temperature")
    estimate = None
    if item.kind == "point":
        share = fin_share(wall, layer, item)
        estimate = _hours(ds, wall, layer, faces[:, 0] + share * (faces[:, 1] - faces[:, 0]))
    inside = wall.layers[wall.layers.index(layer) + 1 :]
    R_inner = R_SI + sum(resistance(element) for element in inside)
    bound = parallel_path_temperature(
        R_outer=layer.thickness / item.conductivity, R_inner=R_inner, T_o=0.0, T_i=1.0
    )
    cold = faces[:, 0] + bound * (room - faces[:, 0])
    behind = _behind(wall, layer)
    return MetalRating(
        item.name,
        layer.name,
        estimate,
        _hours(ds, wall, layer, cold),
        bears=item.corrosion_class,
        touches=tuple(
            held.material.corrosion_class or NOT_STATED for held in (layer, behind) if held
        ),
    )


def fin_share(wall: Wall, layer: Layer, item: Attachment) -> float:
    """Where between outer (0) and inner (1) plane's temperature the inner end of a shank is. [1]"""
    radius = min(0.5 / np.sqrt(item.density), layer.thickness)
    outer = HELD if item.outer_conductance is None else item.outer_conductance
    shank = Shank(
        diameter=item.diameter,
        conductivity=item.conductivity,
        length=layer.thickness,
        insulation=conductivity(layer.material),
        radius=max(radius, item.diameter),
        outer=outer,
        inner=_embedded(wall, layer, item),
    )
    return float(shank_temperature(shank, T_outer=0.0, T_inner=1.0).inner)


def _embedded(wall: Wall, layer: Layer, item: Attachment) -> float:
    """Conductance into the next layer inward, which holds the shank. [W/K]"""
    if item.inner_conductance is not None:
        return item.inner_conductance
    behind = _behind(wall, layer)
    if behind is None:
        return 0.0
    # The shape factor needs a shank longer than thick; a thin sheet or board counts as twice that.
    depth = max(behind.thickness, 2.0 * item.diameter)
    return embedded_conductance(
        diameter=item.diameter, depth=depth, conductivity=conductivity(behind.material)
    )


def _behind(wall: Wall, layer: Layer) -> Layer | None:
    later = wall.layers[wall.layers.index(layer) + 1 :]
    return next((e for e in later if isinstance(e, Layer)), None)


def _hours(ds: Record, wall: Wall, layer: Layer, T: np.ndarray) -> MetalHours:
    stamps, saturated = times(ds), saturation_pressure(T, over="iso13788")
    behind = _behind(wall, layer)
    meets = _pressure(ds, layer.name)
    cavity = meets if behind is None else _pressure(ds, behind.name)
    # Beyond saturation the surplus condenses: the metal is wet, its humidity 1.
    rh = np.minimum(meets / saturated, 1.0)
    return MetalHours(
        temperature=T,
        humidity=rh,
        lowest=float(T.min()),
        below_dew_point=exceedance(meets - saturated, stamps, 0.0, or_equal=True),
        below_cavity_dew_point=exceedance(cavity - saturated, stamps, 0.0, or_equal=True),
        below_indoor_dew_point=exceedance(
            array(ds, "indoor_vapour_pressure") - saturated, stamps, 0.0, or_equal=True
        ),
        above_80=exceedance(rh, stamps, CORROSION_RH, gate=ZERO_CELSIUS < T),
        month=gated_peak(rh, T, stamps, MONTH),
    )


def _pressure(ds: Record, layer: str) -> np.ndarray:
    """Vapour pressure at the inner face of a layer. [Pa]"""
    return at_surfaces(ds, "interface_vapour_pressure", (surface(ds, layer, "inner"),))[:, 0]
