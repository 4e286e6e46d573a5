"""A room from an hourly table: its columns and bounds, and its rows beside the outdoor hours."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from hygro.errors import InputError
from hygro.wall.room_models import Series
from hygro.wall.room_time import Array, IndoorClimate, Outdoor
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


@dataclass(frozen=True, eq=False)
class HourlyRoom:
    """Indoor air hour by hour, as a file gives it; a row stands for the end of its hour.

    Attributes
    ----------
    temperature, vapour_pressure : array
        One value a row. [K], [Pa]
    source : str
        The file and its hash.
    first : datetime64 or None
        Stamp of the first row, where the file has stamps.
    """

    temperature: Array
    vapour_pressure: Array
    source: str
    first: np.datetime64 | None = None

    @classmethod
    def read(
        cls, path: str | Path, *, time: str | None = None, **columns: tuple[str, str]
    ) -> HourlyRoom:
        """Read the room from a CSV file.

        Parameters
        ----------
        path : path
            Hourly rows: a year of 8760 from 1 January on, which is repeated, or the run's hours.
        time : str, optional
            Column of ISO 8601 stamps without zone; `time` where the file has that.
        temperature, relative_humidity, vapour_pressure : (name, unit), optional
            Columns whose header is not like `temperature [degC]`.

        Raises
        ------
        InputError
            With a line for each fault of keys, columns and values.
        """
        try:
            table = read_columns(path, COLUMNS, columns=columns, time=time)
        except WeatherError as error:
            raise InputError(str(error)) from error
        name = Path(path).name
        faults = _missing(table) or _implausible(table)
        if faults:
            raise InputError("\n".join(f"{name}, {text}" for text in faults))
        T = table.values["temperature"]
        p = table.values.get("vapour_pressure")
        if p is None:
            p = table.values["relative_humidity"] * saturation_pressure(T, over="water")
        digest = hashlib.sha256(Path(path).read_bytes()).hexdigest()
        first = None if table.time is None else table.time[0]
        return cls(T, p, f"{name} (sha256 {digest})", first)

    def climate(self, outdoor: Outdoor) -> IndoorClimate:
        """Return the rows that belong to the outdoor instants.

        Raises
        ------
        InputError
            The file is neither a year nor as long as the run.
        """
        rows, words = self._rows(outdoor.time)
        source = f"{self.source}; {words}"
        return Series(self.temperature[rows], self.vapour_pressure[rows], source).climate(outdoor)

    def _rows(self, time: NDArray[np.datetime64]) -> tuple[NDArray[np.int64], str]:
        hours, count = len(time) - 1, len(self.temperature)
        if self.first is not None:
            row = ((time - self.first) // HOUR).astype(np.int64)
            if row[1] >= 0 and row[-1] < count:
                return np.maximum(row, 0), "hours found by their stamps"
        if count == YEAR_HOURS:
            return self._calendar(time), "its year stands for every year of the run"
        if count == hours and self.first is None:
            return np.maximum(np.arange(hours + 1) - 1, 0), "hours in the order of the weather"
        span = "" if self.first is None else f" from {self.first.astype('datetime64[h]')} on"
        raise InputError(
            f"{count} rows{span}: must be {YEAR_HOURS} (a year, which is repeated) or the {hours} "
            f"hours of the run, {time[1].astype('datetime64[h]')} to "
            f"{time[-1].astype('datetime64[h]')}"
            + ("; a leap year has 8784: drop 29 February" if count == YEAR_HOURS + 24 else "")
        )

    def _calendar(self, time: NDArray[np.datetime64]) -> NDArray[np.int64]:
        """Rows by month, day and hour; 29 February repeats the day before."""
        start = 1 if self.first is None else int(_hour_of_year(np.array([self.first]))[0])
        return (_hour_of_year(time) - start) % YEAR_HOURS


def _hour_of_year(time: NDArray[np.datetime64]) -> NDArray[np.int64]:
    """Hours since 1 January of a year of 365 days."""
    year = time.astype("datetime64[Y]")
    hour = ((time - year.astype("datetime64[h]")) // HOUR).astype(np.int64)
    length = (year + 1).astype("datetime64[D]") - year.astype("datetime64[D]")
    return np.where((length.astype(int) == 366) & (hour >= 59 * 24), hour - 24, hour)


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
