"""Mould on the surfaces and decay in the wood of a run.

Owns which surfaces and cells of the Dataset are rated; the formulas are in `mould` and `decay`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr

from hygro.assess.decay import BrownRot, brown_rot, daily_dose, daily_means
from hygro.assess.moisture import moisture_content, part_mean
from hygro.assess.mould import Model, mould_class, mould_index
from hygro.assess.places import (
    Part,
    Surface,
    at_surfaces,
    layer_index,
    part_name,
    part_weights,
    surfaces,
)
from hygro.assess.select import array, flags, text

MOULD_SOURCE = {
    "ojanen2010": "Ojanen et al. 2010",
    "hukka1999": "Hukka & Viitanen 1999",
    "ashrae160e": "ANSI/ASHRAE 160-2016 addendum e (from memory)",
}
SERVICE_YEARS = 10
"""Years of service that the mould index of a periodic year goes through (our choice)."""


def judged_surfaces(ds: xr.Dataset) -> tuple[tuple[Surface, str], ...]:
    """Faces of layers that have a mould class, with the class; not the outdoor surface."""
    classes = [mould_class(name) for name in text(ds, "layer_mould_class")]
    found = []
    for place in surfaces(ds):
        kind = classes[place.layer]
        if kind is not None and place.interface != 0:
            found.append((place, kind))
    return tuple(found)


def mould(
    ds: xr.Dataset,
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
    rounds = SERVICE_YEARS if "periodic_rounds" in ds.attrs else 1
    judged = judged_surfaces(ds)
    places = tuple(place for place, _ in judged)
    kinds = [kind for _, kind in judged]
    values = np.empty((ds.sizes["time"], 0))
    if places:
        values = mould_index(
            _again(at_surfaces(ds, "interface_temperature", places), rounds),
            _again(at_surfaces(ds, "interface_relative_humidity", places), rounds),
            sensitivity=kinds,
            model=model,
            decline=decline,
            start=start,
        )[-ds.sizes["time"] :]
    return xr.DataArray(
        values,
        dims=("time", "surface"),
        coords={
            "time": ds["time"].values,
            "surface": [place.name for place in places],
            "mould_class": ("surface", np.array(kinds, dtype=object)),
            "layer_index": ("surface", np.array([place.layer for place in places], dtype=int)),
        },
        attrs={"units": "1", "long_name": "mould index", "source": MOULD_SOURCE[model]},
    )


def _again(values: np.ndarray, rounds: int) -> np.ndarray:
    """A series one after the other; its first instant is the end of the one before."""
    return np.concatenate([values, *[values[1:]] * (rounds - 1)])


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


def decay(ds: xr.Dataset, layer: str, part: Part | None = None) -> Decay:
    """Rate brown rot in every cell of a wood-based layer, or of its part."""
    inside = part_weights(ds, layer_index(ds, layer), part) > 0.0
    state: BrownRot = brown_rot(
        array(ds, "temperature")[:, inside], array(ds, "relative_humidity")[:, inside]
    )
    worst = int(np.argmax(state.mass_loss[-1] + state.activation.max(axis=0)))
    name = part_name(layer, part)
    return Decay(
        layer,
        _rot_series(ds, state.activation, f"brown-rot activation in {name}"),
        _rot_series(ds, state.mass_loss, f"loss of dry mass in {name}"),
        float(array(ds, "cell_depth")[inside][worst]),
    )


def _rot_series(ds: xr.Dataset, values: np.ndarray, long_name: str) -> xr.DataArray:
    attrs = {
        "units": "1",
        "long_name": long_name,
        "source": "Viitanen et al. 2010 (from memory)",
    }
    return xr.DataArray(
        values.max(axis=1), dims=("time",), coords={"time": ds["time"].values}, attrs=attrs
    )


def decay_dose(
    ds: xr.Dataset, layer: str, part: Part | None = None, *, simplified: bool = False
) -> xr.DataArray:
    """Summed decay dose at the end of each day of the run, dims (day). [d]

    Brischke & Rapp 2010, or the simplified dose of Isaksson et al. 2013 (both from memory).
    """
    warm = daily_means(part_mean(ds, "temperature", layer, part))
    wet = daily_means(moisture_content(ds, layer, part).values)
    dose = daily_dose(warm, wet, model="simplified" if simplified else "brischke")
    return xr.DataArray(
        np.cumsum(dose),
        dims=("day",),
        coords={"day": ds["time"].values[24::24]},
        attrs={
            "units": "d",
            "long_name": f"decay dose of {part_name(layer, part)}",
            "source": "Isaksson et al. 2013" if simplified else "Brischke & Rapp 2010",
        },
    )


def wood_layers(ds: xr.Dataset) -> tuple[int, ...]:
    """Indices of wood-based layers."""
    return tuple(int(i) for i in np.flatnonzero(flags(ds, "layer_wood_based")))
