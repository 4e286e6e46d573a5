"""Water in the wall from year to year: does it accumulate?

Owns the yearly series and its trend. A year is 8760 hours from the start of the rated run, so that
a leap day shifts the date of comparison by a day and loses nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr

from hygro.assess.condensation import hourly_mass
from hygro.assess.hourly import Record
from hygro.assess.select import HOURS_PER_YEAR, array, text, times
from hygro.assess.series import MONTH
from hygro.errors import InputError

_FLOWS = ("rain_absorbed", "leak_rain", "drained", "leak_vapour")


@dataclass(frozen=True)
class YearlyBalance:
    """Water at each anniversary of the start, and what came in between.

    Attributes
    ----------
    total : DataArray, dims (anniversary)
        Water in all layers, the start first. [kg/m²]
    layers : DataArray, dims (anniversary, layer)
        The same of each layer. [kg/m²]
    change : DataArray, dims (year)
        Increase of the total in each year. [kg/m²]
    layer_change : DataArray, dims (year, layer)
        [kg/m²]
    trend : float
        Slope of the total through the anniversaries, the start left out where there are at least
        two others (the first year is the drying of construction moisture). [kg/m² per year]
    flows : dict of DataArray, dims (year)
        Mass of the year of absorbed rain, leaks and drainage. [kg/m²]
    """

    total: xr.DataArray
    layers: xr.DataArray
    change: xr.DataArray
    layer_change: xr.DataArray
    trend: float
    flows: dict[str, xr.DataArray]

    @property
    def years(self) -> int:
        """Whole years in the run."""
        return int(self.change.size)


def yearly_balance(ds: Record) -> YearlyBalance:
    """Water of the wall and of each layer from year to year.

    Raises
    ------
    InputError
        If the run is shorter than one year of 8760 hours.
    """
    stamps, marks = times(ds), _anniversaries(ds)
    years = len(marks) - 1
    layers = array(ds, "layer_water")[marks]
    total = layers.sum(axis=1)
    when, ends = ("anniversary", stamps[marks]), ("year", stamps[marks[1:]])
    names = list(text(ds, "layer_name"))
    return YearlyBalance(
        _yearly(total, when, "water in the wall"),
        _yearly(layers, when, "water in the layer", names),
        _yearly(np.diff(total), ends, "increase of water in the wall in the year"),
        _yearly(np.diff(layers, axis=0), ends, "increase of water in the layer in the year", names),
        trend(ds),
        {name: _yearly(_sums(ds, name, years), ends, f"{name} of the year") for name in _FLOWS},
    )


def trend(ds: Record) -> float:
    """`YearlyBalance.trend` alone; raises `InputError` as `yearly_balance`. [kg/m² per year]"""
    total = array(ds, "layer_water")[_anniversaries(ds)].sum(axis=1)
    slope = total[1:] if len(total) > 2 else total
    return float(np.polyfit(np.arange(len(slope)), slope, 1)[0])


def _anniversaries(ds: Record) -> np.ndarray:
    """Places of the start and of the end of every whole year."""
    hours = len(times(ds)) - 1
    if hours < HOURS_PER_YEAR:
        raise InputError(
            f"yearly balance: the run covers {hours} h: must be at least {HOURS_PER_YEAR} h"
        )
    return HOURS_PER_YEAR * np.arange(hours // HOURS_PER_YEAR + 1)


def yearly_gain(ds: Record, first: int = 0) -> tuple[float, float]:
    """Gain of the last year and the water before it, as means of the 30 days before each end.

    Single hours would tell of the last shower rather than of the year.

    Parameters
    ----------
    ds : Dataset
        A result of two whole years or more.
    first : int
        Index of the outermost layer that counts.

    Returns
    -------
    gain, before : float
        [kg/m²]
    """
    years = (len(times(ds)) - 1) // HOURS_PER_YEAR
    water = array(ds, "layer_water")[:, first:]
    before, after = (
        float(water[end - MONTH + 1 : end + 1].sum(axis=1).mean())
        for end in (HOURS_PER_YEAR * (years - 1), HOURS_PER_YEAR * years)
    )
    return after - before, before


def _sums(ds: Record, name: str, years: int) -> np.ndarray:
    return hourly_mass(ds, name)[: years * HOURS_PER_YEAR].reshape(years, -1).sum(axis=1)


def _yearly(
    values: np.ndarray,
    axis: tuple[str, np.ndarray],
    long_name: str,
    layers: list[str] | None = None,
) -> xr.DataArray:
    dim, stamps = axis
    coords: dict[str, object] = {dim: stamps}
    dims: tuple[str, ...] = (dim,)
    if layers is not None:
        dims, coords["layer"] = (dim, "layer"), layers
    return xr.DataArray(
        values, dims=dims, coords=coords, attrs={"units": "kg m-2", "long_name": long_name}
    )
