"""What is kept of a run to draw it: daily series at the face that decides. Owns the choice."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.assess.criteria import Rated
from hygro.assess.growth import judged_surfaces, mould_as_judged
from hygro.assess.hourly import Hourly, Record, hourly
from hygro.assess.moisture import content
from hygro.assess.mould import Model
from hygro.assess.places import Surface, at_surfaces, find_sheathing, layer_index, surface
from hygro.assess.questions import Way, Windows, windows
from hygro.assess.select import HOURS_PER_YEAR, array, flags, times
from hygro.assess.series import running_mean
from hygro.constants import ZERO_CELSIUS

Array = NDArray[np.float64]
WEEK = 168
"""Hours of the mean by which the more humid face of the sheathing is chosen (our choice). [h]"""
GROWN = 0.05
"""Mould index from which the face with most of it is drawn (our choice). [1]"""


class MouldWindows(NamedTuple):
    """What a mould index is told of: closing in up to a day, service from there on."""

    begin: int | None
    """Day on which service begins; None where there is closing in alone."""
    told: float = 0.0
    """Years of service that are told, the last of those that mould grew through. [a]"""
    grown: float = 0.0
    """Years of service that it grew through. [a]"""


class Trace(NamedTuple):
    """Daily series; the day is named by its first hour.

    `moisture` is None where the sheathing is not wood-based, `mould` where it has no class.
    """

    day: NDArray[np.datetime64]
    sheathing: str
    moisture: Array | None
    """Mean water per dry mass of the sheathing. [1]"""
    mould: Array | None
    """Mould index at `face` as it is judged, see `hygro.assess.mould`; no number on the day on
    which it begins anew, with service. [1]"""
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
    windows: MouldWindows | None = None
    """What `mould` is of; None where service and closing in are judged as one."""


def trace(
    ds: Record,
    sheathing: str,
    *,
    skip_days: float | None = None,
    mould_model: Model = "ojanen2010",
) -> Trace:
    """Return the daily series of a run at a layer.

    Parameters
    ----------
    ds : Dataset
        A result, fresh or reopened.
    sheathing : str
        Name of the layer.
    skip_days, mould_model
        See `hygro.assess.verdict`.
    """
    ds = hourly(ds)
    parts = windows(ds, skip_days)
    place = _governing(ds, sheathing, parts, mould_model)

    def at_face(name: str) -> Array:
        return daily(at_surfaces(ds, name, (place,))[:, 0])

    wood = bool(flags(ds, "layer_wood_based")[layer_index(ds, sheathing)])
    days = (len(times(ds)) - 1) // 24
    return Trace(
        day=times(ds)[: days * 24 : 24].astype("datetime64[D]"),
        sheathing=sheathing,
        moisture=daily(content(ds, sheathing)) if wood else None,
        mould=_mould(ds, place.name, mould_model, skip_days, parts.way),
        humidity=at_face("interface_relative_humidity"),
        temperature=at_face("interface_temperature") - ZERO_CELSIUS,
        outdoor=daily(array(ds, "outdoor_temperature")) - ZERO_CELSIUS,
        water=daily(array(ds, "layer_water").sum(axis=1)),
        face=place.name,
        windows=_told(parts, len(times(ds)) - 1),
    )


def governing_face(
    ds: Record,
    sheathing: str,
    *,
    skip_days: float | None = None,
    mould_model: Model = "ojanen2010",
) -> Surface:
    """The face with most mould of those that decide, else the more humid one of the sheathing."""
    ds = hourly(ds)
    return _governing(ds, sheathing, windows(ds, skip_days), mould_model)


def _governing(ds: Hourly, sheathing: str, parts: Windows, mould_model: Model) -> Surface:
    rated = Rated(
        ds if parts.service is None else parts.service, ds, find_sheathing(ds, sheathing),
        mould_model=mould_model, way=parts.way,
    )  # fmt: skip
    highest, worst = rated.most_mould(mould_model)
    if worst is not None and highest[worst] >= GROWN:
        return worst
    faces = tuple(surface(ds, sheathing, face) for face in ("inner", "outer"))
    rh = at_surfaces(rated.hourly, "interface_relative_humidity", faces)
    humid = [np.nanmax(running_mean(rh[:, k], WEEK)) for k in range(len(faces))]
    return faces[int(np.argmax(humid))]


def daily(values: Array) -> Array:
    """Means of whole days from samples at the ends of the hours; the start instant is left out."""
    days = (len(values) - 1) // 24
    return np.asarray(values[1 : days * 24 + 1], dtype=float).reshape(days, 24).mean(axis=1)


def _told(parts: Windows, end: int) -> MouldWindows | None:
    way = parts.way
    if way is None:
        return MouldWindows(None)
    if not (parts.apart or parts.closing is None):
        return None
    return MouldWindows(way.begin // 24, (end - way.begin) / HOURS_PER_YEAR, way.years(end))


def _mould(
    ds: Hourly, face: str, model: Model, skip_days: float | None, way: Way | None
) -> Array | None:
    names = [place.name for place, _ in judged_surfaces(ds)]
    if face not in names:
        return None
    found = daily(mould_as_judged(ds, model, None, skip_days)[:, names.index(face)])
    if way is not None and way.begin:
        found[way.begin // 24] = np.nan
    return found
