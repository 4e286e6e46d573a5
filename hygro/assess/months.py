"""Water of a wall month by month: what came in, what left, what stayed.

The balance is that of the layers behind the cladding; it closes by the fluxes of the record.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from hygro.assess.condensation import hourly_mass
from hygro.assess.criteria.rated import Rated
from hygro.assess.places import Sheathing, layer_index
from hygro.assess.select import array, text, times
from hygro.record.provenance import stored_wall

Array = NDArray[np.float64]
HOUR = np.timedelta64(1, "h")


@dataclass(frozen=True)
class MonthlyBalance:
    """Water of the layers from one inward, by calendar month.

    Attributes
    ----------
    month : array of datetime64[M], (n,)
        Months of the record, the first and last as far as it reaches.
    layers : tuple of str
        Layers that count, outside to inside.
    flows : dict of array, (n,)
        What each way brought, negative where it took away. [kg/m²] Keys: "outdoors" and "room"
        (through the outer and the inner face, vapour and liquid), "rain leaks", "wettings",
        "air leaks", "drained".
    change : array, (n,)
        Increase of the water of these layers. [kg/m²]
    """

    month: NDArray[np.datetime64]
    layers: tuple[str, ...]
    flows: dict[str, Array]
    change: Array

    @property
    def residual(self) -> float:
        """Largest part of a month that no flow explains. [kg/m²]"""
        return float(np.abs(sum(self.flows.values()) - self.change).max())


def monthly_balance(ds: xr.Dataset, sheathing: Sheathing) -> MonthlyBalance:
    """Return the balance of the layers behind the cladding, month by month.

    Without the layers' own sources in the record, those of the wall are taken.

    Parameters
    ----------
    ds : Dataset
        A result.
    sheathing : Sheathing
        Decides where "behind the cladding" begins (`hygro.assess.find_sheathing`).
    """
    first = Rated(ds, ds, sheathing).behind_cladding
    water = array(ds, "layer_water")[:, first:].sum(axis=1)
    hourly = {
        "outdoors": _through(ds, first),
        "room": -_through(ds, ds.sizes["layer"]),
        **_sources(ds, first),
    }
    month, group = np.unique((times(ds)[1:] - HOUR).astype("datetime64[M]"), return_inverse=True)

    def by_month(values: Array) -> Array:
        return np.bincount(group, weights=values, minlength=len(month)).astype(float)

    return MonthlyBalance(
        month,
        text(ds, "layer_name")[first:],
        {name: by_month(values) for name, values in hourly.items()},
        by_month(np.diff(water)),
    )


def _through(ds: xr.Dataset, interface: int) -> Array:
    """Mass of each hour through an interface, positive inward. [kg/m²]"""
    found: Array = hourly_mass(ds, "moisture_flux")[:, interface]
    return found


def _sources(ds: xr.Dataset, first: int) -> dict[str, Array]:
    """What leaks and wettings bring to the layers from one inward, and what drains from them."""
    rain, wetting, air = _given(ds, first)
    if "layer_source" in ds.variables:
        total = hourly_mass(ds, "layer_source")[:, first:].sum(axis=1)
    else:
        total = rain + wetting + air - hourly_mass(ds, "drained")
    return {
        "rain leaks": rain,
        "wettings": wetting,
        "air leaks": air,
        "drained": total - rain - wetting - air,
    }


def _given(ds: xr.Dataset, first: int) -> tuple[Array, Array, Array]:
    """Water of rain leaks, wettings and air leaks whose places are among the layers."""
    air = hourly_mass(ds, "leak_vapour")
    if "source_rate" not in ds.variables or "wall" not in ds.attrs:
        return hourly_mass(ds, "leak_rain"), np.zeros_like(air), air
    leaks = stored_wall(ds).leaks
    rates = hourly_mass(ds, "source_rate")
    places = [source.at for source in (*leaks.rain, *leaks.wetting)]
    counts = [layer_index(ds, place) >= first for place in places]
    split = len(leaks.rain)

    def total(chosen: slice) -> Array:
        columns = [i for i in range(*chosen.indices(len(places))) if counts[i]]
        found: Array = rates[:, columns].sum(axis=1)
        return found

    return total(slice(0, split)), total(slice(split, None)), air
