"""Mould on the surfaces and decay in the wood of a run.

Owns which surfaces and cells of the Dataset are rated; the formulas are in `mould` and `decay`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from hygro.assess.decay import BrownRot, daily_dose, daily_means, never_rots, rot_of
from hygro.assess.extremes import most_humid
from hygro.assess.hourly import Hourly, Record, hourly, kept, lasting
from hygro.assess.moisture import content, part_mean
from hygro.assess.mould import Model, check_mould, let_grow, mould_class, mould_index
from hygro.assess.places import (
    Part,
    Surface,
    at_surfaces,
    layer_index,
    part_name,
    part_weights,
    span,
    surfaces,
)
from hygro.assess.questions import Way, windows
from hygro.assess.select import array, flags, text, times

Array = NDArray[np.float64]

MOULD_SOURCE = {
    "ojanen2010": "Ojanen et al. 2010",
    "hukka1999": "Hukka & Viitanen 1999",
    "ashrae160e": "ANSI/ASHRAE 160-2016 addendum e (from memory)",
}
ONCE = Way()


@lasting
def judged_surfaces(ds: Hourly) -> tuple[tuple[Surface, str], ...]:
    """Faces of layers that have a mould class, with the class; not the outdoor surface."""
    classes = [mould_class(name) for name in text(ds, "layer_mould_class")]
    found = []
    for place in surfaces(ds):
        kind = classes[place.layer]
        if kind is not None and place.interface != 0:
            found.append((place, kind))
    return tuple(found)


def mould(
    ds: Record,
    *,
    model: Model = "ojanen2010",
    decline: float | str | None = None,
    skip_days: float | None = None,
) -> xr.DataArray:
    """Mould index at every surface with a mould class, hourly, dims (time, surface). [1]

    As `verdict` judges it: service is gone through again and again until `SERVICE_YEARS` are full,
    and its last time is told; in a run of two years or more what is before it (closing in) once,
    from the start. So the index begins anew where service does. A run that is judged as one is gone
    through once. The outdoor surface is left out: the index describes sheltered surfaces. The
    result has no surface where no layer has a class.

    Parameters
    ----------
    ds : Dataset
        A whole result, fresh or reopened.
    model, decline
        See `mould_index`.
    skip_days : float, optional
        Days left out of service; see `verdict`. [d]

    Raises
    ------
    InputError
        An unknown model or decline, or `skip_days` is no number, negative or leaves no hour.
    """
    check_mould(model, decline)
    judged = judged_surfaces(ds)
    return xr.DataArray(
        mould_as_judged(ds, model, decline, skip_days),
        dims=("time", "surface"),
        coords={
            "time": times(ds),
            "surface": [place.name for place, _ in judged],
            "mould_class": ("surface", np.array([kind for _, kind in judged], dtype=object)),
            "layer_index": ("surface", np.array([place.layer for place, _ in judged], dtype=int)),
        },
        attrs={"units": "1", "long_name": "mould index", "source": MOULD_SOURCE[model]},
    )


def mould_as_judged(
    ds: Record,
    model: Model,
    decline: float | str | None = None,
    skip_days: float | None = None,
) -> np.ndarray:
    """`mould` as plain numbers, in the order of `judged_surfaces`."""
    ds = hourly(ds)
    way = windows(ds, skip_days).way or ONCE
    service = grown(ds, model, decline, way)
    return _joined(grown(ds, model, decline, ONCE), service, way)


def _joined(once: np.ndarray, service: np.ndarray, way: Way) -> np.ndarray:
    """Service, and before it what is left out of it, once through from the start."""
    return np.concatenate([once[: way.begin + 1], service[1:]]) if way.begin else service


@kept
def _at_growing(ds: Hourly) -> tuple[list[int], Array, Array]:
    """Which of `judged_surfaces` ever let mould grow, and their state: (time, surface), [K], [1].

    Where nothing grows once, nothing ever does.
    """
    places = tuple(place for place, _ in judged_surfaces(ds))
    t, rh = (
        at_surfaces(ds, f"interface_{name}", places)
        for name in ("temperature", "relative_humidity")
    )
    grows = let_grow(t, rh)
    # by surface in memory, as the loop reads them
    t, rh = (np.ascontiguousarray(x[:, grows].T).T for x in (t, rh))
    return np.flatnonzero(grows).tolist(), t, rh


@kept
def grown(ds: Hourly, model: Model, decline: float | str | None, way: Way) -> np.ndarray:
    """Mould index of `judged_surfaces` the last time through, from `way.begin` on."""
    judged = judged_surfaces(ds)
    index = np.zeros((len(times(ds)) - way.begin, len(judged)))
    columns, t, rh = _at_growing(ds)
    if columns:
        index[:, columns] = mould_index(
            t,
            rh,
            course=way.course(len(times(ds)) - 1),
            sensitivity=[judged[k][1] for k in columns],
            model=model,
            decline=decline,
        )
    return index


@dataclass(frozen=True)
class Decay:
    """Brown rot in the cells of a layer (Viitanen et al. 2010, from memory).

    Attributes
    ----------
    activation, mass_loss : DataArray, dims (time)
        Highest activation [1] and loss of dry mass [kg/kg] of the cells.
    depth : float
        Depth of the cell that lost most, or was nearest to losing. [m]
    """

    layer: str
    activation: xr.DataArray
    mass_loss: xr.DataArray
    depth: float


def decay(ds: Record, layer: str, part: Part | None = None) -> Decay:
    """Rate brown rot in every cell of a wood-based layer, or of its part.

    Service is gone through as in `mould`: again and again, and its last time is told.
    """
    ds = hourly(ds)
    way = windows(ds).way or ONCE
    service, depth = rotted(ds, layer, part, way)
    name = part_name(layer, part)
    once, _ = rotted(ds, layer, part)
    activation, mass_loss = (_joined(*pair, way) for pair in zip(once, service, strict=True))
    return Decay(
        layer,
        _rot_series(ds, activation, f"brown-rot activation in {name}"),
        _rot_series(ds, mass_loss, f"loss of dry mass in {name}"),
        depth,
    )


@kept
def rotted(
    ds: Hourly, layer: str, part: Part | None = None, way: Way = ONCE
) -> tuple[BrownRot, float]:
    """The highest of the cells the last time through, from `way.begin` on, dims (time).

    Returned with the depth of the worst cell.
    """
    inside = part_weights(ds, layer_index(ds, layer), part) > 0.0
    wet = span(inside & ~never_rots(most_humid(ds)))
    rotten = np.zeros(len(inside))
    if wet.start == wet.stop:
        told = len(times(ds)) - way.begin
        last = BrownRot(np.zeros(told), np.zeros(told))
    else:
        t, rh = array(ds, "temperature"), array(ds, "relative_humidity")
        last, rotten[wet] = rot_of(t, rh, way.course(len(times(ds)) - 1), wet)
    worst = np.argmax(np.where(inside, rotten, -1.0))
    return last, float(array(ds, "cell_depth")[worst])


def _rot_series(ds: Record, values: np.ndarray, long_name: str) -> xr.DataArray:
    attrs = {
        "units": "1",
        "long_name": long_name,
        "source": "Viitanen et al. 2010 (from memory)",
    }
    return xr.DataArray(values, dims=("time",), coords={"time": times(ds)}, attrs=attrs)


def decay_dose(
    ds: Record, layer: str, part: Part | None = None, *, simplified: bool = False
) -> xr.DataArray:
    """Summed decay dose at the end of each day of the run, dims (day). [d]

    Brischke & Rapp 2010, or the simplified dose of Isaksson et al. 2013 (both from memory).
    """
    return xr.DataArray(
        dosed(ds, layer, part, simplified),
        dims=("day",),
        coords={"day": times(ds)[24::24]},
        attrs={
            "units": "d",
            "long_name": f"decay dose of {part_name(layer, part)}",
            "source": "Isaksson et al. 2013" if simplified else "Brischke & Rapp 2010",
        },
    )


@kept
def dosed(ds: Hourly, layer: str, part: Part | None = None, simplified: bool = False) -> np.ndarray:
    """`decay_dose` as plain numbers, dims (day)."""
    warm = daily_means(part_mean(ds, "temperature", layer, part))
    wet = daily_means(content(ds, layer, part))
    return np.cumsum(daily_dose(warm, wet, model="simplified" if simplified else "brischke"))


def wood_layers(ds: Record) -> tuple[int, ...]:
    """Indices of wood-based layers."""
    return tuple(int(i) for i in np.flatnonzero(flags(ds, "layer_wood_based")))
