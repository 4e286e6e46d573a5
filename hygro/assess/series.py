"""Running means, hours above a limit, and the time to dry, of any hourly series.

Owns counting along time; knows no wall. Index 0 of a series is the initial state, so a run of N
hours has N + 1 instants and the hour that ends at instant i is counted by the value at i.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from hygro.assess.select import HOURS_PER_DAY, stamp
from hygro.errors import InputError
from hygro.solve.kernels.compiler import entry

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

DAY, WEEK, MONTH = 24, 7 * 24, 30 * 24
"""Windows of the running means. [h]"""


@dataclass(frozen=True)
class Exceedance:
    """Hours beyond a limit.

    Attributes
    ----------
    limit : float
        In the unit of the series.
    hours : int
        Hours beyond the limit, with the gate open. [h]
    longest : int
        Longest unbroken run of them. [h]
    began : numpy.datetime64 or None
        End of the first hour of the longest run.
    """

    limit: float
    hours: int
    longest: int
    began: np.datetime64 | None


class Peak(NamedTuple):
    """Highest value of a series and when; value NaN and no time where there is none."""

    value: float
    when: np.datetime64 | None


def running_mean(values: np.ndarray, hours: int) -> np.ndarray:
    """Mean of the last `hours` instants along axis 0; NaN until the window is full.

    Raises
    ------
    InputError
        If the window is shorter than one hour.
    """
    if hours < 1:
        raise InputError(f"running mean: a window of {hours} h must be at least 1 h")
    out = np.empty(values.shape)
    if out.size:
        columns = (len(values), -1)
        given = np.ascontiguousarray(values, dtype=float)
        _running(given.reshape(columns), hours, out.reshape(columns))
    return out


@entry
def _running(values: Array, hours: int, out: Array) -> None:
    """Mean of the last `hours` values of each column; NaN until the window is full."""
    steps, columns = values.shape
    for c in range(columns):
        # Sums of differences from the first value keep all digits of a nearly constant series.
        first, total = values[0, c], 0.0
        for i in range(steps):
            total += values[i, c] - first
            out[i, c] = total
        for i in range(steps - 1, hours - 1, -1):
            out[i, c] = first + (out[i, c] - out[i - hours, c]) / hours
        if steps >= hours:
            out[hours - 1, c] = first + out[hours - 1, c] / hours
        for i in range(min(hours - 1, steps)):
            out[i, c] = np.nan


def running(values: xr.DataArray, hours: int) -> xr.DataArray:
    """`running_mean` of a series with its attributes set anew."""
    attrs = dict(values.attrs)
    attrs["long_name"] = f"{attrs.get('long_name', values.name or '')}, {hours} h running mean"
    attrs["cell_methods"] = f"time: mean (of the last {hours} hourly instants)"
    return values.copy(data=running_mean(np.asarray(values.values, float), hours)).assign_attrs(
        attrs
    )


def peak(values: np.ndarray, stamps: np.ndarray) -> Peak:
    """Highest value, NaN left out."""
    index = int(_highest(np.ascontiguousarray(values)))
    return Peak(float("nan"), None) if index < 0 else Peak(float(values[index]), stamps[index])


@entry
def _highest(values: Array) -> int:
    """Place of the first of the highest values, NaN left out; -1 without one."""
    place, best = -1, -np.inf
    for i in range(len(values)):
        if values[i] > best:
            place, best = i, values[i]
    return place


def exceedance(
    values: np.ndarray,
    stamps: np.ndarray,
    limit: float,
    *,
    gate: np.ndarray | None = None,
    or_equal: bool = False,
) -> Exceedance:
    """Count the hours with a value above `limit` (or equal to it) while `gate` is true.

    Parameters
    ----------
    values, stamps : array
        Hourly series and its instants; NaN counts as not above.
    limit : float
        In the unit of the series.
    gate : array of bool, optional
        For example temperature above 5 °C.
    or_equal : bool
        Count the limit itself too.
    """
    beyond = values >= limit if or_equal else values > limit
    if gate is not None:
        beyond = beyond & gate
    hours, longest, began = _longest(beyond)
    return Exceedance(limit, hours, longest, stamps[began] if hours else None)


@entry
def _longest(beyond: Flags) -> tuple[int, int, int]:
    """Count the hours of a mask; the length of the first of its longest runs and its first hour.

    The initial state ends no hour.
    """
    hours, longest, began, length = 0, 0, 0, 0
    for i in range(1, len(beyond)):
        length = length + 1 if beyond[i] else 0
        hours += beyond[i]
        if length > longest:
            longest, began = length, i + 1 - length
    return hours, longest, began


def drying_days(values: xr.DataArray, limit: float, *, start: str | np.datetime64) -> float | None:
    """Days from `start` until the series falls below `limit` and stays there to the end. [d]

    None where it is not below at the end. 0 where it is below from `start` on.

    Raises
    ------
    InputError
        If `start` lies outside the series.
    """
    return days_below(values.values, values["time"].values, limit, start=start)


def days_below(
    values: np.ndarray, stamps: np.ndarray, limit: float, *, start: str | np.datetime64
) -> float | None:
    """`drying_days` of plain numbers at their instants."""
    begin = np.datetime64(start).astype("datetime64[ns]")
    if not stamps[0] <= begin <= stamps[-1]:
        raise InputError(
            f"start = {start}: must lie in the run, {stamp(stamps[0])} to {stamp(stamps[-1])}"
        )
    first = int(np.searchsorted(stamps, begin))
    wet = np.flatnonzero(~(values[first:] < limit))
    if not len(wet):
        return 0.0
    dry = first + int(wet[-1]) + 1
    return None if dry >= len(stamps) else (dry - first) / HOURS_PER_DAY
