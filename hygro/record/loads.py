"""Loads in the Dataset and back, so that a run can be repeated from its file alone."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from hygro.wall.loads import Loads

Array = NDArray[np.float64]


def load_variables(loads: Loads) -> dict[str, Any]:
    """The loads that no other variable of the record holds."""
    found: dict[str, Any] = {
        "outdoor_heat_transfer": loads.instant[:, 0, 2],
        "outdoor_vapour_transfer": loads.instant[:, 0, 3],
        "indoor_heat_transfer": loads.instant[:, 1, 2],
        "indoor_vapour_transfer": loads.instant[:, 1, 3],
        "outdoor_radiation": at_hour_ends(loads.mean[:, 0, 0]),
        "indoor_radiation": at_hour_ends(loads.mean[:, 1, 0]),
        "indoor_wetting": at_hour_ends(loads.mean[:, 1, 1]),
        "wind_speed": at_hour_ends(loads.wind),
        "air_flow": at_hour_ends(loads.air),
    }
    if loads.gap_rate.shape[1]:
        found["gap_exchange"] = at_hour_ends(loads.gap_rate)
    if loads.source.shape[1]:
        found["source_rate"] = at_hour_ends(loads.source)
    return found


def stored_loads(ds: xr.Dataset, assumptions: tuple[str, ...] = ()) -> Loads:
    """The loads that a record was made with, to the bit."""
    sides = [
        np.stack(
            [
                ds[f"{side}_temperature"].values,
                ds[f"{side}_vapour_pressure"].values,
                ds[f"{side}_heat_transfer"].values,
                ds[f"{side}_vapour_transfer"].values,
            ],
            axis=1,
        )
        for side in ("outdoor", "indoor")
    ]
    hours = ds.sizes["time"] - 1
    mean = np.stack(
        [
            np.stack([_hours(ds, "outdoor_radiation"), _hours(ds, "rain_incident")], axis=1),
            np.stack([_hours(ds, "indoor_radiation"), _hours(ds, "indoor_wetting")], axis=1),
        ],
        axis=1,
    )
    none = np.zeros((hours, 0))
    return Loads(
        time=ds["time"].values,
        instant=np.stack(sides, axis=1),
        mean=mean,
        gap_rate=_hours(ds, "gap_exchange") if "gap_exchange" in ds else none,
        wind=_hours(ds, "wind_speed"),
        source=_hours(ds, "source_rate") if "source_rate" in ds else none,
        air=_hours(ds, "air_flow"),
        assumptions=assumptions,
    )


def at_hour_ends(values: Array) -> Array:
    """Hour means stand at the end of their hour; the first instant has none."""
    return np.concatenate([np.full_like(values[:1], np.nan), values])


def _hours(ds: xr.Dataset, name: str) -> Array:
    return ds[name].values[1:]
