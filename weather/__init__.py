"""Hourly outdoor climate as one canonical xarray Dataset; useful without any wall.

Names are those of the modules below; pvlib is imported only by the functions that need it.
"""

from weather.canonical import Origin, Place, history, with_rain
from weather.errors import WeatherError
from weather.generator import generate
from weather.loads import plane_loads
from weather.normals import MonthlyNormals
from weather.plane import align_sun, split_global
from weather.quality import (
    accept_rain,
    fill,
    has_rain,
    inspect,
    require_complete,
    require_rain,
    rescale,
)
from weather.rain import AshraeFactors, IsoFactors, ashrae_factors, iso_factors
from weather.reader import read
from weather.series import drop_leap_days, join, repeat_years
from weather.summary import summarise
from weather.table import Column, read_table

__all__ = [
    "AshraeFactors",
    "Column",
    "IsoFactors",
    "MonthlyNormals",
    "Origin",
    "Place",
    "WeatherError",
    "accept_rain",
    "align_sun",
    "ashrae_factors",
    "drop_leap_days",
    "fill",
    "generate",
    "has_rain",
    "history",
    "inspect",
    "iso_factors",
    "join",
    "plane_loads",
    "read",
    "read_table",
    "repeat_years",
    "require_complete",
    "require_rain",
    "rescale",
    "split_global",
    "summarise",
    "with_rain",
]
