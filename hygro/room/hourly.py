"""A room from an hourly table: its columns and bounds, and its rows beside the outdoor hours."""

from __future__ import annotations

import dataclasses
import hashlib
from pathlib import Path
from typing import Annotated, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, ValidationInfo, model_validator

from hygro.declare import declared, set_once, tag
from hygro.errors import InputError
from hygro.fields import Name, Text, counted
from hygro.problems import Problem, RefusedError
from hygro.room.models import Series
from hygro.room.time import Array, IndoorClimate, Outdoor
from weather.columns import Columns, Quantity, read_columns
from weather.constants import YEAR_HOURS
from weather.errors import WeatherError
from weather.moistair import saturation_pressure

COLUMNS = {
    "temperature": Quantity("K", 223.15, 343.15, "is the unit right (degC, degF, K)?"),
    "relative_humidity": Quantity("1", 0.0, 1.0, "is it in percent? then give the unit %"),
    "vapour_pressure": Quantity("Pa", 0.0, 12000.0, "is the unit right (Pa, hPa, kPa)?"),
}
"""What the file may hold; 12000 Pa is saturation near 49 °C."""
HOUR = np.timedelta64(1, "h")


Column = Annotated[tuple[Text, ...], counted(2, 2)]
"""Name of a column and the unit of its numbers."""


class _Air(NamedTuple):
    """What the file gives: one value a row; the stamp of the first, where it has stamps."""

    temperature: Array
    vapour_pressure: Array
    first: np.datetime64 | None


@declared
class HourlyRoom:
    """Hourly indoor air from a CSV file; a row stands for the end of its hour.

    A header like `temperature [degC]`, `relative_humidity [%]` or `vapour_pressure [Pa]` says what
    a column is; other headers are named here: `temperature = ["T", "degC"]`. The rows are a year
    of 8760 hours from 1 January on, repeated, or all hours of the run; where there is a column
    `time` of ISO 8601 stamps they are found by their stamps.

    Parameters
    ----------
    file : str
        The CSV file, in a case beside the case.
    temperature, relative_humidity, vapour_pressure : list of two texts, optional
        Name of the column and its unit; left out: found by its header.
    time : str, optional
        Name of the column of stamps; left out: "time" where there is one.
    sha256 : str
        Of the file; found when it is read.
    """

    file: Name
    temperature: Column | None = None
    relative_humidity: Column | None = None
    vapour_pressure: Column | None = None
    time: Text | None = None
    sha256: Annotated[str, Field(exclude=True)] = dataclasses.field(default="", kw_only=True)
    kind: Literal["file"] = tag(default="file", kw_only=True)

    @model_validator(mode="after")
    def _read(self, info: ValidationInfo) -> HourlyRoom:
        """Read the file at once, so that what is wrong with it is told with the rest."""
        path = Path((info.context or {}).get("folder", "."), self.file)
        object.__setattr__(self, "_air", _read_air(self, path))
        set_once(self, "sha256", hashlib.sha256(path.read_bytes()).hexdigest())
        return self

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Return the rows that belong to the outdoor instants.

        Raises
        ------
        InputError
            The file is neither a year nor as long as the run.
        """
        air: _Air = self._air  # type: ignore[attr-defined]
        rows, words = _rows_of(air, outdoor.time)
        source = f"{self.file} (sha256 {self.sha256}); {words}"
        return Series(air.temperature[rows], air.vapour_pressure[rows], source).climate(outdoor)


def _rows_of(air: _Air, time: NDArray[np.datetime64]) -> tuple[NDArray[np.int64], str]:
    hours, count = len(time) - 1, len(air.temperature)
    if air.first is not None:
        row = ((time - air.first) // HOUR).astype(np.int64)
        if row[1] >= 0 and row[-1] < count:
            return np.maximum(row, 0), "hours found by their stamps"
    if count == YEAR_HOURS:
        return _calendar(air.first, time), "its year stands for every year of the run"
    if count == hours and air.first is None:
        return np.maximum(np.arange(hours + 1) - 1, 0), "hours in the order of the weather"
    span = "" if air.first is None else f" from {air.first.astype('datetime64[h]')} on"
    raise InputError(
        f"{count} rows{span}: must be {YEAR_HOURS} (a year, which is repeated) or the {hours} "
        f"hours of the run, {time[1].astype('datetime64[h]')} to "
        f"{time[-1].astype('datetime64[h]')}"
        + ("; a leap year has 8784: drop 29 February" if count == YEAR_HOURS + 24 else "")
    )


def _calendar(first: np.datetime64 | None, time: NDArray[np.datetime64]) -> NDArray[np.int64]:
    """Rows by month, day and hour; 29 February repeats the day before."""
    start = 1 if first is None else int(_hour_of_year(np.array([first]))[0])
    return (_hour_of_year(time) - start) % YEAR_HOURS


def _hour_of_year(time: NDArray[np.datetime64]) -> NDArray[np.int64]:
    """Hours since 1 January of a year of 365 days."""
    year = time.astype("datetime64[Y]")
    hour = ((time - year.astype("datetime64[h]")) // HOUR).astype(np.int64)
    length = (year + 1).astype("datetime64[D]") - year.astype("datetime64[D]")
    return np.where((length.astype(int) == 366) & (hour >= 59 * 24), hour - 24, hour)


def _read_air(entry: HourlyRoom, path: Path) -> _Air:
    """Read the table of a room; raises `RefusedError` with every fault of it."""
    names = ("temperature", "relative_humidity", "vapour_pressure")
    given = {key: getattr(entry, key) for key in names if getattr(entry, key) is not None}
    try:
        table = read_columns(path, COLUMNS, columns=given, time=entry.time)
    except WeatherError as error:
        raise _refused(str(error).splitlines()) from error
    faults = _missing(table) or _implausible(table)
    if faults:
        raise _refused([f"{entry.file}, {text}" for text in faults])
    T = table.values["temperature"]
    p = table.values.get("vapour_pressure")
    if p is None:
        p = table.values["relative_humidity"] * saturation_pressure(T, over="water")
    return _Air(T, p, None if table.time is None else table.time[0])


def _refused(faults: list[str]) -> RefusedError:
    return RefusedError("", [Problem("file", text) for text in faults])


def _missing(table: Columns) -> list[str]:
    """Say which columns the room lacks."""
    humid = sum(key in table.values for key in ("relative_humidity", "vapour_pressure"))
    offer = (
        f"columns are {', '.join(table.heads)}; write a header like 'temperature [degC]', or give "
        'name and unit of a column: temperature = ["T", "degC"]'
    )
    found = []
    if "temperature" not in table.values:
        found.append(f"header: no column temperature; {offer}")
    if humid != 1:
        word = "both columns" if humid else "no column"
        found.append(
            f"header: {word} relative_humidity and vapour_pressure; one of them is needed; {offer}"
        )
    return found


def _implausible(table: Columns) -> list[str]:
    """Say where humidity and temperature do not fit."""
    rh, p = (table.values.get(key) for key in ("relative_humidity", "vapour_pressure"))
    if rh is not None and rh.max() <= 0.01:
        return ["relative_humidity: no value above 1 %: is it a fraction? then give the unit 1"]
    if p is None:
        return []
    T = table.values["temperature"]
    limit = saturation_pressure(T, over="water")
    if (p <= limit).all():
        return []
    i = int(np.argmax(p > limit))
    return [
        f"line {table.lines[i]}, vapour_pressure: {p[i]:.0f} Pa: must be at most {limit[i]:.0f} "
        f"Pa, saturation at {T[i]:.2f} K ({COLUMNS['vapour_pressure'].cause})"
    ]
