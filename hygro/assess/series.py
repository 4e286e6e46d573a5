"""Running means, hours above a limit, and the time to dry, of any hourly series.

Owns counting along time; knows no wall. Index 0 of a series is the initial state, so a run of N
hours has N + 1 instants and the hour that ends at instant i is counted by the value at i.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import xarray as xr

from hygro.assess.select import HOURS_PER_DAY, stamp
from hygro.errors import InputError

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
    out = np.full(values.shape, np.nan)
    if len(values) >= hours:
        # Sums of differences from the first value keep all digits of a nearly constant series.
        total = np.cumsum(values - values[:1], axis=0)
        total[hours:] -= total[:-hours].copy()
        out[hours - 1 :] = values[0] + total[hours - 1 :] / hours
    return out


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
    index = int(values.argmax()) if len(values) else 0
    if not (len(values) and np.isfinite(values[index])):  # argmax stops at what is no number
        if not np.isfinite(values).any():
            return Peak(float("nan"), None)
        index = int(np.nanargmax(values))
    return Peak(float(values[index]), stamps[index])


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
    beyond = beyond.copy()
    beyond[0] = False  # the initial state ends no hour
    starts, lengths = runs(beyond)
    if not len(lengths):
        return Exceedance(limit, 0, 0, None)
    longest = int(np.argmax(lengths))
    return Exceedance(limit, int(lengths.sum()), int(lengths[longest]), stamps[starts[longest]])


def runs(mask: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """First index and length of each unbroken run of true values."""
    edges = np.diff(np.concatenate(([0], mask.astype(np.int8), [0])))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    return starts, ends - starts


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
