"""Opens a canonical dataset that was saved as netCDF, and checks it like any other input."""

from __future__ import annotations

from pathlib import Path
from typing import get_args

import numpy as np
import xarray as xr

from weather.canonical import Kind, check_bounds, check_place, history, place_of
from weather.errors import fault
from weather.files import require_file
from weather.netcdf import floats, load, stamps_of
from weather.stamps import check_hourly
from weather.variables import TABLE


def read_canonical(path: str | Path) -> xr.Dataset:
    """Open a canonical dataset saved with `Dataset.to_netcdf` and check it again.

    Raises
    ------
    WeatherError
        When the file is no canonical dataset, or its values are out of bounds.
    """
    found = require_file(path)
    dataset = load(found)
    _check_attributes(dataset, found.name)
    time = stamps_of(dataset, "time", found.name)
    check_hourly(time, place=found.name)
    for name in map(str, dataset.data_vars):
        if name not in TABLE:
            raise fault(f"{found.name}, {name}", "no canonical variable", "use weather.read_table")
        values = floats(dataset, name, found.name)
        if dataset[name].dims != ("time",) or np.isinf(values).any():
            raise fault(f"{found.name}, {name}", "must have one finite value an hour, NaN for none")
        check_bounds(name, values, time, place=found.name)
    return dataset.assign_coords(time=("time", time, dataset["time"].attrs))


def _check_attributes(dataset: xr.Dataset, name: str) -> None:
    for key in ("latitude", "longitude", "altitude", "utc_offset_hours", "history", "kind"):
        if key not in dataset.attrs:
            raise fault(name, f"attribute '{key}' is missing", "use weather.read_table")
    check_place(place_of(dataset, name=name), name)
    history(dataset, name=name)
    offset = dataset.attrs.get("sun_offset_hours", 0.0)
    if not isinstance(offset, float) or not abs(offset) <= 1.0:
        raise fault(name, f"sun_offset_hours = {offset}: must be -1 to 1 h")
    if dataset.attrs["kind"] not in get_args(Kind):
        known = ", ".join(get_args(Kind))
        raise fault(name, f"kind = '{dataset.attrs['kind']}' is not known", f"known: {known}")
