"""Water that ran off out of a layer. Owns what of the sources of a layer is that."""

from __future__ import annotations

import numpy as np

from hygro.assess.condensation import hourly_mass
from hygro.assess.hourly import Hourly, Record, hourly, kept
from hygro.assess.select import holds, text


@kept
def ran_off(ds: Hourly) -> np.ndarray | None:
    """Water that drained from each layer in each hour; None where the record does not tell.

    A layer that takes in more than it loses in an hour drains nothing there. What leaking air
    drops or takes up is not drained. Dims (N, layer). [kg/m²]
    """
    if not holds(ds, "layer_source"):
        return None
    return np.asarray((_by_air(ds) - hourly_mass(ds, "layer_source")).clip(min=0.0))


def _by_air(ds: Record) -> np.ndarray:
    """What leaking air drops in each layer in each hour, negative where it takes up. [kg/m²]

    The record has the sum over all air leaks. Where they act in several layers each is given what
    all take up and nothing of what they drop: what runs off there is then a lower bound.
    """
    dropped, layers = hourly_mass(ds, "leak_vapour"), text(ds, "layer_name")
    wall = hourly(ds).wall
    leaks = () if wall is None else wall.leaks.air
    at = [layers.index(name) for name in {leak.at for leak in leaks}]
    share = np.zeros((len(dropped), len(layers)))
    share[:, at] = (dropped if len(at) == 1 else dropped.clip(max=0.0))[:, None]
    return share
