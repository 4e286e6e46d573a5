"""The table `[climate]` of the case file. Owns its keys and bounds; reads no weather."""

from __future__ import annotations

import dataclasses
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema

from hygro.declare import declared
from hygro.fields import Count, Hours, Name, Number, Text, counted, quantity, within
from hygro.problems import one_key
from weather.canonical import PLACE_BOUNDS


def _degrees(name: str) -> tuple[BeforeValidator, WithJsonSchema]:
    bound = PLACE_BOUNDS[name]
    return within(bound.lower, bound.upper, bound.cause)


_HIGH = PLACE_BOUNDS["altitude"]
_ALTITUDE = quantity("length", _HIGH.lower, _HIGH.upper, cause=_HIGH.cause, says="Altitude")


_RAIN = quantity("water sum", 1.0, 20000.0, cause="is it in metres?", says="Rain of a year")


@declared
class GenerateEntry:
    """Hourly weather made from a file of monthly normals: plausible, never measured.

    Parameters
    ----------
    normals : str
        File of monthly normals, beside the case.
    seed : int
        Another seed gives other years of the same climate.
    years : int
        Years that are made.
    """

    normals: Name
    seed: Annotated[Count, Field(ge=0)]
    years: Annotated[Count, Field(ge=1, le=100)] = 1


@declared
class SiteEntry:
    """Where a table of weather belongs.

    Parameters
    ----------
    latitude : float
        Degrees north. [deg]
    longitude : float
        Degrees east. [deg]
    altitude : float
        Above sea level. [m]
    utc_offset_hours : float
        Hours ahead of UTC. [h]
    name : str
        Name of the place.
    """

    latitude: Annotated[float, *_degrees("latitude")]
    longitude: Annotated[float, *_degrees("longitude")]
    altitude: Annotated[float, *_ALTITUDE]
    utc_offset_hours: Annotated[float, *_degrees("utc_offset_hours")]
    name: Text = ""


@declared
class TableEntry:
    """How to read a CSV or netCDF table: `columns.temperature = ["column", "degC"]`.

    Parameters
    ----------
    columns : table
        Column and unit by variable.
    site : table
        Where the table belongs.
    time : str
        Name of the column of stamps.
    stamp : {"hour-ending", "hour-beginning"}
        Which end of its hour a stamp names.
    kind : {"typical year", "measured", "generated"}
        What the table is.
    missing : float, optional
        Number that stands for a missing value.
    """

    columns: Annotated[dict[str, Annotated[tuple[Text, ...], counted(2, 2)]], counted(1, of=dict)]
    site: SiteEntry
    time: Name = "time"
    stamp: Literal["hour-ending", "hour-beginning"] = "hour-ending"
    kind: Literal["typical year", "measured", "generated"] = "measured"
    missing: Number | None = None


@declared
class FillEntry:
    """Gaps of one variable that may be filled; what was filled is recorded.

    Parameters
    ----------
    variable : str
        Name of the variable.
    how : {"linear", "previous", "zero", "same hour"}
        From what a gap is filled.
    max_gap : float
        Longest gap that may be filled. [h]
    """

    variable: Name
    how: Literal["linear", "previous", "zero", "same hour"] = "linear"
    max_gap: Hours = 6.0


@declared
class ClimateEntry:
    """Outdoor climate: one `file`, several `files`, or `generate`.

    Parameters
    ----------
    file : str, optional
        Weather file, beside the case.
    files : list of str
        Several, one after the other.
    join : {"calendar", "consecutive"}
        How several files follow each other.
    generate : table, optional
        Weather made from monthly normals.
    table : table, optional
        How to read a CSV or netCDF table.
    leap_day : {"keep", "drop"}, optional
        What happens to 29 February.
    fill : list of tables
        Gaps that may be filled.
    annual_rain : float, optional
        One factor scales the rain there is to this sum of a year, such as a normal. [mm]
    rain : {"required", "none accepted"}
        A run that needs rain stops when the weather has none, unless "none accepted".
    """

    file: Name | None = None
    files: tuple[Name, ...] = ()
    join: Literal["calendar", "consecutive"] = "calendar"
    generate: GenerateEntry | None = None
    table: TableEntry | None = None
    leap_day: Literal["keep", "drop"] | None = None
    fill: tuple[FillEntry, ...] = dataclasses.field(default=())
    annual_rain: Annotated[float, *_RAIN] | None = None
    rain: Literal["required", "none accepted"] = "required"

    def __post_init__(self) -> None:
        """Refuse none or several sources."""
        one_key(**{key: bool(getattr(self, key)) for key in ("file", "files", "generate")})

    @property
    def sources(self) -> tuple[str, ...]:
        """The files that the climate needs, as written."""
        if self.generate is not None:
            return (self.generate.normals,)
        return (self.file,) if self.file is not None else self.files
