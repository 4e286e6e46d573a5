"""The weather of a study: from a small table to hourly data, each read once. Owns that table.

The table says which files or normals, which year of them, in which month a run starts and how long
it is; the weather itself is known by the hash of its numbers.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import xarray as xr

import weather
from hygro.case import Case
from hygro.case.climate import prepare, whole_climate
from hygro.case.climate_entry import ClimateEntry
from hygro.decide.tree import Tables
from hygro.declare import plain, read_or_refuse
from hygro.errors import InputError
from hygro.types import Plain
from weather.canonical import note
from weather.constants import YEAR_HOURS


class Climate(NamedTuple):
    """Weather as runs take it.

    Attributes
    ----------
    data : Dataset
        Canonical hourly weather.
    rained : bool
        Whether walls get its rain; else they are run without driving rain.
    sha256 : str
        Of its numbers and of `rained`.
    """

    data: xr.Dataset
    rained: bool
    sha256: str

    @property
    def years(self) -> float:
        """Length. [a]"""
        return self.data.sizes["time"] / YEAR_HOURS


Load = Callable[[Tables], tuple[xr.Dataset, bool]]


class Climates:
    """Weather by its table, read when it is first asked for.

    Parameters
    ----------
    table : dict
        That of the run as written.
    load : callable
        From a table to the weather and whether its rain counts.
    count : callable
        Number of whole years that the source of a table has.
    """

    def __init__(self, table: Tables, load: Load, count: Callable[[Tables], int]) -> None:
        self.table = table
        self._load, self._count = load, count
        self._known: dict[str, Climate] = {}

    def at(self, table: Tables) -> Climate:
        """Return the weather of a table; raises `InputError` with what is wrong with it."""
        key = json.dumps(table, sort_keys=True, default=str)
        if key not in self._known:
            data, rained = self._load(table)
            sha = _hash(data, rained)
            same = (c for c in self._known.values() if c.sha256 == sha)
            self._known[key] = next(same, None) or Climate(data, rained, sha)
        return self._known[key]

    def years(self, table: Tables) -> int:
        """Number of whole years that there are to choose from."""
        return self._count(table)


def of_case(case: Case) -> Climates:
    """Return the weather of a case and of its variants."""
    table = {
        "entry": plain(case.climate),
        "years": case.years,
        "start_month": case.start_month,
    }
    wholes: dict[str, xr.Dataset] = {}

    def changed(table: Tables) -> Case:
        entry: ClimateEntry = read_or_refuse(ClimateEntry, table["entry"], "climate")
        years, month = table["years"], table.get("start_month")
        return replace(case, climate=entry, years=years, start_month=month)

    def whole(table: Tables) -> xr.Dataset:
        key = json.dumps(table["entry"], sort_keys=True, default=str)
        if key not in wholes:
            wholes[key] = whole_climate(changed(table))
        return wholes[key]

    def load(table: Tables) -> tuple[xr.Dataset, bool]:
        if table.get("year") is None:
            ready, data = prepare(changed(table))
            return data, ready.walls is case.walls
        data = one_year(whole(table), table["year"], table["years"], table.get("start_month"))
        rained = case.climate.rain == "required" or weather.has_rain(data)
        return data, rained

    return Climates(table, load, lambda table: _whole_years(whole(table)))


def of_dataset(data: xr.Dataset) -> Climates:
    """Return one given climate and its single years."""
    sha = _hash(data, rained=True)
    table: Tables = {"sha256": sha, "years": max(data.sizes["time"] // YEAR_HOURS, 1)}

    def load(table: Tables) -> tuple[xr.Dataset, bool]:
        month = table.get("start_month")
        if table.get("year") is not None:
            return one_year(data, table["year"], table["years"], month), True
        if month is not None:
            raise InputError("start_month: needs a case, or 'year' beside it")
        return data, True

    return Climates(table, load, lambda _: _whole_years(data))


def one_year(data: xr.Dataset, year: int, times: int, month: int | None) -> xr.Dataset:
    """Return a single year of a longer climate, again and again, from a month on.

    Parameters
    ----------
    data : Dataset
        Whole years of weather, one after the other.
    year : int
        Which, counted from 1.
    times : int
        How often it is gone through.
    month : int or None
        In which a run starts; the months before it come at the end.

    Raises
    ------
    InputError
        There is no such year.
    """
    count = _whole_years(data)
    if not 1 <= year <= count:
        raise InputError(f"year = {year}: must be 1 to {count}, the years of the weather")
    part = data.isel(time=slice((year - 1) * YEAR_HOURS, year * YEAR_HOURS))
    begins = part["time"].values - np.timedelta64(1, "h")
    months = begins.astype("datetime64[M]").astype(int) % 12 + 1
    first = 0 if month is None else int(np.argmax(months == month))
    again = weather.repeat_years(part, times + (1 if first else 0))
    found = again.isel(time=slice(first, first + times * YEAR_HOURS))
    return note(found, f"year {year} of {count}, {times} times, from month {month or 1} on")


def _whole_years(data: xr.Dataset) -> int:
    return int(data.sizes["time"] // YEAR_HOURS)


def _hash(data: xr.Dataset, rained: bool) -> str:
    """Digest of the numbers of some weather."""
    digest = hashlib.sha256(f"rain counts: {rained}".encode())
    for name in sorted(map(str, data.variables)):
        values = data[name].values
        digest.update(name.encode() + str(values.dtype).encode())
        digest.update(np.ascontiguousarray(values).tobytes() if values.dtype != object else b"")
    place = {key: data.attrs[key] for key in sorted(data.attrs) if _is_place(key)}
    digest.update(json.dumps(place, default=str).encode())
    return digest.hexdigest()


def _is_place(key: Plain) -> bool:
    return key in ("latitude", "longitude", "altitude", "utc_offset_hours")
