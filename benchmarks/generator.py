"""The weather generator against real typical years: normals of each file, ten years made from them.

`python -m benchmarks.generator` prints the comparison, `--write` puts it into
docs/weather-generator.md.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import numpy as np
import xarray as xr

import weather
from hygro.proof.years import STATIONS, Station, path_of
from weather.arrays import Array
from weather.canonical import place_of
from weather.constants import MONTH_DAYS, STEFAN_BOLTZMANN, YEAR_HOURS
from weather.course import calendar, smooth
from weather.longwave import sky_longwave
from weather.normals import CALM, RAIN_DAY, MonthlyNormals
from weather.rain import free_driving_rain_iso15927
from weather.summary import monthly_means

PAGE = Path("docs/weather-generator.md")
BEFORE = Path(__file__).with_name("generator_before.csv")
YEARS, SEED = 10, 1

MIAMI = Station("Miami FL", "1A", "pvlib", "data/12839.tm2")
SHASTA = Station(
    "Mount Shasta CA", "5", "diyepw", "data/tmy_epw_files/USA_CA_Mount.Shasta.725957_TMYx.epw"
)
FITTED = (STATIONS["5"], STATIONS["8"], STATIONS["4"], MIAMI)
"""Places whose files the generator's numbers were fitted to."""
OTHERS = (STATIONS["7"], SHASTA)
"""Places of which only the cover was fitted, not humidity, wind and temperature."""

RAIN = {
    "Northway AK": (
        [7, 6, 5, 6, 20, 50, 60, 40, 25, 12, 9, 8],
        [2, 2, 2, 2, 5, 9, 11, 9, 6, 4, 3, 2],
    ),
    "Miami FL": (
        [50, 55, 65, 80, 140, 245, 165, 225, 250, 160, 85, 50],
        [5, 5, 5, 5, 9, 14, 15, 16, 16, 11, 7, 5],
    ),
    "Sand Point AK": ([80, 70, 60, 50, 70, 70, 60, 80, 110, 120, 110, 100], [14] * 12),
}
"""Sums [mm] and rain days of the files without credible rain: rough, from memory."""


def year_of(station: Station) -> xr.Dataset:
    """Typical year of a station; rain in tenths and radiation that lags the sun are put right."""
    path = path_of(station)
    if path is None:
        raise FileNotFoundError(f"{station.package} with {station.file} is needed")
    found = weather.align_sun(weather.read(path))
    if station.place == "Greensboro NC":
        found = weather.rescale(found, "precipitation", 0.1, reason="tenths of mm")
    return found


def normals_of(station: Station, year: xr.Dataset) -> MonthlyNormals:
    """Monthly normals of one year, as a climate table would give them."""
    sums, days = RAIN.get(station.place) or _rain(year)
    return MonthlyNormals(
        place=place_of(year),
        temperature=monthly_means(year, "temperature").tolist(),
        daily_range=_by_month(daily_range(year)).tolist(),
        temperature_spread=np.sqrt(_by_month(anomaly(year) ** 2)).tolist(),
        relative_humidity=monthly_means(year, "relative_humidity").tolist(),
        wind_speed=monthly_means(year, "wind_speed").tolist(),
        wind_rose=[_rose(year).tolist()],
        global_horizontal=monthly_means(year, "global_horizontal").tolist(),
        rain_days=days,
        precipitation=sums,
        calm_share=_by_month(_days(year["wind_speed"].values < CALM).mean(axis=1)).tolist(),
    )


def _rain(year: xr.Dataset) -> tuple[list[float], list[float]]:
    daily = _days(year["precipitation"].values).sum(axis=1)
    wet = np.where(daily >= RAIN_DAY, daily, 0.0)
    sums, days = (_by_month(item) * np.array(MONTH_DAYS) for item in (wet, wet > 0.0))
    # One dry August has a day of just 1 mm, less than the generator can spread over rain days.
    return np.maximum(sums, 1.5 * RAIN_DAY * days).tolist(), days.tolist()


def _rose(year: xr.Dataset) -> Array:
    moving = year["wind_speed"].values > 0.0
    sector = np.round(year["wind_direction"].values[moving] / 22.5).astype(int) % 16
    return np.bincount(sector, minlength=16) / len(sector)


