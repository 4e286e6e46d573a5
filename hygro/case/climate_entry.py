"""The table `[climate]` of the case file. Owns its keys and bounds; reads no weather."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from hygro.case.fields import Entry, Hours, quantity
from hygro.errors import InputError
from weather.canonical import PLACE_BOUNDS


class GenerateEntry(Entry):
    """Hourly weather made from a file of monthly normals: plausible, never measured."""

    normals: str
    seed: Annotated[int, Field(ge=0)]
    years: Annotated[int, Field(ge=1, le=100)] = 1


def _number(name: str) -> Any:
    bound = PLACE_BOUNDS[name]
    return Field(ge=bound.lower, le=bound.upper)


_HIGH = PLACE_BOUNDS["altitude"]
_ALTITUDE = quantity("length", _HIGH.lower, _HIGH.upper, cause=_HIGH.cause, says="Altitude")


_RAIN = quantity("water sum", 1.0, 20000.0, cause="is it in metres?", says="Rain of a year")


class SiteEntry(Entry):
    """Where a table of weather belongs; degrees north and east, hours ahead of UTC."""

    latitude: Annotated[float, _number("latitude")]
    longitude: Annotated[float, _number("longitude")]
    altitude: Annotated[float, *_ALTITUDE]
    utc_offset_hours: Annotated[float, _number("utc_offset_hours")]
    name: str = ""


class TableEntry(Entry):
    """How to read a CSV or netCDF table: `columns.temperature = ["column", "degC"]`."""

    columns: Annotated[
        dict[str, Annotated[list[str], Field(min_length=2, max_length=2)]], Field(min_length=1)
    ]
    site: SiteEntry
    time: str = "time"
    stamp: Literal["hour-ending", "hour-beginning"] = "hour-ending"
    kind: Literal["typical year", "measured", "generated"] = "measured"
    missing: float | None = None


class FillEntry(Entry):
    """Gaps of one variable that may be filled; what was filled is recorded."""

    variable: str
    how: Literal["linear", "previous", "zero", "same hour"] = "linear"
    max_gap: Hours = 6.0


class ClimateEntry(Entry):
    """Outdoor climate: one `file`, several `files`, or `generate`.

    A run that needs rain stops when the weather has none, unless `rain = "none accepted"`; one
    factor scales the rain there is to the sum `annual_rain` of a year, such as a normal.
    """

    file: str | None = None
    files: list[str] = Field(default_factory=list)
    join: Literal["calendar", "consecutive"] = "calendar"
    generate: GenerateEntry | None = None
    table: TableEntry | None = None
    leap_day: Literal["keep", "drop"] | None = None
    fill: list[FillEntry] = Field(default_factory=list)
    annual_rain: Annotated[float, *_RAIN] | None = None
    rain: Literal["required", "none accepted"] = "required"

    @model_validator(mode="before")
    @classmethod
    def _one_source(cls, value: Any) -> Any:
        if isinstance(value, dict):
            given = [key for key in ("file", "files", "generate") if value.get(key)]
            if len(given) != 1:
                raise InputError(
                    "must have exactly one of the keys 'file', 'files', 'generate'; it has "
                    + (", ".join(f"'{key}'" for key in given) or "none")
                )
        return value

    @property
    def sources(self) -> tuple[str, ...]:
        """The files that the climate needs, as written."""
        if self.generate is not None:
            return (self.generate.normals,)
        return (self.file,) if self.file is not None else tuple(self.files)
