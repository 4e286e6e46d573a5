"""Picks the reader of a weather file by name or suffix; knows the formats' names only."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Literal

import xarray as xr

from weather.canonical import SNOW_BELOW
from weather.epw import read_epw
from weather.errors import fault
from weather.files import read_text, require_file
from weather.saved import read_canonical
from weather.series import How, join
from weather.stamps import LeapDay
from weather.tmy import read_tmy2, read_tmy3

Format = Literal["epw", "tmy3", "tmy2", "netcdf"]

_READERS: dict[str, Callable[..., xr.Dataset]] = {
    "epw": read_epw,
    "tmy3": read_tmy3,
    "tmy2": read_tmy2,
}
_SUFFIXES = {".epw": "epw", ".tm2": "tmy2", ".nc": "netcdf"}


def read(
    path: str | Path,
    *,
    format: Format | None = None,
    leap_day: LeapDay | None = None,
    snow_below: float = SNOW_BELOW,
) -> xr.Dataset:
    """Read a weather file into the canonical hourly dataset.

    Parameters
    ----------
    path : path
        EPW, TMY3 (.csv), TMY2 (.tm2), or a canonical dataset saved as netCDF (.nc).
    format : {"epw", "tmy3", "tmy2", "netcdf"}, optional
        Taken from the suffix and the first line when not given. Other CSV: `weather.read_table`.
    leap_day : {"keep", "drop"}, optional
        What to do with 29 February; EPW keeps it and TMY drops it when not given.
    snow_below : float
        Air temperature below which precipitation is snow. [K]

    Raises
    ------
    WeatherError
        When the file is missing, of unknown format, or faulty.
    """
    found = require_file(path)
    chosen = format or _guess(found)
    if chosen == "netcdf":
        return read_canonical(found)
    if chosen not in _READERS:
        raise fault("format", f"'{chosen}' is not known", f"choose from {', '.join(_READERS)}")
    if leap_day is None:
        return _READERS[chosen](found, snow_below=snow_below)
    return _READERS[chosen](found, snow_below=snow_below, leap_day=leap_day)


def read_years(
    paths: Iterable[str | Path],
    *,
    how: How = "calendar",
    leap_day: LeapDay | None = None,
    snow_below: float = SNOW_BELOW,
) -> xr.Dataset:
    """Read the files of one place and join them into one series.

    Parameters
    ----------
    paths : iterable of path
        Files of `read`, each a year or a part of one.
    how : {"calendar", "consecutive"}
        See `weather.join`: measured years by calendar, typical years one after another.
    leap_day, snow_below
        See `read`; years joined one after another leave 29 February out.

    Raises
    ------
    WeatherError
        As `read` and `join`.
    """
    if leap_day is None and how == "consecutive":
        leap_day = "drop"
    found = [read(path, leap_day=leap_day, snow_below=snow_below) for path in paths]
    return join(found, how=how)


def _guess(path: Path) -> str:
    suffix = path.suffix.lower()
    if suffix in _SUFFIXES:
        return _SUFFIXES[suffix]
    lines = read_text(path, lossy=True).splitlines()
    if len(lines) > 1 and lines[1].startswith("Date (MM/DD/YYYY),Time (HH:MM)"):
        return "tmy3"
    raise fault(
        path.name,
        "format not recognised",
        "give format=, or use weather.read_table with a column map",
    )
