"""Opens netCDF files and takes numbers and stamps out of them; knows no weather variable."""

from __future__ import annotations

import math
import warnings
from pathlib import Path

import netCDF4
import numpy as np
import xarray as xr

from weather.arrays import Array, Times
from weather.errors import UserError, fault
from weather.files import check_size
from weather.interrupts import interrupt_later
from weather.stamps import nanoseconds


def load(path: Path) -> xr.Dataset:
    """Return the whole dataset in memory, if it is one and of sane size unpacked."""
    try:
        with interrupt_later():
            return _loaded(path)
    except (OSError, ValueError, TypeError, RuntimeError, OverflowError) as error:
        if isinstance(error, UserError):
            raise
        words = str(error).strip().splitlines() or [type(error).__name__]
        raise fault(
            path.name, f"cannot be read as netCDF: {words[0][:120]}", "damaged, or another format?"
        ) from error


def _loaded(path: Path) -> xr.Dataset:
    with netCDF4.Dataset(path) as packed:
        cells = sum(math.prod(item.shape) for item in packed.variables.values())
    check_size(path.name, 8 * cells)
    with warnings.catch_warnings():
        # dates that numpy does not hold are told with their row
        warnings.simplefilter("ignore", xr.SerializationWarning)
        with xr.open_dataset(path) as dataset:
            return dataset.load()


def stamps_of(dataset: xr.Dataset, name: str, source: str) -> Times:
    """Stamps of a coordinate or variable."""
    values = _along(dataset, name, source)
    if not np.issubdtype(values.dtype, np.datetime64):
        raise fault(f"{source}, {name}", f"no dates ({values.dtype})", "units 'hours since ...'?")
    return nanoseconds(values, place=source)


def floats(dataset: xr.Dataset, name: str, source: str) -> Array:
    """Numbers of a variable, one for each hour."""
    values = _along(dataset, name, source)
    if values.dtype.kind not in "fiu":
        kinds = {"M": "dates", "m": "durations", "b": "yes and no"}
        what = kinds.get(values.dtype.kind, "text")
        raise fault(f"{source}, {name}", f"holds {what}: must be numbers", "units without 'since'?")
    return values.astype(float)


def _along(dataset: xr.Dataset, name: str, source: str) -> np.ndarray:
    if name not in dataset.variables:
        listed = ", ".join(map(str, dataset.variables))
        raise fault(f"{source}, {name}", "no such variable", f"variables are {listed}")
    values = dataset[name].values
    if values.ndim != 1:
        raise fault(f"{source}, {name}", f"{values.ndim} dimensions: must be 1", "a map of points?")
    return values
