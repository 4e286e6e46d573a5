"""Moisture content by mass of layers and of their outer or inner millimetres.

Owns the rating of water in layers; knows nothing of fungi, of metal and of verdicts.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from hygro.assess.hourly import Hourly, Record, kept
from hygro.assess.places import Part, layer_index, part_name, part_weights, span
from hygro.assess.select import array, series, times
from hygro.assess.series import Exceedance, days_below, exceedance


@kept
def part_mean(ds: Hourly, name: str, layer: str, part: Part | None = None) -> np.ndarray:
    """Thickness-weighted mean of a cell array over a layer or part of it, dims (time)."""
    weights = part_weights(ds, layer_index(ds, layer), part)
    inside = span(weights > 0.0)
    return array(ds, name)[:, inside] @ (weights[inside] / weights.sum())


@kept
def content(ds: Hourly, layer: str, part: Part | None = None) -> np.ndarray:
    """`moisture_content` as plain numbers, dims (time)."""
    density = float(array(ds, "layer_density")[layer_index(ds, layer)])
    return part_mean(ds, "water_content", layer, part) / density


def moisture_content(ds: Record, layer: str, part: Part | None = None) -> xr.DataArray:
    """Moisture content of a layer, water (with ice) per dry mass, hourly. [kg/kg]

    Parameters
    ----------
    ds : Dataset
        A result.
    layer : str
        Name of the layer.
    part : (face, thickness) or None
        ``("outer", 0.003)`` for the outer 3 mm [m]; None for the whole layer.
    """
    return series(
        ds,
        content(ds, layer, part),
        unit="1",
        long_name=f"moisture content by mass of {part_name(layer, part)}",
    )


def hours_above(
    ds: Record,
    layer: str,
    limit: float,
    *,
    part: Part | None = None,
    warmer_than: float | None = None,
) -> Exceedance:
    """Hours and longest run with a moisture content above `limit`.

    Parameters
    ----------
    ds, layer, part
        Result, layer and part as in `moisture_content`.
    limit : float
        Moisture content by mass. [kg/kg] 20 % is 0.20.
    warmer_than : float, optional
        Count only hours with the part warmer than this. [K] Fungi hardly grow below 0-5 °C.
    """
    gate = None
    if warmer_than is not None:
        gate = part_mean(ds, "temperature", layer, part) > warmer_than
    return exceedance(content(ds, layer, part), times(ds), limit, gate=gate)


def days_to_dry(
    ds: Record,
    layer: str,
    limit: float,
    *,
    start: str | np.datetime64 | None = None,
    part: Part | None = None,
) -> float | None:
    """Days from `start` (default: of the run) until the moisture content stays below `limit`. [d]

    Parameters
    ----------
    ds, layer, part
        Result, layer and part as in `moisture_content`.
    limit : float
        Moisture content by mass. [kg/kg]
    start : date, optional
        Where to begin counting.

    Returns
    -------
    float or None
        None where the layer is not below the limit at the end of the run.
    """
    begin = times(ds)[0] if start is None else start
    return days_below(content(ds, layer, part), times(ds), limit, start=begin)
