"""What a record must be, made or opened: complete, within plausible bounds, as it was hashed."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from hygro.errors import InputError, RecordError
from hygro.record.given import stored_loads
from hygro.record.provenance import SCHEMA, loads_hash
from hygro.record.variables import TABLE
from hygro.solve.kernels.compiler import entry
from hygro.types import Data
from hygro.variable import Variable

Array = NDArray[np.float64]


def check_record(record: xr.Dataset, place: str) -> None:
    """Refuse what is not a whole and sound record; `place` starts the message.

    Raises
    ------
    RecordError
        It is of another schema, a variable is missing or has other dimensions, a value is out of
        bounds, or wall or loads are not those of which the hash is stored.
    """
    if record.attrs.get("schema") != SCHEMA:
        raise RecordError(
            f"{place}: not a result of this program: attribute 'schema' is "
            f"{record.attrs.get('schema')!r}, must be '{SCHEMA}'"
        )
    for row in TABLE:
        if not row.optional and row.name not in record.variables:
            raise RecordError(f"{place}: variable '{row.name}' is missing")
    check_bounds(record, place)
    _check_hashes(record, place)


def check_bounds(record: xr.Dataset, place: str) -> None:
    """Refuse values out of bounds: names variable, time, place, value and bound.

    Raises
    ------
    RecordError
        Also where a variable has other dimensions or holds no numbers.
    """
    arrays = {}
    for row in _NUMBERS:
        if row.name not in record.variables:
            continue
        found = record.variables[row.name]
        if set(found.dims) != set(row.dims) or found.dtype.kind not in "fiu":
            raise RecordError(
                f"{place}: '{row.name}' has dimensions {found.dims} and type {found.dtype}: must "
                f"be numbers over {row.dims}"
            )
        arrays[row.name] = found.transpose(*row.dims).values
    labels = (*_LABELS.values(), "cell_layer", "cell_depth")
    named = {name: record.variables[name].values for name in labels if name in record.variables}
    check_arrays(named | arrays, place)


def check_arrays(arrays: Mapping[str, Any], place: str) -> None:
    """Refuse values out of bounds in arrays with the dimensions of the table; see `check_bounds`.

    Raises
    ------
    RecordError
    """
    for row in _NUMBERS:
        if row.name not in arrays or _sound(row, np.asarray(arrays[row.name], dtype=float)):
            continue
        fault = row.fault(np.asarray(arrays[row.name]), _places(arrays))
        if fault is not None:
            raise RecordError(f"{place}: {fault}")


def _sound(row: Variable, values: Array) -> bool:
    """Whether values are seen to be within bounds at once; `Variable.fault` has the last word."""
    if row.low is None or row.high is None:
        return True
    hours = values[1:] if row.first_is_nan and np.isnan(values[:1]).all() else values
    return bool(_within(np.ascontiguousarray(hours).reshape(-1), row.low, row.high))


@entry
def _within(values: Array, low: float, high: float) -> bool:
    """Whether all values lie between bounds; one that is no number does not."""
    outside = 0
    for k in range(len(values)):
        outside |= 1 - int((values[k] >= low) & (values[k] <= high))
    return outside == 0


_NUMBERS = tuple(row for row in TABLE if row.dtype in ("float", "int"))


def _places(arrays: Mapping[str, Any]) -> Data:
    """What a message calls the places along each dimension."""
    found: Data = {dim: arrays[name] for dim, name in _LABELS.items() if name in arrays}
    layers, depth = arrays["cell_layer"], arrays["cell_depth"]
    names = dict(enumerate(found["layer"]))
    found["cell"] = [
        f"{k} ('{names.get(int(layer))}', {1000 * x:.1f} mm from outside)"
        for k, (layer, x) in enumerate(zip(layers, depth, strict=True))
    ]
    return found


_LABELS = {
    "time": "time",
    "side": "side",
    "layer": "layer_name",
    "interface": "interface_name",
    "gap": "gap_name",
}
"""Dimensions with names, and where these stand."""


def _check_hashes(record: xr.Dataset, place: str) -> None:
    """Wall and loads are those of which the hash was stored."""
    attrs = record.attrs
    wall = hashlib.sha256(str(attrs.get("wall")).encode()).hexdigest()
    if wall != attrs.get("wall_sha256"):
        raise RecordError(f"{place}: the wall is not the one that was run")
    try:
        loads = loads_hash(stored_loads(record))
    except InputError as error:
        raise RecordError(f"{place}: {error}") from None
    if loads != attrs.get("loads_sha256"):
        raise RecordError(f"{place}: the hours or loads are not those that were run")
