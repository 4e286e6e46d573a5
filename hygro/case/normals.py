"""A file of monthly normals, from which a case may have its weather generated. Owns that format.

Each series states its unit beside its twelve numbers, January first.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated

from pydantic import ValidationError

from hygro.case.climate_entry import SiteEntry
from hygro.case.errors import CaseError
from hygro.data_files import read_tables
from hygro.declare import declared, read
from hygro.errors import InputError, file_path
from hygro.fields import Name, Number, Text, counted
from hygro.problems import Problem, findings
from hygro.spelling import of_a_file
from hygro.units import parse
from weather import MonthlyNormals, Place, WeatherError

Twelve = Annotated[tuple[Number, ...], counted(12, 12)]


@declared
class MonthlyEntry:
    """Twelve values in one unit, January to December."""

    unit: Name
    monthly: Twelve


@declared
class NormalsEntry:
    """Monthly normals of a place.

    `daily_range` is the mean of daily maximum minus minimum, `temperature_spread` the standard
    deviation of daily means; `wind_rose` the share of hours by sector clockwise from north.
    `calm_share` is that of hours below 0.5 m/s, taken from the mean speed where not given.
    """

    place: SiteEntry
    temperature: MonthlyEntry
    daily_range: MonthlyEntry
    temperature_spread: MonthlyEntry
    relative_humidity: MonthlyEntry
    wind_speed: MonthlyEntry
    global_horizontal: MonthlyEntry
    precipitation: MonthlyEntry
    rain_days: Twelve
    wind_rose: Annotated[tuple[Annotated[tuple[Number, ...], counted(4)], ...], counted(1, 12)]
    calm_share: MonthlyEntry | None = None
    note: Text = ""


NO_CASE = (
    "monthly normals of a place, neither a case nor hourly weather; a case makes weather of them: "
    '[climate] generate = { normals = "FILE", seed = 1, years = 2 }'
)


def is_normals(data: Mapping[str, object]) -> bool:
    """Whether the tables of a file are those of normals rather than of a case."""
    return {"rain_days", "wind_rose", "temperature"} <= set(data)


_KINDS = {
    "temperature": "temperature",
    "daily_range": "temperature difference",
    "temperature_spread": "temperature difference",
    "relative_humidity": "fraction",
    "wind_speed": "speed",
    "global_horizontal": "irradiance",
    "precipitation": "water sum",
    "calm_share": "fraction",
}


def read_normals(path: str | Path) -> MonthlyNormals:
    """Read and check a file of monthly normals.

    Parameters
    ----------
    path : str or path
        A TOML file; each series states its unit beside its twelve numbers, January first.

    Raises
    ------
    CaseError
        With every problem of the file.
    """
    path = file_path(path)
    with of_a_file():
        return _read(path)


def _read(path: Path) -> MonthlyNormals:
    try:
        data, _ = read_tables(path)
        return _normals(read(NormalsEntry, data))
    except ValidationError as error:
        raise CaseError(path, findings(error, data, NormalsEntry)) from error
    except (InputError, WeatherError) as error:
        raise CaseError(path, [Problem("", str(error))]) from error


def _normals(entry: NormalsEntry) -> MonthlyNormals:
    given = [key for key in _KINDS if getattr(entry, key) is not None]
    series = {key: _values(key, getattr(entry, key)) for key in given}
    return MonthlyNormals(
        place=Place(**vars(entry.place)),
        rain_days=entry.rain_days,
        wind_rose=entry.wind_rose,
        **series,
    )


def _values(key: str, entry: MonthlyEntry) -> tuple[float, ...]:
    try:
        return tuple(parse(f"{value:.10g} {entry.unit}", _KINDS[key]) for value in entry.monthly)
    except InputError as error:
        raise InputError(f"{key}: {error}") from error
