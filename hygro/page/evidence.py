"""What the page keeps of a record: its map, its months, its climates. The fields are let go."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from hygro.assess.condensation import hourly_mass
from hygro.assess.field import DepthTime, depth_time
from hygro.assess.months import MonthlyBalance, monthly_balance
from hygro.assess.places import find_sheathing
from hygro.assess.select import array, times
from hygro.study.trace import Trace
from hygro.types import Plain
from weather.moistair import saturation_pressure

Array = NDArray[np.float64]
HOUR = np.timedelta64(1, "h")


@dataclass(frozen=True)
class Air:
    """Climates on both sides, by calendar month.

    Attributes
    ----------
    month : array of datetime64[M], (n,)
    outdoor, indoor : array, (n, 3)
        Lowest daily mean, mean and highest daily mean temperature. [K]
    outdoor_rh, indoor_rh : array, (n,)
        Mean relative humidity over water. [1]
    rain : array, (n,)
        Rain that met the wall. [kg/m²]
    """

    month: NDArray[np.datetime64]
    outdoor: Array
    indoor: Array
    outdoor_rh: Array
    indoor_rh: Array
    rain: Array


@dataclass(frozen=True)
class Evidence:
    """One record, thinned.

    Attributes
    ----------
    attrs : mapping
        Attributes of the record: origin, versions, hashes, closures.
    """

    attrs: Mapping[Plain, Plain]
    trace: Trace
    field: DepthTime
    months: MonthlyBalance
    air: Air


def evidence(ds: xr.Dataset, found: Trace) -> Evidence:
    """Thin a record to what the page shows of it, beside its trace."""
    return Evidence(
        dict(ds.attrs),
        found,
        depth_time(ds),
        monthly_balance(ds, find_sheathing(ds, found.sheathing)),
        air(ds),
    )


def air(ds: xr.Dataset) -> Air:
    """Return the climates on both sides of a wall, month by month."""
    month, group = np.unique((times(ds)[1:] - HOUR).astype("datetime64[M]"), return_inverse=True)
    count = np.bincount(group)

    def mean(values: Array) -> Array:
        found: Array = np.bincount(group, weights=values) / count
        return found

    def side(name: str) -> tuple[Array, Array]:
        T = array(ds, f"{name}_temperature")[1:]
        rh = array(ds, f"{name}_vapour_pressure")[1:] / saturation_pressure(T, over="water")
        daily = T[: len(T) // 24 * 24].reshape(-1, 24).mean(axis=1)
        of = group[::24][: len(daily)]
        ends = [
            np.array([f(daily[of == k]) if (of == k).any() else m for k, m in enumerate(mean(T))])
            for f in (np.min, np.max)
        ]
        return np.column_stack((ends[0], mean(T), ends[1])), mean(rh)

    (outdoor, outdoor_rh), (indoor, indoor_rh) = side("outdoor"), side("indoor")
    rain = np.bincount(group, weights=hourly_mass(ds, "rain_incident")).astype(float)
    return Air(month, outdoor, indoor, outdoor_rh, indoor_rh, rain)
