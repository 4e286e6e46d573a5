"""Changes a dataset on request: fills gaps, scales, accepts an odd sum; each enters the history."""

from __future__ import annotations

from typing import Literal

import numpy as np
import xarray as xr

from weather.arrays import Array
from weather.canonical import SNOW_BELOW, needed, note, with_rain
from weather.constants import YEAR_HOURS
from weather.errors import fault
from weather.moistair import dew_point, vapour_pressure
from weather.quality import annual_sum, stamp, stretches
from weather.variables import TABLE, attributes

Fill = Literal["linear", "previous", "zero", "same hour"]


def fill(
    dataset: xr.Dataset, variable: str, *, how: Fill = "linear", max_gap_hours: int = 6
) -> xr.Dataset:
    """Fill gaps of one variable on request, and write it into the history.

    Parameters
    ----------
    dataset : Dataset
        Canonical weather.
    variable : str
        What to fill.
    how : {"linear", "previous", "zero", "same hour"}
        Linear in time, hold the last value, zero (rain and sun only), or the mean of the same
        hour on the days before and after. Direction can only be held.
    max_gap_hours : int
        Longest gap that may be filled. [h]

    Raises
    ------
    WeatherError
        When a gap is longer, touches an end that the method needs, or the method does not suit.
    """
    if variable not in dataset:
        raise fault(variable, "not in the weather, nothing to fill")
    values = dataset[variable].values.copy()
    gaps = stretches(np.isnan(values))
    for start, length in gaps:
        if length > max_gap_hours:
            raise fault(
                f"{variable} at {stamp(dataset, start)}",
                f"gap of {length} h, may be {max_gap_hours} h",
                "raise max_gap_hours on purpose, or use another source",
            )
    _check_method(variable, how)
    for start, length in gaps:
        values[start : start + length] = _patch(values, start, length, how)
    if np.isnan(values).any():
        where = stamp(dataset, int(np.flatnonzero(np.isnan(values))[0]))
        raise fault(f"{variable} at {where}", f"'{how}' finds no value beside the gap")
    hours = sum(length for _, length in gaps)
    result = dataset.assign({variable: ("time", values, attributes(variable))})
    line = f"{variable}: {hours} hours in {len(gaps)} gaps filled, {how}"
    return note(_derive(result.assign_attrs(dataset.attrs), variable), line)


def rescale(dataset: xr.Dataset, variable: str, factor: float, *, reason: str) -> xr.Dataset:
    """Multiply a variable, such as precipitation given in tenths; the reason enters the history.

    Parameters
    ----------
    dataset : Dataset
        Canonical weather.
    variable : str
        What is multiplied.
    factor : float
        By what. [1]
    reason : str
        Why the numbers of the file are not those meant.

    Raises
    ------
    WeatherError
        The factor leads out of the bounds of the variable.
    """
    values = dataset[variable].values * factor
    row = TABLE[variable]
    if np.nanmin(values) < row.lower or np.nanmax(values) > row.upper:
        raise fault(variable, f"factor {factor:g} leads out of {row.lower:g}–{row.upper:g}")
    result = dataset.assign({variable: ("time", values, attributes(variable))})
    result = _derive(result.assign_attrs(dataset.attrs), variable)
    return note(result, f"{variable}: multiplied by {factor:g}, {reason}")


