"""Joins datasets in time: several files into one series, and a typical year repeated.

Two ways: by calendar (stamps as they are, nothing missing between) and one after another, where
years of 8760 hours follow each other without leap days. Then `time` runs on strictly hourly, so
its calendar drifts by a day for each leap year; the coordinate `calendar_time` keeps the stamp
whose season and sun the hour has, and the sun is computed from it.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

import numpy as np
import xarray as xr

from weather.arrays import Times
from weather.canonical import CAUTIONS, Kind, history, note, place_of
from weather.constants import YEAR_HOURS
from weather.errors import WeatherError, fault
from weather.stamps import HOUR, check_hourly

How = Literal["calendar", "consecutive"]

_CALENDAR = {"long_name": "stamp that gives season and sun"}
_SAME_PLACE = 0.1
"""Largest difference of latitude and longitude between files of one station. [degree]"""


def join(datasets: Sequence[xr.Dataset], *, how: How = "calendar") -> xr.Dataset:
    """Join datasets of one place into one long series.

    Parameters
    ----------
    datasets : sequence of Dataset
        Canonical datasets. Variables that not all of them have are left out and noted.
    how : {"calendar", "consecutive"}
        Sorted by their stamps, which must join without gap or overlap; or in the order given,
        each a year of 8760 hours, restamped to follow the one before.

    Raises
    ------
    WeatherError
        On no datasets, different places, duplicate hours, gaps, or years that are not 8760 hours.
    """
    if not datasets:
        raise WeatherError("join: no datasets given")
    for other in datasets[1:]:
        _check_place(datasets[0], other)
    if how == "calendar":
        ordered = sorted(datasets, key=lambda item: item["time"].values[0])
        _check_overlap(ordered)
        if any("calendar_time" in item.coords for item in ordered):
            ordered = [_with_calendar_time(item) for item in ordered]
        result = _concatenate(ordered)
        check_hourly(result["time"].values, place="join by calendar")
    else:
        result = _consecutive(datasets)
    return _merge_attrs(result, datasets, how)


def repeat_years(dataset: xr.Dataset, years: int) -> xr.Dataset:
    """Repeat a year of 8760 hours, without leap days, as one continuous series.

    The state at the start instant, one hour before the first stamp, is that of the last stamp:
    the year wraps.

    Parameters
    ----------
    dataset : Dataset
        A canonical year of 8760 hours.
    years : int
        Number of copies, 1 or more.

    Raises
    ------
    WeatherError
        When the dataset is not 8760 hours long or the number is below 1.
    """
    if years < 1:
        raise fault("repeat_years", f"years = {years}: must be 1 or more")
    result = _consecutive([dataset] * years).assign_attrs(dataset.attrs)
    return note(result, f"one year repeated {years} times without leap days")


def drop_leap_days(dataset: xr.Dataset) -> xr.Dataset:
    """Leave 29 February out; the hours after it follow those before, and it is noted.

    `time` runs on hourly, `calendar_time` keeps the stamps.

    Parameters
    ----------
    dataset : Dataset
        Canonical weather.
    """
    stamps = calendar_time(dataset)
    begins = (stamps - HOUR).astype("datetime64[D]")
    day = (begins - begins.astype("datetime64[M]").astype("datetime64[D]")).astype(int) + 1
    leap = (begins.astype("datetime64[M]").astype(int) % 12 == 1) & (day == 29)
    if not leap.any():
        return dataset
    kept = dataset.isel(time=~leap).drop_vars("calendar_time", errors="ignore")
    start = dataset["time"].values[0]
    time = start + np.arange(kept.sizes["time"]) * HOUR.astype("timedelta64[ns]")
    result = kept.assign_coords(
        time=("time", time, dataset["time"].attrs),
        calendar_time=("time", stamps[~leap], _CALENDAR),
    )
    return note(result, f"29 February left out ({int(leap.sum())} hours)")


def calendar_time(dataset: xr.Dataset) -> Times:
    """Stamps that say season and sun: `calendar_time` where there is one, otherwise `time`."""
    name = "calendar_time" if "calendar_time" in dataset.coords else "time"
    return dataset[name].values


def _with_calendar_time(dataset: xr.Dataset) -> xr.Dataset:
    return dataset.assign_coords(calendar_time=("time", calendar_time(dataset), _CALENDAR))


def _consecutive(datasets: Sequence[xr.Dataset]) -> xr.Dataset:
    for number, item in enumerate(datasets, start=1):
        if item.sizes["time"] != YEAR_HOURS:
            raise fault(
                f"dataset {number}",
                f"{item.sizes['time']} hours, must be {YEAR_HOURS}",
                "read it with leap_day='drop'",
            )
    stamps = np.concatenate([calendar_time(item) for item in datasets])
    result = _concatenate([item.drop_vars("calendar_time", errors="ignore") for item in datasets])
    start = datasets[0]["time"].values[0]
    time = start + np.arange(len(stamps)) * HOUR.astype("timedelta64[ns]")
    return result.assign_coords(
        time=("time", time, datasets[0]["time"].attrs),
        calendar_time=("time", stamps, _CALENDAR),
    )


def _concatenate(datasets: Sequence[xr.Dataset]) -> xr.Dataset:
    common = [name for name in datasets[0] if all(name in item for item in datasets)]
    trimmed = [item[common] for item in datasets]
    return xr.concat(trimmed, "time", combine_attrs="override", join="override")


def _check_overlap(ordered: Sequence[xr.Dataset]) -> None:
    for one, two in pairwise(ordered):
        end, begin = one["time"].values[-1], two["time"].values[0]
        if begin <= end:
            raise fault(
                f"join of {one.attrs['source']} and {two.attrs['source']}",
                f"the hours {begin.astype('datetime64[m]')} to {end.astype('datetime64[m]')} "
                "are in both",
                "duplicates are refused; typical years are joined with how='consecutive'",
            )


def _check_place(first: xr.Dataset, other: xr.Dataset) -> None:
    one, two = place_of(first), place_of(other)
    apart = max(abs(one.latitude - two.latitude), abs(one.longitude - two.longitude))
    if apart > _SAME_PLACE or one.utc_offset_hours != two.utc_offset_hours:
        raise fault(
            "join",
            f"{two.name or 'a file'} lies {apart:.2f}° from {one.name or 'the first'}, "
            f"zones {one.utc_offset_hours:+g} and {two.utc_offset_hours:+g} h",
            "only series of one place are joined",
        )


def _merge_attrs(result: xr.Dataset, datasets: Sequence[xr.Dataset], how: str) -> xr.Dataset:
    sources = list(dict.fromkeys(str(item.attrs["source"]) for item in datasets))
    hashes = list(dict.fromkeys(str(item.attrs["source_sha256"]) for item in datasets))
    lines = [f"{item.attrs['source']}: {line}" for item in datasets for line in history(item)]
    left_out = sorted({str(name) for item in datasets for name in item} - set(map(str, result)))
    if left_out:
        lines.append(f"left out, not in every file: {', '.join(left_out)}")
    lines.append(f"joined {len(datasets)} files, {how}")
    kind = _kind({str(item.attrs["kind"]) for item in datasets})
    made = sorted({str(item.attrs["generated"]) for item in datasets} - {"no"})
    return result.assign_attrs(
        {
            **datasets[0].attrs,
            "source": ", ".join(sources),
            "source_sha256": ", ".join(hashes),
            "kind": kind,
            "caution": CAUTIONS.get(kind, ""),
            "generated": "; ".join(made) or "no",
            "history": json.dumps(lines, ensure_ascii=False),
        }
    )


def _kind(kinds: set[str]) -> Kind:
    """One kind for the joined series: generated or typical years anywhere keep their mark."""
    marks: tuple[Kind, ...] = ("generated", "typical year")
    for mark in marks:
        if mark in kinds:
            return mark
    return "measured"
