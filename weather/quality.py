"""Judges a dataset: gaps, standstill, rain and sun that cannot be; changes nothing."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, NamedTuple

import numpy as np
import xarray as xr

from weather.arrays import Flags
from weather.canonical import needed
from weather.constants import MEAN_YEAR_HOURS, YEAR_HOURS
from weather.errors import fault
from weather.plane import sun_offset
from weather.stamps import hour_of_day

Problem = Literal[
    "missing", "gap", "constant", "no rain", "implausible rain", "implausible sun", "late sun"
]

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


def annual_sum(dataset: xr.Dataset, variable: str) -> float:
    """Mean sum per year of 8766 h; the 8760 h of a year without leap day count as one. [kg/m²]"""
    total = float(np.nansum(dataset[variable].values))
    years = dataset.sizes["time"] / MEAN_YEAR_HOURS
    nearest = max(round(years), 1)
    return total / (nearest if abs(years - nearest) < 0.002 * nearest else years)


def stretches(flags: Flags) -> list[tuple[int, int]]:
    """Start and length of each run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(int)))
    return [(int(a), int(b - a)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def stamp(dataset: xr.Dataset, row: int) -> str:
    """Time of a row to the minute, ISO 8601."""
    return str(dataset["time"].values[row].astype("datetime64[m]"))


def _gaps(dataset: xr.Dataset, name: str) -> list[Finding]:
    return [
        Finding(
            "gap",
            name,
            stamp(dataset, start),
            float(length),
            f"{name}: {length} h missing from {stamp(dataset, start)}",
        )
        for start, length in stretches(np.isnan(dataset[name].values))
    ]


def _standstill(dataset: xr.Dataset, name: str, limit: int) -> list[Finding]:
    values = dataset[name].values
    found = []
    for start, length in stretches(np.diff(values) == 0.0):
        # Saturated air and calm stay put for good reasons.
        natural = (name, float(values[start])) in (("relative_humidity", 1.0), ("wind_speed", 0.0))
        if length + 1 > limit and not natural:
            text = f"{name}: {values[start]:g} for {length + 1} h from {stamp(dataset, start)}"
            found.append(Finding("constant", name, stamp(dataset, start), length + 1.0, text))
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
