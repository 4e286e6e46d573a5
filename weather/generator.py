"""Makes hourly years from monthly normals, marked as generated; reads no files.

Days share one driver ("unsettled"): unsettled days are cloudy, humid, windy, of small temperature
range, and they are the rain days. The monthly normals are met; docs/weather-generator.md compares
the rest with real files.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from weather.canonical import Origin, build
from weather.course import Calendar, calendar
from weather.errors import fault
from weather.kept import Series, kept
from weather.normals import MonthlyNormals
from weather.plane import erbs_split
from weather.synthetic import air, rain, sky, wind
from weather.synthetic.draws import daily_processes


def generate(normals: MonthlyNormals, *, years: int = 1, seed: int) -> xr.Dataset:
    """Generate hourly years whose monthly means over all years meet the normals.

    Over the generated years together each month meets: temperature within 0.01 K, spread of daily
    means and daily range within 2 %, relative humidity within 0.005, wind speed within 1 %, global
    radiation within 0.5 %, precipitation within 0.1 %, rain days to the nearest whole number of
    days over all years. Single years differ as the day-to-day spread and persistence make them;
    trends and extremes beyond that are not made.

    Parameters
    ----------
    normals : MonthlyNormals
        What to reproduce, and the place.
    years : int
        Number of years, each 8760 hours, one after another.
    seed : int
        Seed of numpy's PCG64; the same seed gives the same years.

    Returns
    -------
    Dataset
        Canonical weather with `generated` and `kind` marked so, and no `longwave_down`: sky
        longwave follows from `cloud_cover` and `dew_point`.

    Raises
    ------
    WeatherError
        When the years are below 1 or the radiation exceeds what the sun can give at the place.
    """
    if years < 1:
        raise fault("generate", f"years = {years}: must be 1 or more")
    axis = calendar(years)
    text = f"yes: {years} years from monthly normals, seed {seed}"
    origin = Origin("generated from monthly normals", "", "generated", text)
    columns = kept(_columns, normals, years, seed)
    result = build(columns, axis.time, normals.place, origin, [f"generated, {text[5:]}"])
    return _with_calendar(result, axis) if years > 1 else result


def _columns(normals: MonthlyNormals, years: int, seed: int) -> Series:
    random, axis = np.random.Generator(np.random.PCG64(seed)), calendar(years)
    days = daily_processes(random, axis)
    sun = sky.sun_of_years(axis, normals)
    amount = rain.precipitation(random, axis, normals, days.unsettled)
    wet = amount > 0.0
    cover = sky.cloud(random, axis, normals, sun, days.unsettled, wet)
    total = sky.radiation(random, axis, normals, sun, cover)
    direct, diffuse = erbs_split(total, sun)
    clearness = sky.daily_clearness(total, sun, axis)
    temperature = air.temperature(random, axis, normals, days.warmth, clearness)
    speed = wind.wind_speed(random, axis, normals, days.breeze)
    humidity = air.humidity(random, axis, normals, days, temperature, speed, wet)
    return {
        "temperature": temperature,
        "relative_humidity": humidity,
        "pressure": air.pressure(random, axis, normals),
        "wind_speed": speed,
        "wind_direction": wind.wind_direction(random, axis, normals),
        "global_horizontal": total,
        "direct_normal": direct,
        "diffuse_horizontal": diffuse,
        "cloud_cover": cover,
        "precipitation": amount,
    }


def _with_calendar(dataset: xr.Dataset, axis: Calendar) -> xr.Dataset:
    first = calendar(1).time
    stamps = np.tile(first, axis.years)
    return dataset.assign_coords(
        calendar_time=("time", stamps, {"long_name": "stamp that gives season and sun"})
    )
