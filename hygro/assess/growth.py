"""Mould on the surfaces and decay in the wood of a run.

Owns which surfaces and cells of the Dataset are rated; the formulas are in `mould` and `decay`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr

from hygro.assess.decay import BrownRot, daily_dose, daily_means, never_rots, rot_of
from hygro.assess.extremes import most_humid
from hygro.assess.hourly import Hourly, Record, kept, lasting
from hygro.assess.moisture import content, part_mean
from hygro.assess.mould import Model, mould_class, mould_index
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
from hygro.assess.select import array, flags, text, times

MOULD_SOURCE = {
    "ojanen2010": "Ojanen et al. 2010",
    "hukka1999": "Hukka & Viitanen 1999",
    "ashrae160e": "ANSI/ASHRAE 160-2016 addendum e (from memory)",
}
SERVICE_YEARS = 10
"""Years of service that the mould index of a periodic year goes through (our choice)."""


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
    start: float = 0.0,
) -> xr.DataArray:
    """Mould index at every surface with a mould class, hourly, dims (time, surface). [1]

    The outdoor surface is left out: the index describes sheltered surfaces. See `mould_index` for
    the options. The result has no surface where no layer has a class. A periodic year is gone
    through `SERVICE_YEARS` times, and the last time is given: the index may grow from year to year.
    """
    judged = judged_surfaces(ds)
    return xr.DataArray(
        grown(ds, model, decline, start),
        dims=("time", "surface"),
        coords={
            "time": times(ds),
            "surface": [place.name for place, _ in judged],
            "mould_class": ("surface", np.array([kind for _, kind in judged], dtype=object)),
            "layer_index": ("surface", np.array([place.layer for place, _ in judged], dtype=int)),
        },
        attrs={"units": "1", "long_name": "mould index", "source": MOULD_SOURCE[model]},
    )


@kept
def grown(
    ds: Hourly, model: Model, decline: float | str | None = None, start: float = 0.0
) -> np.ndarray:
    """`mould` as plain numbers, in the order of `judged_surfaces`."""
    kinds = [kind for _, kind in judged_surfaces(ds)]
    if not kinds:
        return np.empty((len(times(ds)), 0))
    return mould_index(*_met(ds), sensitivity=kinds, model=model, decline=decline, start=start)[
        -len(times(ds)) :
    ]


@kept
def _met(ds: Hourly) -> tuple[np.ndarray, np.ndarray]:
    """Temperature and humidity that the judged surfaces meet, dims (time, surface)."""
    rounds = SERVICE_YEARS if "periodic_rounds" in ds.attrs else 1
    places = tuple(place for place, _ in judged_surfaces(ds))
    names = ("interface_temperature", "interface_relative_humidity")
    T, rh = (_again(at_surfaces(ds, name, places), rounds) for name in names)
    return T, rh


def _again(values: np.ndarray, rounds: int) -> np.ndarray:
    """A series one after the other; its first instant is the end of the one before."""
    return values if rounds == 1 else np.concatenate([values, *[values[1:]] * (rounds - 1)])


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
    """Rate brown rot in every cell of a wood-based layer, or of its part."""
    (activation, mass_loss), depth = rotted(ds, layer, part)
    name = part_name(layer, part)
    return Decay(
        layer,
        _rot_series(ds, activation, f"brown-rot activation in {name}"),
        _rot_series(ds, mass_loss, f"loss of dry mass in {name}"),
        depth,
    )


@kept
def rotted(ds: Hourly, layer: str, part: Part | None = None) -> tuple[BrownRot, float]:
    """`decay` as plain numbers: highest of the cells, dims (time), and the depth of the worst."""
    inside = span(part_weights(ds, layer_index(ds, layer), part) > 0.0)
    depth = array(ds, "cell_depth")[inside]
    if never_rots(most_humid(ds)[inside].max()):
        nothing = np.zeros(len(times(ds)))
        return BrownRot(nothing, nothing), float(depth[0])
    highest, rotten = rot_of(
        array(ds, "temperature")[:, inside], array(ds, "relative_humidity")[:, inside]
    )
    return highest, float(depth[int(np.argmax(rotten))])


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
