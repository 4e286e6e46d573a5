"""Hand numbers of a wall beside its simulation: U, resistances, shares, the design dew point.

Owns the step from a wall to the steady formulas of `hygro.wall.steady`; runs nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import xarray as xr

from hygro.assess.places import choose_sheathing
from hygro.errors import InputError
from hygro.room.climate import indoor_climate
from hygro.room.models import Room
from hygro.room.time import Outdoor
from hygro.study.code import CodeBeside, code_beside
from hygro.wall.attachments import u_values
from hygro.wall.hand_wall import LayerRow, layer_rows, steady_wall
from hygro.wall.resistance import HAND_RH, first_counted
from hygro.wall.steady import (
    highest_indoor_rh,
    least_outboard_share,
    outboard_share,
    plane_index,
    plane_temperature,
    u_value,
)
from hygro.wall.wall import Wall
from weather.moistair import dew_point, saturation_pressure


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
    shoulder_rh : float
        Mean indoor humidity of the six months between the three coldest and the three warmest. [1]
    face_temperature : float
        Steady temperature of the face in these months. [K]
    highest_rh : float
        Indoor RH at which indoor air would condense (or frost) on the face. [1]
    notes : tuple of str
        What was assumed.
    code : CodeBeside or None
        What the residential code asks of such a wall.
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
    shoulder_rh: float
    face_temperature: float
    highest_rh: float
    notes: tuple[str, ...]
    code: CodeBeside | None = None


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
    rows = layer_rows(wall)
    steady = steady_wall(wall, rows)
    counted = [layer.name for layer in steady.layers]
    # The inner face of a cladding before a well-ventilated gap counts as outdoor air.
    plane = plane_index(steady, sheathing, "inner") if sheathing in counted else 0
    T_o, T_i, p_i = winter_means(climate, room)
    rh = p_i / float(saturation_pressure(T_i))
    _, T_shoulder, p_shoulder = season_means(climate, room, slice(3, 9))
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
        shoulder_rh=p_shoulder / float(saturation_pressure(T_shoulder)),
        face_temperature=plane_temperature(steady, plane, T_o=T_o, T_i=T_i),
        highest_rh=highest_indoor_rh(steady, plane, T_o=T_o, T_i=T_i),
        notes=_notes(wall, rows, sheathing, coldest=T_o < T_i),
        code=code_beside(wall, rows, climate, sheathing),
    )


def _least_share(T_o: float, T_i: float, p_i: float) -> float:
    """0 where it is no colder outdoors than indoors in the coldest months."""
    if not T_o < T_i:
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


def _notes(
    wall: Wall, rows: Sequence[LayerRow], sheathing: str, *, coldest: bool
) -> tuple[str, ...]:
    notes = [
        f"clear wall at {100 * HAND_RH:.0f} % RH and 10 °C mean; no framing, fasteners or joints",
    ]
    first = first_counted(wall)
    if first:
        name = rows[first - 1].name
        notes.append(
            f"'{name}' and what stands outside of it not counted (ISO 6946, not checked against "
            "the document)"
        )
    if sheathing in [row.name for row in rows[:first]]:
        notes.append(f"'{sheathing}' stands outside of what counts: taken at outdoor temperature")
    if not coldest:
        notes.append("never colder outdoors than indoors for months: no share is needed")
    return tuple(notes)


def winter_means(climate: xr.Dataset, room: Room) -> tuple[float, float, float]:
    """Means of the three coldest calendar months: outdoor T, indoor T [K], indoor vapour [Pa]."""
    return season_means(climate, room, slice(0, 3))


def season_means(climate: xr.Dataset, room: Room, ranks: slice) -> tuple[float, float, float]:
    """Means of some calendar months, counted from the coldest; see `winter_means`.

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
    cold = np.isin(month, np.argsort(means)[ranks])
    series = (T, indoor.temperature, indoor.vapour_pressure)
    outdoors, indoors, vapour = (float(x[cold].mean()) for x in series)
    return outdoors, indoors, vapour
