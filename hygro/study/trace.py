"""What is kept of a run to draw it: daily series at the face that decides. Owns the choice."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.assess.criteria import Finding
from hygro.assess.criteria.mould import CLOSING_MOULD, MOULD_160, MOULD_INDEX
from hygro.assess.growth import judged_surfaces, mould_as_judged
from hygro.assess.hourly import Hourly, Record, hourly
from hygro.assess.judge import verdict
from hygro.assess.moisture import content
from hygro.assess.mould import Model
from hygro.assess.places import Surface, at_surfaces, layer_index, surface, surfaces
from hygro.assess.questions import Way, Windows, windows
from hygro.assess.select import HOURS_PER_YEAR, array, flags, times
from hygro.assess.series import running_mean
from hygro.assess.verdict import Verdict
from hygro.constants import ZERO_CELSIUS

Array = NDArray[np.float64]
WEEK = 168
"""Hours of the mean by which the more humid face of the sheathing is chosen (our choice). [h]"""
GROWN = 0.05
"""Mould index from which the face with most of it is drawn (our choice). [1]"""
MOULD = {row.key for row in (MOULD_INDEX, MOULD_160, CLOSING_MOULD)}
"""Criteria that judge mould at a face."""


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
    """See `governing_face`."""
    windows: MouldWindows | None = None
    """What `mould` is of; None where service and closing in are judged as one."""


def trace(
    ds: Record,
    judged: Verdict,
    *,
    mould_model: Model = "ojanen2010",
    decline: float | str | None = None,
) -> Trace:
    """Return the daily series of a run at the layer judged as sheathing.

    Parameters
    ----------
    ds : Dataset
        A result, fresh or reopened.
    judged : Verdict
        On the run, with what another record of it says; the face is that which decides it.
    mould_model, decline
        By which it was judged; see `hygro.assess.verdict`.
    """
    ds = hourly(ds)
    sheathing, skip_days = judged.sheathing, judged.skip_days
    parts = windows(ds, skip_days)
    place = governing_face(ds, judged, mould_model=mould_model, decline=decline)

    def at_face(name: str) -> Array:
        return daily(at_surfaces(ds, name, (place,))[:, 0])

    wood = bool(flags(ds, "layer_wood_based")[layer_index(ds, sheathing)])
    days = (len(times(ds)) - 1) // 24
    return Trace(
        day=times(ds)[: days * 24 : 24].astype("datetime64[D]"),
        sheathing=sheathing,
        moisture=daily(content(ds, sheathing)) if wood else None,
        mould=_mould(ds, place.name, mould_model, decline, skip_days, parts.way),
        humidity=at_face("interface_relative_humidity"),
        temperature=at_face("interface_temperature") - ZERO_CELSIUS,
        outdoor=daily(array(ds, "outdoor_temperature")) - ZERO_CELSIUS,
        water=daily(array(ds, "layer_water").sum(axis=1)),
        face=place.name,
        windows=_told(parts, len(times(ds)) - 1),
    )


def governing_face(
    ds: Record,
    judged: Verdict,
    *,
    mould_model: Model = "ojanen2010",
    decline: float | str | None = None,
) -> Surface:
    """The face of the mould that decides, else that with most of it, in service or closing in.

    Without mould the more humid face of the sheathing. Where nothing was judged by mould, most of
    it after `mould_model` and `decline`.
    """
    ds = hourly(ds)
    found = mould_face(judged)
    if found is None and not _of_mould(judged):
        asked = verdict(
            ds, sheathing=judged.sheathing, criteria=(MOULD_INDEX, CLOSING_MOULD),
            skip_days=judged.skip_days, mould_model=mould_model, decline=decline,
        )  # fmt: skip
        found = _most(_of_mould(asked))
    named = {place.name: place for place in surfaces(ds)}
    if found in named:
        return named[found]
    faces = tuple(surface(ds, judged.sheathing, face) for face in ("inner", "outer"))
    service = windows(ds, judged.skip_days).service
    rh = at_surfaces(ds if service is None else service, "interface_relative_humidity", faces)
    humid = [np.nanmax(running_mean(rh[:, k], WEEK)) for k in range(len(faces))]
    return faces[int(np.argmax(humid))]


def mould_face(judged: Verdict) -> str | None:
    """The face whose mould decides, in service or closing in, else that with the highest index.

    None where none has an index of `GROWN`, or none was judged by mould.
    """
    worst, rows = judged.worst, _of_mould(judged)
    return worst.place if worst is not None and worst in rows else _most(rows)


def _of_mould(judged: Verdict) -> list[Finding]:
    """Hard findings of mould at a face."""
    hard = (f for f in judged.findings if f.hard and f.value is not None)
    return [f for f in hard if f.criterion.key in MOULD]


def _most(rows: list[Finding]) -> str | None:
    grown = [(f.value, f.place) for f in rows if f.value is not None and f.value >= GROWN]
    return max(grown, key=lambda row: row[0])[1] if grown else None


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
    ds: Hourly,
    face: str,
    model: Model,
    decline: float | str | None,
    skip_days: float,
    way: Way | None,
) -> Array | None:
    names = [place.name for place, _ in judged_surfaces(ds)]
    if face not in names:
        return None
    found = daily(mould_as_judged(ds, model, decline, skip_days)[:, names.index(face)])
    if way is not None and way.begin:
        found[way.begin // 24] = np.nan
    return found