def _days(values: Array) -> Array:
    return values.reshape(-1, 24)


def _by_month(daily: Array) -> Array:
    month = np.repeat(np.arange(12), MONTH_DAYS)
    return np.bincount(month, daily, 12) / np.array(MONTH_DAYS)


def _years(weather_of: xr.Dataset) -> int:
    return weather_of.sizes["time"] // YEAR_HOURS


def daily_range(found: xr.Dataset) -> Array:
    """Maximum minus minimum of each day. [K]"""
    days = _days(found["temperature"].values)
    return days.max(axis=1) - days.min(axis=1)


def anomaly(found: xr.Dataset) -> Array:
    """Daily mean temperature about the annual course. [K]"""
    course = smooth(monthly_means(found, "temperature"), calendar(_years(found)))
    return _days(found["temperature"].values).mean(axis=1) - _days(course).mean(axis=1)


def deficit(found: xr.Dataset) -> Array:
    """Longwave from the sky minus that of a black body at air temperature. [W/m²]"""
    return sky_longwave(found) - STEFAN_BOLTZMANN * found["temperature"].values ** 4


Measure = Callable[[xr.Dataset], float]


def _share(name: str, low: float, high: float) -> Measure:
    def share(found: xr.Dataset) -> float:
        values = found[name].values
        return 100.0 * float(np.mean((values > low) & (values < high)))

    return share


def _mean(name: str, scale: float = 1.0) -> Measure:
    return lambda found: scale * float(found[name].mean())


def _spread(name: str, scale: float = 1.0) -> Measure:
    return lambda found: scale * float(found[name].std())


def _above(name: str, limit: float) -> Measure:
    return lambda found: float(np.sum(found[name].values > limit)) / _years(found)


def _day_range(name: str) -> Measure:
    """Range of the mean day."""

    def swing(found: xr.Dataset) -> float:
        course = _days(found[name].values).mean(axis=0)
        return float(course.max() - course.min())

    return swing


def _persistence(found: xr.Dataset) -> float:
    values = anomaly(found)
    return float(np.corrcoef(values[1:], values[:-1])[0, 1])


def _driving(found: xr.Dataset) -> float:
    wind, direction, rain = (
        found[name].values for name in ("wind_speed", "wind_direction", "rain")
    )
    walls = (free_driving_rain_iso15927(wind, direction, rain, azimuth=45.0 * k) for k in range(8))
    return max(float(wall.sum()) for wall in walls) / _years(found)


def _wind_in_rain(found: xr.Dataset) -> float:
    wind, rain = found["wind_speed"].values, found["precipitation"].values
    return float(np.sum(wind * rain) / np.sum(rain) / wind.mean())


class Statistic(NamedTuple):
    """One line of the comparison; the tolerance is a share of the real value."""

    text: str
    of: Measure
    form: str = ".1f"
    tolerance: float | None = None
    rain: bool = False


STATISTICS = (
    Statistic("sky minus air longwave [W/m²]", lambda y: float(deficit(y).mean()), ".1f", 0.10),
    Statistic("its spread over the hours [W/m²]", lambda y: float(deficit(y).std())),
    Statistic("clear hours, cover below 1/10 [%]", _share("cloud_cover", -1, 0.0999), ".1f", 0.25),
    Statistic("overcast hours, cover above 9/10 [%]", _share("cloud_cover", 0.9001, 2)),
    Statistic("mean cloud cover [%]", _mean("cloud_cover", 100.0)),
    Statistic("hours above 90 % RH", _above("relative_humidity", 0.90), ".0f", 0.25),
    Statistic("hours above 80 % RH", _above("relative_humidity", 0.80), ".0f"),
    Statistic("hours above 95 % RH", _above("relative_humidity", 0.95), ".0f"),
    Statistic("spread of RH over the hours [%]", _spread("relative_humidity", 100.0)),
    Statistic("vapour pressure [Pa]", _mean("vapour_pressure"), ".0f"),
    Statistic("its range in the mean day [Pa]", _day_range("vapour_pressure"), ".0f"),
    Statistic(
        "spread of daily mean temperature [K]",
        lambda y: float(np.sqrt(np.mean(anomaly(y) ** 2))),
        ".2f",
        0.02,
    ),
    Statistic("its correlation from day to day", _persistence, ".2f"),
    Statistic("daily range [K]", lambda y: float(daily_range(y).mean()), ".2f", 0.02),
    Statistic("its spread over the days [K]", lambda y: float(daily_range(y).std()), ".2f"),
    Statistic("calm hours, below 0.5 m/s [%]", _share("wind_speed", -1, CALM), ".1f", 0.25),
    Statistic("spread of wind speed [m/s]", _spread("wind_speed"), ".2f"),
    Statistic("wind exceeded in 1 % of hours [m/s]", lambda y: float(y.wind_speed.quantile(0.99))),
    Statistic("direct normal radiation [W/m²]", _mean("direct_normal")),
    Statistic("diffuse horizontal radiation [W/m²]", _mean("diffuse_horizontal")),
    Statistic("hours with 0.1 mm of rain", _above("precipitation", 0.0999), ".0f", None, True),
    Statistic("wind in rain over mean wind", _wind_in_rain, ".2f", None, True),
    Statistic("free driving rain, worst of 8 sides [mm]", _driving, ".0f", None, True),
)


