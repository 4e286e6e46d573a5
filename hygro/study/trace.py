"""What is kept of a run to draw it: daily series at the face that decides. Owns the choice."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.assess.criteria import Rated
from hygro.assess.growth import grown, judged_surfaces
from hygro.assess.hourly import Record, hourly
from hygro.assess.moisture import content
from hygro.assess.mould import Model
from hygro.assess.places import Surface, at_surfaces, find_sheathing, layer_index, surface
from hygro.assess.questions import windows
from hygro.assess.select import array, flags, times
from hygro.assess.series import running_mean
from hygro.constants import ZERO_CELSIUS

Array = NDArray[np.float64]
WEEK = 168
"""Hours of the mean by which the more humid face of the sheathing is chosen (our choice). [h]"""
GROWN = 0.05
"""Mould index from which the face with most of it is drawn (our choice). [1]"""


class Trace(NamedTuple):
    """Daily series; the day is named by its first hour.

    `moisture` is None where the sheathing is not wood-based, `mould` where it has no class.
    """

    day: NDArray[np.datetime64]
    sheathing: str
    moisture: Array | None
    """Mean water per dry mass of the sheathing. [1]"""
    mould: Array | None
    """Mould index at `face`. [1]"""
    humidity: Array
    """Relative humidity at that face. [1]"""
    temperature: Array
    """Temperature of that face. [°C]"""
    outdoor: Array
    """Outdoor air temperature. [°C]"""
    water: Array
    """Water in the whole wall. [kg/m²]"""
    face: str = ""
    """Of the faces whose mould decides the one with the highest index; else the more humid face of
    the sheathing."""


def trace(ds: Record, sheathing: str, *, mould_model: Model = "ojanen2010") -> Trace:
    """Return the daily series of a run at a layer.

    Parameters
    ----------
    ds : Dataset
        A result, fresh or reopened.
    sheathing : str
        Name of the layer.
    mould_model : Model
        See `hygro.assess.mould_index`.
    """
    ds = hourly(ds)
    place = governing_face(ds, sheathing, mould_model=mould_model)

    def at_face(name: str) -> Array:
        return daily(at_surfaces(ds, name, (place,))[:, 0])

    wood = bool(flags(ds, "layer_wood_based")[layer_index(ds, sheathing)])
    days = (len(times(ds)) - 1) // 24
    return Trace(
        day=times(ds)[: days * 24 : 24].astype("datetime64[D]"),
        sheathing=sheathing,
        moisture=daily(content(ds, sheathing)) if wood else None,
        mould=_mould(ds, place.name, mould_model),
        humidity=at_face("interface_relative_humidity"),
        temperature=at_face("interface_temperature") - ZERO_CELSIUS,
        outdoor=daily(array(ds, "outdoor_temperature")) - ZERO_CELSIUS,
        water=daily(array(ds, "layer_water").sum(axis=1)),
        face=place.name,
    )


def governing_face(ds: Record, sheathing: str, *, mould_model: Model = "ojanen2010") -> Surface:
    """The face with most mould of those that decide, else the more humid one of the sheathing."""
    part = windows(ds)
    ds = hourly(part.service if part.service is not None else ds)
    rated = Rated(ds, ds, find_sheathing(ds, sheathing))
    places = [place for place, _ in judged_surfaces(ds)]
    most = grown(ds, mould_model).max(axis=0)
    highest = {place.name: value for place, value in zip(places, most, strict=True)}
    judged = [place for place in places if rated.decides(place.layer)]
    worst = max(judged, key=lambda place: highest[place.name], default=None)
    if worst is not None and highest[worst.name] >= GROWN:
        return worst
    faces = tuple(surface(ds, sheathing, face) for face in ("inner", "outer"))
    rh = at_surfaces(ds, "interface_relative_humidity", faces)
    humid = [np.nanmax(running_mean(rh[:, k], WEEK)) for k in range(len(faces))]
    return faces[int(np.argmax(humid))]


def daily(values: Array) -> Array:
    """Means of whole days from samples at the ends of the hours; the start instant is left out."""
    days = (len(values) - 1) // 24
    return np.asarray(values[1 : days * 24 + 1], dtype=float).reshape(days, 24).mean(axis=1)


def _mould(ds: Record, face: str, model: Model) -> Array | None:
    names = [place.name for place, _ in judged_surfaces(ds)]
    return daily(grown(ds, model)[:, names.index(face)]) if face in names else None