def scale_rain(dataset: xr.Dataset, *, to_mm: float) -> xr.Dataset:
    """Scale precipitation by one factor to an annual sum, such as the normal of the place.

    Hours of rain, and so intensities, scale alike: a typical year that holds half the rain gets
    twice the rate in as many hours. The factor enters the history.

    Parameters
    ----------
    dataset : Dataset
        Weather of a year or more, with precipitation in every hour.
    to_mm : float
        Annual sum to reach. [kg/m²]

    Raises
    ------
    WeatherError
        Without rain, with gaps in it, for parts of a year, or out of 1 to 20000 mm.
    """
    if not 1.0 <= to_mm <= 20000.0:
        raise fault("scale_rain", f"to_mm = {to_mm:g}: must be 1 to 20000 mm", "is it in metres?")
    needed(dataset, "precipitation", purpose="scaling the rain")
    hours = dataset.sizes["time"]
    if hours < YEAR_HOURS:
        raise fault("scale_rain", f"{hours} hours: must be {YEAR_HOURS} or more", "join more files")
    yearly = annual_sum(dataset, "precipitation")
    if yearly == 0.0:
        raise fault("scale_rain", "precipitation is zero throughout", "take rain from elsewhere")
    reason = f"annual sum scaled from {yearly:.4g} to {to_mm:.4g} mm"
    return rescale(dataset, "precipitation", to_mm / yearly, reason=reason)


def accept_rain(dataset: xr.Dataset, *, reason: str) -> xr.Dataset:
    """Take rain of an implausible annual sum on purpose, as in a desert; enters the history.

    Parameters
    ----------
    dataset : Dataset
        Canonical weather.
    reason : str
        Why the sum is right.

    Raises
    ------
    WeatherError
        Without a reason.
    """
    if not reason.strip():
        raise fault("accept_rain", "no reason given", "say why the sum is right")
    result = dataset.assign_attrs(rain_accepted=reason)
    return note(result, f"annual precipitation accepted as it is: {reason}")


def _derive(dataset: xr.Dataset, changed: str) -> xr.Dataset:
    """Keep the derived variables in step with what was changed."""
    if changed in ("temperature", "relative_humidity"):
        pressure = vapour_pressure(
            dataset["temperature"].values, dataset["relative_humidity"].values
        )
        dataset = dataset.assign(vapour_pressure=("time", pressure, attributes("vapour_pressure")))
        dataset = _complete_dew_point(dataset, pressure)
    if changed in ("temperature", "precipitation") and "rain" in dataset:
        return with_rain(
            dataset, snow_below=float(dataset["rain"].attrs.get("snow_below", SNOW_BELOW))
        )
    return dataset


def _complete_dew_point(dataset: xr.Dataset, pressure: Array) -> xr.Dataset:
    """Dew points that lacked only what is now known."""
    if "dew_point" not in dataset:
        return dataset
    values = dataset["dew_point"].values
    rows = np.isnan(values) & (pressure > 0.0)
    completed = np.where(rows, dew_point(np.where(rows, pressure, 1.0)), values)
    return dataset.assign(dew_point=("time", completed, attributes("dew_point")))


def _check_method(variable: str, how: str) -> None:
    methods = ("linear", "previous", "zero", "same hour")
    if how not in methods:
        raise fault("how", f"'{how}' is not known", f"choose from {', '.join(methods)}")
    if how == "linear" and variable in ("precipitation", "rain"):
        raise fault(variable, "is not filled linearly", "choose another way")
    if how != "previous" and variable == "wind_direction":
        raise fault(variable, f"is not filled by '{how}': angles have no mean", "use 'previous'")
    if how == "zero" and TABLE[variable].units not in ("W/m2", "kg/m2"):
        raise fault(variable, "is not filled with zero", "zero suits rain and radiation only")


def _patch(values: Array, start: int, length: int, how: str) -> Array:
    before = values[start - 1] if start > 0 else np.nan
    after = values[start + length] if start + length < len(values) else np.nan
    if how == "zero":
        return np.zeros(length)
    if how == "previous":
        return np.full(length, before)
    if how == "linear":
        return before + (after - before) * np.arange(1, length + 1) / (length + 1)
    rows = np.arange(start, start + length)
    sides = np.full((2, length), np.nan)
    for side, offset in enumerate((-24, 24)):
        inside = (rows + offset >= 0) & (rows + offset < len(values))
        sides[side, inside] = values[(rows + offset)[inside]]
    known = ~np.isnan(sides)
    count = known.sum(axis=0)
    return np.where(count > 0, np.nansum(sides, axis=0) / np.maximum(count, 1), np.nan)
