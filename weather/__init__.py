"""Hourly outdoor climate as one canonical xarray Dataset; useful without any wall.

The names below are imported when they are first used: `import weather` alone takes a millisecond.
"""

from __future__ import annotations

TYPE_CHECKING = False  # type checkers take it for true; importing it would take most of the time

if TYPE_CHECKING:
    from weather.canonical import Origin as Origin
    from weather.canonical import Place as Place
    from weather.canonical import history as history
    from weather.canonical import with_rain as with_rain
    from weather.columns import Column as Column
    from weather.columns import Quantity as Quantity
    from weather.columns import read_columns as read_columns
    from weather.errors import UserError as UserError
    from weather.errors import WeatherError as WeatherError
    from weather.generator import generate as generate
    from weather.mend import accept_rain as accept_rain
    from weather.mend import fill as fill
    from weather.mend import rescale as rescale
    from weather.mend import scale_rain as scale_rain
    from weather.normals import MonthlyNormals as MonthlyNormals
    from weather.on_plane import plane_loads as plane_loads
    from weather.plane import align_sun as align_sun
    from weather.plane import split_global as split_global
    from weather.quality import has_rain as has_rain
    from weather.quality import inspect as inspect
    from weather.quality import require_complete as require_complete
    from weather.quality import require_rain as require_rain
    from weather.rain import AshraeFactors as AshraeFactors
    from weather.rain import IsoFactors as IsoFactors
    from weather.rain import ashrae_factors as ashrae_factors
    from weather.rain import iso_factors as iso_factors
    from weather.reader import read as read
    from weather.reader import read_years as read_years
    from weather.series import drop_leap_days as drop_leap_days
    from weather.series import join as join
    from weather.series import repeat_years as repeat_years
    from weather.summary import summarise as summarise
    from weather.table import read_table as read_table

__version__ = "0.1.0"

_MODULE = {
    "AshraeFactors": "rain",
    "Column": "columns",
    "IsoFactors": "rain",
    "MonthlyNormals": "normals",
    "Origin": "canonical",
    "Place": "canonical",
    "Quantity": "columns",
    "UserError": "errors",
    "WeatherError": "errors",
    "accept_rain": "mend",
    "align_sun": "plane",
    "ashrae_factors": "rain",
    "drop_leap_days": "series",
    "fill": "mend",
    "generate": "generator",
    "has_rain": "quality",
    "history": "canonical",
    "inspect": "quality",
    "iso_factors": "rain",
    "join": "series",
    "plane_loads": "on_plane",
    "read": "reader",
    "read_columns": "columns",
    "read_table": "table",
    "read_years": "reader",
    "repeat_years": "series",
    "require_complete": "quality",
    "require_rain": "quality",
    "rescale": "mend",
    "scale_rain": "mend",
    "split_global": "plane",
    "summarise": "summary",
    "with_rain": "canonical",
}
"""Public names and the modules that own them."""

__all__ = list(_MODULE)


def __getattr__(name: str) -> object:
    if name not in _MODULE:
        raise AttributeError(f"module 'weather' has no attribute '{name}'")
    from importlib import import_module

    value = getattr(import_module(f"weather.{_MODULE[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
