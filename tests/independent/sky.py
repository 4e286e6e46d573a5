"""Weather and loads of a vertical wall for the independent model: own reader, own formulas.

Fields of an EPW line by their places (the published description of the format, from memory). Sun
by pvlib at the middle of the sunlit part of each hour, sky after Perez; rain after ASHRAE 160; the
rest as `docs/real-walls.md` and the docstrings of `weather` say.
"""

from __future__ import annotations

import csv
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd
import pvlib
from independent.constants import SIGMA, STANDARD, ZERO

HOUR = pd.Timedelta(hours=1)
TEMPERATURE, HUMIDITY, SKY_HEAT, GLOBAL, BEAM, DIFFUSE = 6, 8, 12, 13, 14, 15
DIRECTION, WIND, SNOW, RAIN = 20, 21, 30, 33


class Year(NamedTuple):
    """A typical year: place, and hourly columns (8760,) of the file in SI units."""

    latitude: float
    longitude: float
    zone: float
    altitude: float
    column: dict[int, np.ndarray]


class Loads(NamedTuple):
    """What acts on the wall in N hours: `instant` (N+1, 3) outdoor air [K], its vapour pressure
    [Pa], wind [m/s], linear in between; `mean` (N, 3) sun on the plane, longwave on it [W/m²], rain
    that strikes it [kg/(m²·s)]; pressure of the air [Pa].
    """

    instant: np.ndarray
    mean: np.ndarray
    pressure: float


def read(path: Path) -> Year:
    """A file of 8760 hours."""
    with path.open(encoding="latin-1", newline="") as file:
        rows = list(csv.reader(file))
    latitude, longitude, zone, altitude = (float(x) for x in rows[0][6:10])
    wanted = (TEMPERATURE, HUMIDITY, SKY_HEAT, GLOBAL, BEAM, DIFFUSE, DIRECTION, WIND, SNOW, RAIN)
    data = [row for row in rows[8:] if row]
    assert len(data) == 8760
    column = {k: np.array([float(row[k]) for row in data]) for k in wanted}
    column[TEMPERATURE] += ZERO
    column[SNOW] = np.where(column[SNOW] >= 999.0, 0.0, column[SNOW])
    return Year(latitude, longitude, zone, altitude, column)


def over_water(T: np.ndarray) -> np.ndarray:
    """Saturation pressure over water, ISO 13788 (from memory). [Pa]"""
    return 610.5 * np.exp(17.269 * (T - ZERO) / (237.3 + T - ZERO))


def loads(year: Year, azimuth: float, *, first: int, hours: int, rains: bool) -> Loads:
    """Loads of a wall facing `azimuth` [degree] over `hours` from hour `first` of the year on."""
    c = year.column
    T, wind = c[TEMPERATURE], c[WIND]
    p = 0.01 * c[HUMIDITY] * over_water(T)
    means = np.stack(
        [_sun(year, azimuth), _longwave(year), _rain(year, azimuth) * float(rains)], axis=1
    )
    ends = np.arange(first, first + hours) % 8760
    # the hour before the first stamp of the year is taken as its end
    begins = np.concatenate([[first - 1 if first else 0], ends])
    pressure = STANDARD * (1.0 - 2.25577e-5 * year.altitude) ** 5.2559
    return Loads(np.stack([T, p, wind], axis=1)[begins], means[ends], pressure)


def _longwave(year: Year) -> np.ndarray:
    """Half sky as given in the file, half ground at air temperature, mean of each hour. [W/m²]"""
    ground = SIGMA * year.column[TEMPERATURE] ** 4
    return 0.5 * year.column[SKY_HEAT] + 0.25 * (ground + np.roll(ground, 1))


def _rain(year: Year, azimuth: float) -> np.ndarray:
    """0.2 v r cos, F_E = 1 and F_D = 0.5; none below 1 °C. [kg/(m²·s)]"""
    c = year.column
    facing = np.maximum(np.cos(np.radians(c[DIRECTION] - azimuth)), 0.0)
    rain = np.where(c[TEMPERATURE] < ZERO + 1.0, 0.0, c[RAIN])
    return 0.2 * c[WIND] * rain * facing * 1.0 * 0.5 / 3600.0


def _sun(year: Year, azimuth: float) -> np.ndarray:
    """Beam, sky and ground on the vertical plane, before absorptance. [W/m²]"""
    c = year.column
    moment = _sunlit_middle(year)
    sun = _position(year, moment)
    zenith, around = sun["zenith"].to_numpy(), sun["azimuth"].to_numpy()
    up = zenith < 90.0
    facing = np.sin(np.radians(zenith)) * np.cos(np.radians(around - azimuth))
    beam = np.where(up, c[BEAM] * np.maximum(facing, 0.0), 0.0)
    with np.errstate(all="ignore"):
        sky = np.asarray(
            pvlib.irradiance.perez(
                90.0, azimuth, c[DIFFUSE], c[BEAM],
                pvlib.irradiance.get_extra_radiation(moment).to_numpy(), zenith, around,
                pvlib.atmosphere.get_relative_airmass(zenith),
            )
        )  # fmt: skip
    sky = np.where(up & np.isfinite(sky), sky, 0.5 * c[DIFFUSE])
    albedo = np.where(c[SNOW] >= 3.0, 0.6, 0.2)
    return beam + sky + 0.5 * albedo * c[GLOBAL]


def _position(year: Year, moment: pd.DatetimeIndex) -> pd.DataFrame:
    where = year.latitude, year.longitude
    return pvlib.solarposition.get_solarposition(moment, *where, altitude=year.altitude)


def _sunlit_middle(year: Year) -> pd.DatetimeIndex:
    """Middle of the part of each hour in which the sun is up; its height is taken as linear."""
    local = pd.date_range("2001-01-01", periods=8760, freq="h", tz="UTC")
    begin = local - pd.Timedelta(hours=year.zone)
    low = 90.0 - _position(year, begin)["zenith"].to_numpy()
    high = 90.0 - _position(year, begin + HOUR)["zenith"].to_numpy()
    crossing = low / np.where(low == high, 1.0, low - high)
    share = np.full(8760, 0.5)
    share = np.where((low <= 0.0) & (high > 0.0), 0.5 * (1.0 + crossing), share)
    share = np.where((low > 0.0) & (high <= 0.0), 0.5 * crossing, share)
    return begin + pd.to_timedelta(np.round(3600.0 * share), unit="s")
