"""Hand numbers of a wall beside its simulation: U, resistances, shares, the design dew point.

Owns the step from a wall to the steady formulas of `hygro.wall.steady`; runs nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import xarray as xr

from hygro.assess.places import choose_sheathing
from hygro.constants import STILL_AIR_PERMEABILITY
from hygro.errors import InputError
from hygro.room.climate import indoor_climate
from hygro.room.models import Room
from hygro.room.time import Outdoor
from hygro.wall.attachments import u_values
from hygro.wall.elements import Gap, Layer, Membrane
from hygro.wall.resistance import HAND_RH, first_counted, outer_film, resistance
from hygro.wall.steady import (
    SteadyLayer,
    SteadyWall,
    highest_indoor_rh,
    least_outboard_share,
    outboard_share,
    plane_index,
    plane_temperature,
    u_value,
)
from hygro.wall.wall import Wall
from weather.moistair import dew_point, saturation_pressure


class LayerRow(NamedTuple):
    """One element of the wall in hand numbers."""

    name: str
    made_of: str
    thickness: float
    """[m]"""
    R: float
    """[m²·K/W]"""
    permeance: float
    """[kg/(m²·s·Pa)]"""


@dataclass(frozen=True)
class HandNumbers:
    """What a hand calculation says about a wall in its climate.

    Attributes
    ----------
    rows : tuple of LayerRow
        Outside to inside.
    U : float
        Clear wall, no framing or fasteners. [W/(m²·K)]
    U_effective : float
        With the joints, framing and attachments of the wall. [W/(m²·K)]
    sheathing : str
        Layer whose inner face the shares and the dew point are about.
    outboard_share : float
        Share of R outside that face, films included. [1]
    least_share : float
        Share that keeps the face at the indoor dew point in the three coldest months. [1]
    winter_outdoor, winter_indoor, winter_rh : float
        Means of the three coldest months. [K], [K], [1]
    face_temperature : float
        Steady temperature of the face in these months. [K]
    highest_rh : float
        Indoor RH at which indoor air would condense (or frost) on the face. [1]
    notes : tuple of str
        What was assumed.
    """

    rows: tuple[LayerRow, ...]
    U: float
    U_effective: float
    sheathing: str
    outboard_share: float
    least_share: float
    winter_outdoor: float
    winter_indoor: float
    winter_rh: float
    face_temperature: float
    highest_rh: float
    notes: tuple[str, ...]


def hand_numbers(wall: Wall, climate: xr.Dataset, room: Room, sheathing: str) -> HandNumbers:
    """Return the hand numbers of a wall.

    Parameters
    ----------
    wall : Wall
        Outside to inside.
    climate : Dataset
        Canonical weather of at least a whole year.
    room : Room
        Indoor climate.
    sheathing : str
        Layer whose inner face is looked at.
    """
    rows = tuple(_row(element) for element in wall.layers)
    steady, notes = _steady(wall, rows)
    T_o, T_i, p_i = winter_means(climate, room)
    rh = p_i / float(saturation_pressure(T_i))
    outside = sheathing not in [layer.name for layer in steady.layers]
    if outside:
        notes += (f"'{sheathing}' stands outside of what counts: taken at outdoor temperature",)
    if T_o >= T_i:
        notes += ("never colder outdoors than indoors for months: no share is needed",)
    # plane 0 is the outdoor air
    plane = 0 if outside else plane_index(steady, sheathing, "inner")
    return HandNumbers(
        rows=rows,
        U=u_value(steady),
        U_effective=u_values(wall).effective,
        sheathing=sheathing,
        outboard_share=outboard_share(steady, plane),
        least_share=_least_share(T_o, T_i, p_i),
        winter_outdoor=T_o,
        winter_indoor=T_i,
        winter_rh=rh,
        face_temperature=plane_temperature(steady, plane, T_o=T_o, T_i=T_i),
        highest_rh=highest_indoor_rh(steady, plane, T_o=T_o, T_i=T_i),
        notes=notes,
    )


def _least_share(T_o: float, T_i: float, p_i: float) -> float:
    if T_o >= T_i:
        return 0.0
    return least_outboard_share(T_o=T_o, T_i=T_i, T_dew=float(dew_point(p_i)))


def judged_layer(wall: Wall) -> str:
    """Return the layer that the verdict will take as sheathing; raises `InputError` without one."""
    if wall.sheathing is not None:
        return wall.sheathing
    layers = wall.solids
    wood = np.array([layer.material.wood_based for layer in layers])
    density = np.array([layer.material.density for layer in layers])
    try:
        return choose_sheathing([layer.name for layer in layers], wood, density).name
    except InputError as error:
        raise InputError(f"wall '{wall.name}': {error}") from None


def _row(element: Layer | Membrane | Gap) -> LayerRow:
    if isinstance(element, Gap):
        name = f"air, {element.depth * 1000:g} mm"
        return LayerRow(
            element.name,
            name,
            element.depth,
            resistance(element),
            STILL_AIR_PERMEABILITY / element.depth,
        )
    if isinstance(element, Membrane):
        sheet = element.material
        permeance = float(sheet.permeance.permeance(HAND_RH))
        return LayerRow(element.name, sheet.name, 0.0, sheet.thermal_resistance, permeance)
    permeance = float(element.material.vapour.permeability(HAND_RH)) / element.thickness
    R = resistance(element)
    return LayerRow(element.name, element.material.name, element.thickness, R, permeance)


def _steady(wall: Wall, rows: tuple[LayerRow, ...]) -> tuple[SteadyWall, tuple[str, ...]]:
    """Leave out a well-ventilated gap and what stands outside of it, as ISO 6946 does."""
    first = first_counted(wall)
    notes = [
        f"clear wall at {100 * HAND_RH:.0f} % RH and 10 °C mean; no framing, fasteners or joints",
    ]
    if first:
        name = rows[first - 1].name
        notes.append(f"'{name}' and what stands outside of it not counted (ISO 6946, from memory)")
    layers = tuple(SteadyLayer(row.name, row.R, 1.0 / row.permeance) for row in rows[first:])
    return SteadyWall(layers, R_se=outer_film(wall)), tuple(notes)


def winter_means(climate: xr.Dataset, room: Room) -> tuple[float, float, float]:
    """Means of the three coldest calendar months: outdoor T, indoor T [K], indoor vapour [Pa].

    Raises
    ------
    InputError
        The climate is shorter than a year.
    """
    time = climate["time"].values.astype("datetime64[ns]")
    if len(time) < 8760:
        raise InputError(f"climate: {len(time)} hours; hand numbers need a whole year (8760)")
    T, p = climate["temperature"].values, climate["vapour_pressure"].values
    indoor = indoor_climate(room, Outdoor(time, T, p))
    month = (time - np.timedelta64(1, "h")).astype("datetime64[M]").astype(int) % 12
    means = [float(T[month == m].mean()) for m in range(12)]
    cold = np.isin(month, np.argsort(means)[:3])
    series = (T, indoor.temperature, indoor.vapour_pressure)
    outdoors, indoors, vapour = (float(x[cold].mean()) for x in series)
    return outdoors, indoors, vapour
