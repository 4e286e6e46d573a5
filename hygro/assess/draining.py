"""Water that ran off out of a layer. Owns what of the sources of a layer is that."""

from __future__ import annotations

import numpy as np
import xarray as xr

from hygro.assess.condensation import hourly_mass
from hygro.assess.select import text
from hygro.record.provenance import stored_wall


def ran_off(ds: xr.Dataset) -> np.ndarray | None:
    """Water that drained from each layer in each hour; None where the record does not tell.

    A layer that takes in more than it loses in an hour drains nothing there. What leaking air
    drops or takes up is not drained. Dims (N, layer). [kg/m²]
    """
    if "layer_source" not in ds.variables:
        return None
    return np.asarray((_by_air(ds) - hourly_mass(ds, "layer_source")).clip(min=0.0))


def _by_air(ds: xr.Dataset) -> np.ndarray:
    """What leaking air drops in each layer in each hour, negative where it takes up. [kg/m²]

    The record has the sum over all air leaks. Where they act in several layers each is given what
    all take up and nothing of what they drop: what runs off there is then a lower bound.
    """
    dropped, layers = hourly_mass(ds, "leak_vapour"), text(ds, "layer_name")
    leaks = stored_wall(ds).leaks.air if "wall" in ds.attrs else ()
    at = [layers.index(name) for name in {leak.at for leak in leaks}]
    share = np.zeros((len(dropped), len(layers)))
    share[:, at] = (dropped if len(at) == 1 else dropped.clip(max=0.0))[:, None]
    return share
