"""Depth and time: a field of a record thinned to what a map can show.

Owns the thinning; means keep the sums. A map of years has columns of days, not of hours.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from hygro.assess.places import SAME_DEPTH, cell_spans
from hygro.assess.select import array, flags, text, times
from weather.moistair import saturation_pressure

Array = NDArray[np.float64]
Quantity = Literal["relative_humidity", "temperature", "water_content"]
STEPS = (1, 2, 3, 6, 12, 24, 48, 72, 168, 336)
"""Hours that a column of a map may stand for; they divide days or are whole days."""


@dataclass(frozen=True)
class Band:
    """One row of a map: a part of a layer, or a gap.

    Attributes
    ----------
    outer, inner : float
        Depth of its edges from the outdoor surface. [m]
    name : str
        Layer or gap.
    gap : bool
        Air.
    """

    outer: float
    inner: float
    name: str
    gap: bool = False


@dataclass(frozen=True)
class DepthTime:
    """Fields over depth and time.

    Attributes
    ----------
    start : datetime64[h]
        Beginning of the first column.
    step : int
        Hours of a column.
    bands : tuple of Band, (m,)
        Rows, outside to inside.
    fields : dict of array, (n, m)
        Means of the hours of each column: "temperature" [K], "relative_humidity" [1],
        "water_content" [kg/m³] (not a number in a gap).
    """

    start: np.datetime64
    step: int
    bands: tuple[Band, ...]
    fields: dict[str, Array]


def depth_time(
    ds: xr.Dataset, *, columns: int = 1500, finest: float = 1.0 / 150.0, step: int | None = None
) -> DepthTime:
    """Return the fields of a record as means over bands of depth and steps of time.

    Parameters
    ----------
    ds : Dataset
        A result.
    columns : int
        Most columns; the step is the shortest of `STEPS` that keeps to it.
    finest : float
        Cells of a layer are put together until a band is this share of the wall thick. [1]
    step : int, optional
        Hours of a column instead.
    """
    hours = len(times(ds)) - 1
    step = step or next((s for s in STEPS if hours // s <= columns), STEPS[-1])
    outer, inner = cell_spans(ds)
    groups = _groups(outer, inner, flags(ds, "cell_layer"), finest * float(inner.max()))
    thickness = inner - outer
    weights = np.zeros((len(outer), len(groups)))
    for k, (first, last) in enumerate(groups):
        weights[first:last, k] = thickness[first:last] / thickness[first:last].sum()
    names = text(ds, "layer_name")
    owner = flags(ds, "cell_layer")
    bands = [Band(float(outer[a]), float(inner[b - 1]), names[owner[a]]) for a, b in groups]
    fields = {
        name: stepwise(array(ds, name) @ weights, step)
        for name in ("temperature", "relative_humidity", "water_content")
    }
    bands, fields = _with_gaps(ds, bands, fields, step)
    start = times(ds)[0].astype("datetime64[h]")
    return DepthTime(start, step, tuple(bands), fields)


def stepwise(values: Array, step: int) -> Array:
    """Means of whole steps from samples at the ends of hours; the start instant is left out."""
    count = (len(values) - 1) // step
    shape = (count, step, *values.shape[1:])
    return np.asarray(values[1 : count * step + 1], dtype=float).reshape(shape).mean(axis=1)


def _groups(
    outer: Array, inner: Array, owner: NDArray[np.int_], least: float
) -> list[tuple[int, int]]:
    """Runs of cells of one layer, each as thick as `least` where the layer is."""
    found: list[tuple[int, int]] = []
    first = 0
    for k in range(len(outer)):
        last = k + 1 == len(outer) or owner[k + 1] != owner[k]
        if last or inner[k] - outer[first] >= least:
            found.append((first, k + 1))
            first = k + 1
    return found


def _with_gaps(
    ds: xr.Dataset, bands: list[Band], fields: dict[str, Array], step: int
) -> tuple[list[Band], dict[str, Array]]:
    """Put the air of the gaps between the bands they part."""
    if "gap_name" not in ds.variables:
        return bands, fields
    T = array(ds, "gap_temperature")
    rh = array(ds, "gap_vapour_pressure") / saturation_pressure(T, over="iso13788")
    air = {"temperature": T, "relative_humidity": rh, "water_content": np.full_like(T, np.nan)}
    for gap, name in enumerate(text(ds, "gap_name")):
        at = next(k for k in range(1, len(bands)) if _open(bands, k))
        bands = [*bands[:at], Band(bands[at - 1].inner, bands[at].outer, name, True), *bands[at:]]
        fields = {
            key: np.insert(values, at, stepwise(air[key][:, gap], step), axis=1)
            for key, values in fields.items()
        }
    return bands, fields


def _open(bands: list[Band], k: int) -> bool:
    return bands[k].outer - bands[k - 1].inner > SAME_DEPTH