class Line(NamedTuple):
    """A statistic of one place: the file, the made years together, the least and greatest year."""

    statistic: Statistic
    real: float
    made: float
    least: float
    greatest: float

    @property
    def within(self) -> bool:
        """Whether the made years together meet the tolerance."""
        allowed = self.statistic.tolerance
        return allowed is not None and abs(self.made / self.real - 1.0) <= allowed

    @property
    def among(self) -> bool:
        """Whether the file lies between the least and the greatest made year."""
        return self.least <= self.real <= self.greatest


def compare(station: Station, *, years: int = YEARS, seed: int = SEED) -> list[Line]:
    """Compare years made from the normals of a file with the file."""
    real = year_of(station)
    made = weather.generate(normals_of(station, real), years=years, seed=seed)
    single = [made.isel(time=slice(YEAR_HOURS * k, YEAR_HOURS * (k + 1))) for k in range(years)]
    lines = []
    for item in STATISTICS:
        if not (item.rain and station.place in RAIN):
            values = [item.of(year) for year in single]
            lines.append(Line(item, item.of(real), item.of(made), min(values), max(values)))
    return lines


def _before() -> dict[tuple[str, str], str]:
    """Ten years of the earlier generator, which drew the sky once a day, by place and statistic."""
    with BEFORE.open(encoding="utf-8", newline="") as file:
        return {(row["place"], row["statistic"]): row["made"] for row in csv.DictReader(file)}


def _verdict(line: Line) -> str:
    """How far off the made years are where a tolerance is asked, otherwise the range of years."""
    asked = line.statistic.tolerance
    if asked is None:
        return "in range" if line.among else "no"
    words = f"{100.0 * (line.made / line.real - 1.0):+.0f} % of {100.0 * asked:.0f} %"
    return words if line.within else f"**{words}**"


def table(station: Station) -> str:
    """Comparison of one place as a table."""
    rows = [
        "| statistic | file | earlier | now | least to greatest year | fits |",
        "|---|---|---|---|---|---|",
    ]
    before = _before()
    for line in compare(station):
        form, text = line.statistic.form, line.statistic.text
        real, made, least, greatest = (format(value, form) for value in line[1:])
        old = before.get((station.place, text), "")
        cells = (text, real, old, made, f"{least} to {greatest}", _verdict(line))
        rows.append(f"| {' | '.join(cells)} |")
    return "\n".join(rows)


def main() -> None:
    """Print or write the tables of all places."""
    heads = {"fitted to": FITTED, "humidity, wind and temperature not fitted to": OTHERS}
    text = "\n\n".join(
        f"## {station.place} ({words})\n\n{table(station)}"
        for words, places in heads.items()
        for station in places
    )
    if "--write" not in sys.argv:
        print(text)
        return
    begin, end = "<!-- tables -->\n", "<!-- end of tables -->"
    page = PAGE.read_text(encoding="utf-8")
    head, tail = page.split(begin)[0], page.split(end)[1]
    PAGE.write_text(f"{head}{begin}\n{text}\n\n{end}{tail}", encoding="utf-8")


if __name__ == "__main__":
    main()
