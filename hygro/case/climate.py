"""The climate of a case: reads or generates the weather it names and refuses what is not enough.

Owns the order of steps (read, join, fill, check, length and start of the run); the steps themselves
are in `weather`.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import numpy as np
import xarray as xr

import weather
from hygro.case.climate_entry import ClimateEntry, FillEntry, TableEntry
from hygro.case.errors import CaseError
from hygro.case.model import Case
from hygro.case.normals import read_normals
from hygro.errors import InputError, must_be
from hygro.problems import Problem
from hygro.room.hourly import HourlyRoom
from hygro.room.time import Outdoor
from hygro.wall.wall import unrained
from weather.canonical import note
from weather.constants import YEAR_HOURS

NEEDED = ("temperature", "relative_humidity", "wind_speed")
"""Variables that no run can do without."""
SUN = ("global_horizontal", "direct_normal", "diffuse_horizontal")
"""Variables that the sun on a wall is reckoned from."""


def climate(case: Case) -> xr.Dataset:
    """Return the hourly weather of a case, as long as the run and from its first month on.

    Parameters
    ----------
    case : Case
        Read by `hygro.load_case`.

    Raises
    ------
    CaseError
        With what is wrong with the weather, under the key of the case that names it.
    """
    must_be(case, Case, "case", "a case, read by hygro.load_case")
    found = whole_climate(case)
    with _told_of(case):
        return _cut(found, case.years, case.start_month, case.climate.leap_day)


def whole_climate(case: Case) -> xr.Dataset:
    """Return all hours of the weather of a case, however long its runs are.

    Raises
    ------
    CaseError
        As `climate`.
    """
    entry, folder = case.climate, case.path.parent
    with _told_of(case):
        found = _source(entry, folder)
        for item in entry.fill:
            found = _filled(found, item)
        if entry.annual_rain is not None:
            found = weather.scale_rain(found, to_mm=entry.annual_rain)
        missing = _missing(found, case)
    if missing:
        raise CaseError(case.path, [Problem("climate", text) for text in missing])
    return found


@contextmanager
def _told_of(case: Case) -> Iterator[None]:
    """What the weather package refuses stands under the key of the case."""
    try:
        yield
    except weather.WeatherError as error:
        problems = [Problem("climate", line) for line in str(error).splitlines()]
        raise CaseError(case.path, problems) from error


def _missing(found: xr.Dataset, case: Case) -> list[str]:
    """Return what the loads of the walls will not find in the weather, all at once."""
    rain = _rain_is_used(case)
    sky = ("longwave_down",) if "longwave_down" in found else ("cloud_cover", "dew_point")
    wind = ("wind_direction",) if rain else ()
    told: dict[str, list[str]] = {}
    for name in (*NEEDED, *SUN, *sky, *wind):
        try:
            weather.require_complete(found, (name,))
        except weather.WeatherError as error:
            text = str(error).removeprefix(f"{name}: ").replace("weather.fill", "[[climate.fill]]")
            told.setdefault(text, []).append(name)
    problems = [f"{', '.join(names)}: {text}" for text, names in told.items()]
    if rain:
        try:
            weather.require_rain(found)
        except weather.WeatherError as error:
            fault = str(error).split(" (take rain")[0]
            problems.append(
                f"{fault} (take rain from another source, or accept a run without rain: "
                'climate.rain = "none accepted")'
            )
    return problems


def prepare(case: Case) -> tuple[Case, xr.Dataset]:
    """Return the case as it is to be run, and its climate of at least a year.

    Where the weather has no credible rain and the case accepts that, its walls get no driving rain.
    """
    found = climate(case)
    if found.sizes["time"] < YEAR_HOURS:
        why = "; is a file truncated?" if case.climate.generate is None else ""
        text = f"{found.sizes['time']} hours: a run needs a year, {YEAR_HOURS}{why}"
        raise CaseError(case.path, [Problem("climate", text)])
    _check_rooms(case, found)
    if case.climate.rain == "required" or weather.has_rain(found):
        return case, found
    walls = tuple(replace(item, wall=unrained(item.wall)) for item in case.walls)
    line = "no credible rain in the weather; run without driving rain, as the case accepts"
    return replace(case, walls=walls), note(found, line)


def _check_rooms(case: Case, found: xr.Dataset) -> None:
    """Refuse hourly rooms that do not fit the weather, before anything is run."""
    end = found["time"].values
    time = np.concatenate([end[:1] - np.timedelta64(1, "h"), end])
    T, p = (
        np.concatenate([found[key].values[:1], found[key].values])
        for key in ("temperature", "vapour_pressure")
    )
    problems = []
    for name, room in case.rooms.items():
        if isinstance(room, HourlyRoom):
            try:
                room.climate(Outdoor(time, T, p))
            except InputError as error:
                problems.append(Problem(f"room.{name}.file", str(error)))
    if problems:
        raise CaseError(case.path, problems)


def _rain_is_used(case: Case) -> bool:
    wetted = any(item.wall.outside.rain_method is not None for item in case.walls)
    return wetted and case.climate.rain == "required"


def _source(entry: ClimateEntry, folder: Path) -> xr.Dataset:
    if entry.generate is not None:
        made = entry.generate
        path = folder / made.normals
        found = weather.generate(read_normals(path), seed=made.seed, years=made.years)
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
        return found.assign_attrs(source=f"generated from {path.name}", source_sha256=digest)
    read = [_read(folder / name, entry) for name in entry.sources]
    return read[0] if len(read) == 1 else weather.join(read, how=entry.join)


def _read(path: Path, entry: ClimateEntry) -> xr.Dataset:
    if entry.table is not None:
        return _read_table(path, entry.table, entry.leap_day)
    return weather.read(path, leap_day=entry.leap_day)


def _read_table(path: Path, entry: TableEntry, leap_day: str | None) -> xr.Dataset:
    columns = {key: weather.Column(name, unit) for key, (name, unit) in entry.columns.items()}
    options = {k: getattr(entry, k) for k in ("time", "stamp", "kind", "missing")}
    found = weather.read_table(path, columns, weather.Place(**vars(entry.site)), **options)
    return weather.drop_leap_days(found) if leap_day == "drop" else found


def _filled(found: xr.Dataset, item: FillEntry) -> xr.Dataset:
    return weather.fill(found, item.variable, how=item.how, max_gap_hours=round(item.max_gap))


def _cut(
    found: xr.Dataset, years: int, start_month: int | None, leap_day: str | None
) -> xr.Dataset:
    """Bring the weather to the length of the run, from the first hour of its start month on."""
    hours = found.sizes["time"]
    if hours == YEAR_HOURS + 24 and leap_day is None:
        raise weather.WeatherError(
            f'{hours} hours: a leap year; say leap_day = "drop" to leave 29 February out, or '
            '"keep", which leaves 31 December out'
        )
    if hours < YEAR_HOURS and years == 1 and start_month is None:
        return found
    first = 0 if start_month is None else _first_hour(found, start_month)
    last = first + years * YEAR_HOURS
    if hours == YEAR_HOURS and last > hours:
        found = weather.repeat_years(found, years + (1 if first else 0))
        hours = found.sizes["time"]
    if hours >= last:
        if (first, last) == (0, hours):
            return found
        return note(found.isel(time=slice(first, last)), f"cut to hours {first} to {last}")
    asked = (
        f"{hours} hours: a run of {years} year(s) from month {start_month or 1} on needs "
        f"{first + years * YEAR_HOURS}; "
    )
    if found.attrs.get("kind") == "generated":
        wanted = years + (1 if first else 0)
        raise weather.WeatherError(f"{asked}generate more: years = {wanted} beside the normals")
    raise weather.WeatherError(
        f"{asked}give more years (only a year of {YEAR_HOURS} hours is "
        'repeated: is the file truncated, or has it a leap day? then say leap_day = "drop")'
    )


def _first_hour(found: xr.Dataset, month: int) -> int:
    """Index of the hour that begins the month; a stamp ends its hour."""
    begins = found["time"].values - np.timedelta64(1, "h")
    months = begins.astype("datetime64[M]").astype(int) % 12 + 1
    return int(np.argmax(months == month))
