"""Judges a dataset: gaps, standstill, rain that cannot be; fills on request only."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, NamedTuple

import numpy as np
import xarray as xr

from weather.arrays import Array, Flags
from weather.canonical import SNOW_BELOW, needed, note, with_rain
from weather.constants import MEAN_YEAR_HOURS, YEAR_HOURS
from weather.errors import fault
from weather.moistair import dew_point, vapour_pressure
from weather.plane import sun_offset
from weather.stamps import hour_of_day
from weather.variables import TABLE, attributes

Problem = Literal[
    "missing", "gap", "constant", "no rain", "implausible rain", "implausible sun", "late sun"
]
Fill = Literal["linear", "previous", "zero", "same hour"]

DRIEST_YEAR = 70.0
"""Annual precipitation below which a record is doubted; common practice, no source. [kg/m²]"""
WETTEST_YEAR = 5000.0
"""Annual precipitation above which a record is doubted; common practice, no source. [kg/m²]"""
_STANDSTILL = {"temperature": 24, "relative_humidity": 72, "pressure": 168, "wind_speed": 168}
"""Hours of one unchanged value that point to a stuck instrument; common practice. [h]"""


class Finding(NamedTuple):
    """One thing that is wrong or doubtful."""

    problem: Problem
    variable: str
    first: str
    """Stamp where it begins, ISO 8601; empty when it concerns the whole series."""
    amount: float
    """Hours, or the annual sum in question [kg/m²]."""
    text: str


class QualityReport(NamedTuple):
    """What `inspect` found."""

    hours: int
    missing_share: dict[str, float]
    """Share of missing hours per variable. [1]"""
    findings: tuple[Finding, ...]

    def about(self, problem: Problem) -> tuple[Finding, ...]:
        """Findings of one kind."""
        return tuple(item for item in self.findings if item.problem == problem)


def inspect(dataset: xr.Dataset) -> QualityReport:
    """Look for gaps, constant stretches, missing and implausible rain and sun; changes nothing.

    Parameters
    ----------
    dataset : Dataset
        Canonical weather.
    """
    names = [str(name) for name in dataset.data_vars]
    share = {name: float(np.isnan(dataset[name].values).mean()) for name in names}
    findings: list[Finding] = []
    for name in names:
        findings += _gaps(dataset, name)
        if name in _STANDSTILL:
            findings += _standstill(dataset, name, _STANDSTILL[name])
    findings += _rain(dataset)
    findings += _sun(dataset)
    return QualityReport(dataset.sizes["time"], share, tuple(findings))


def has_rain(dataset: xr.Dataset) -> bool:
    """Whether there is complete precipitation that is neither zero throughout nor implausible.

    Parameters
    ----------
    dataset : Dataset
        Canonical weather.
    """
    return not _rain(dataset)


def require_rain(dataset: xr.Dataset) -> None:
    """Refuse weather whose rain is missing, incomplete, zero throughout, or implausible.

    Parameters
    ----------
    dataset : Dataset
        Canonical weather.

    Raises
    ------
    WeatherError
        With what is wrong, the annual sum and what to do.
    """
    for finding in _rain(dataset):
        raise fault(
            f"{dataset.attrs.get('source', 'weather')}, precipitation",
            finding.text,
            "take rain from another source, run without rain on purpose, or where an odd sum is "
            "right, weather.accept_rain",
        )


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


def require_complete(dataset: xr.Dataset, variables: Iterable[str]) -> None:
    """Refuse weather in which one of the variables is absent or has gaps.

    Parameters
    ----------
    dataset : Dataset
        Canonical weather.
    variables : iterable of str
        Names of what must be there in every hour.

    Raises
    ------
    WeatherError
        With the variable and its first gap.
    """
    for name in variables:
        needed(dataset, name, purpose="this use")


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
    stretches = _stretches(np.isnan(values))
    for start, length in stretches:
        if length > max_gap_hours:
            raise fault(
                f"{variable} at {_stamp(dataset, start)}",
                f"gap of {length} h, may be {max_gap_hours} h",
                "raise max_gap_hours on purpose, or use another source",
            )
    _check_method(variable, how)
    for start, length in stretches:
        values[start : start + length] = _patch(values, start, length, how)
    if np.isnan(values).any():
        where = _stamp(dataset, int(np.flatnonzero(np.isnan(values))[0]))
        raise fault(f"{variable} at {where}", f"'{how}' finds no value beside the gap")
    hours = sum(length for _, length in stretches)
    result = dataset.assign({variable: ("time", values, attributes(variable))})
    line = f"{variable}: {hours} hours in {len(stretches)} gaps filled, {how}"
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


def annual_sum(dataset: xr.Dataset, variable: str) -> float:
    """Mean sum per year of 8766 h; the 8760 h of a year without leap day count as one. [kg/m²]"""
    total = float(np.nansum(dataset[variable].values))
    years = dataset.sizes["time"] / MEAN_YEAR_HOURS
    nearest = max(round(years), 1)
    return total / (nearest if abs(years - nearest) < 0.002 * nearest else years)


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


def _stretches(flags: Flags) -> list[tuple[int, int]]:
    """Start and length of each run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(int)))
    return [(int(a), int(b - a)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _stamp(dataset: xr.Dataset, row: int) -> str:
    return str(dataset["time"].values[row].astype("datetime64[m]"))


def _gaps(dataset: xr.Dataset, name: str) -> list[Finding]:
    return [
        Finding(
            "gap",
            name,
            _stamp(dataset, start),
            float(length),
            f"{name}: {length} h missing from {_stamp(dataset, start)}",
        )
        for start, length in _stretches(np.isnan(dataset[name].values))
    ]


def _standstill(dataset: xr.Dataset, name: str, limit: int) -> list[Finding]:
    values = dataset[name].values
    found = []
    for start, length in _stretches(np.diff(values) == 0.0):
        # Saturated air and calm stay put for good reasons.
        natural = (name, float(values[start])) in (("relative_humidity", 1.0), ("wind_speed", 0.0))
        if length + 1 > limit and not natural:
            text = f"{name}: {values[start]:g} for {length + 1} h from {_stamp(dataset, start)}"
            found.append(Finding("constant", name, _stamp(dataset, start), length + 1.0, text))
    return found


def _rain(dataset: xr.Dataset) -> list[Finding]:
    name = "precipitation"
    if name not in dataset:
        return [Finding("missing", name, "", 0.0, "the weather has no precipitation")]
    values = dataset[name].values
    absent = int(np.isnan(values).sum())
    if absent:
        text = f"precipitation missing in {absent} of {len(values)} hours"
        return [Finding("missing", name, "", float(absent), text)]
    yearly = annual_sum(dataset, name)
    if yearly == 0.0:
        return [Finding("no rain", name, "", 0.0, "precipitation is zero throughout")]
    # Parts of a year may well be dry; only whole years are judged by their sum.
    if len(values) < YEAR_HOURS or "rain_accepted" in dataset.attrs:
        return []
    if DRIEST_YEAR <= yearly <= WETTEST_YEAR:
        return []
    cause = "mostly not recorded" if yearly < DRIEST_YEAR else "in tenths of a millimetre"
    text = (
        f"{yearly:.0f} mm a year is implausible (outside {DRIEST_YEAR:.0f}–{WETTEST_YEAR:.0f}); "
        f"probably {cause}"
    )
    return [Finding("implausible rain", name, "", yearly, text)]


def _sun(dataset: xr.Dataset) -> list[Finding]:
    name = "global_horizontal"
    if name not in dataset or dataset.sizes["time"] < 24:
        return []
    values = dataset[name].values
    if np.all(values[~np.isnan(values)] == 0.0):
        return [Finding("implausible sun", name, "", 0.0, "global radiation is zero throughout")]
    # The brightest three hours of the mean day must lie about noon, otherwise the zone is wrong.
    hours = hour_of_day(dataset["time"].values)
    course = np.array([np.nanmean(values[hours == hour]) for hour in range(24)])
    centre = float(np.angle(np.sum(course * np.exp(2j * np.pi * (np.arange(24) - 0.5) / 24.0))))
    noon = (centre * 24.0 / (2.0 * np.pi)) % 24.0
    if 10.0 <= noon <= 14.5:
        return _late_sun(dataset)
    text = f"global radiation centres on {noon:.1f} h local standard time; wrong zone or stamps?"
    return [Finding("implausible sun", name, "", noon, text)]


def _late_sun(dataset: xr.Dataset) -> list[Finding]:
    """Radiation that does not fit the sun of its stamps; needs direct and diffuse without gaps."""
    names = ("global_horizontal", "direct_normal", "diffuse_horizontal")
    if any(name not in dataset or dataset[name].isnull().any() for name in names):
        return []
    if "sun_offset_hours" in dataset.attrs or not float(dataset["direct_normal"].sum()) > 0.0:
        return []
    lag = sun_offset(dataset)
    if lag == 0.0:
        return []
    text = f"radiation lags the sun of its stamps by {lag:g} h; weather.align_sun settles that"
    return [Finding("late sun", "global_horizontal", "", lag, text)]
