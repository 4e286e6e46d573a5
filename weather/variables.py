"""The table of canonical variables: units, meaning, time cell and bounds; knows no file format."""

from __future__ import annotations

from typing import NamedTuple

from weather.columns import Quantity

POINT = "time: point"
MEAN = "time: mean (interval: 1 hour, ending at time)"
SUM = "time: sum (interval: 1 hour, ending at time)"


class Variable(NamedTuple):
    """One row of the table. Values outside [lower, upper] are refused, never clipped."""

    name: str
    units: str
    long_name: str
    cell_methods: str
    lower: float
    upper: float
    likely_cause: str

    @property
    def quantity(self) -> Quantity:
        """What a column of this variable may hold."""
        return Quantity(self.units, self.lower, self.upper, self.likely_cause)


_CELSIUS = "is it in °C?"
_FLUX = "is it in Wh/m², kJ/m² or a missing-value code?"

# Bounds: temperature between the world records of −89.2 and 56.7 °C, widened (from memory);
# one-hour rain record about 400 mm (from memory); pressure from the highest settlements to the
# record high at sea level; fluxes from the solar constant. Others: common practice, no source.
_ROWS = (
    Variable("temperature", "K", "air temperature", POINT, 180.0, 335.0, _CELSIUS),
    Variable("dew_point", "K", "dew point over liquid water", POINT, 160.0, 315.0, _CELSIUS),
    Variable(
        "relative_humidity",
        "1",
        "relative humidity over liquid water, also below 0 °C",
        POINT,
        0.0,
        1.0,
        "is it in percent?",
    ),
    Variable(
        "vapour_pressure",
        "Pa",
        "partial pressure of water vapour",
        POINT,
        0.0,
        9e3,
        "is it in another unit than Pa?",
    ),
    Variable("pressure", "Pa", "station pressure", POINT, 3e4, 1.1e5, "is it in hPa or kPa?"),
    Variable(
        "wind_speed",
        "m/s",
        "wind speed 10 m above open ground",
        POINT,
        0.0,
        100.0,
        "is it in km/h?",
    ),
    Variable(
        "wind_direction",
        "degree",
        "direction the wind comes from, clockwise from north; meaningless in calm",
        POINT,
        0.0,
        360.0,
        "is it a code for variable wind?",
    ),
    Variable("global_horizontal", "W/m2", "global horizontal irradiance", MEAN, 0.0, 1500.0, _FLUX),
    Variable("direct_normal", "W/m2", "direct normal irradiance", MEAN, 0.0, 1420.0, _FLUX),
    Variable(
        "diffuse_horizontal", "W/m2", "diffuse horizontal irradiance", MEAN, 0.0, 1100.0, _FLUX
    ),
    Variable("longwave_down", "W/m2", "longwave irradiance from the sky", MEAN, 30.0, 700.0, _FLUX),
    Variable("cloud_cover", "1", "opaque sky cover", POINT, 0.0, 1.0, "is it in tenths or octas?"),
    Variable(
        "precipitation",
        "kg/m2",
        "precipitation of the hour, snow as water where the source gives it so",
        SUM,
        0.0,
        600.0,
        "is it in tenths of a millimetre?",
    ),
    Variable("rain", "kg/m2", "precipitation of the hour without snow", SUM, 0.0, 600.0, ""),
    Variable(
        "ground_temperature",
        "K",
        "temperature of the ground surface",
        POINT,
        180.0,
        360.0,
        _CELSIUS,
    ),
    Variable("snow_depth", "m", "depth of snow on the ground", POINT, 0.0, 15.0, "is it in cm?"),
    # What falls on a plane; made by weather.on_plane, not read from files.
    Variable("solar", "W/m2", "global irradiance on the plane", MEAN, 0.0, 2500.0, ""),
    Variable("solar_beam", "W/m2", "beam irradiance on the plane", MEAN, 0.0, 1420.0, ""),
    Variable(
        "solar_sky", "W/m2", "diffuse irradiance of the sky on the plane", MEAN, 0.0, 1500.0, ""
    ),
    Variable(
        "solar_ground", "W/m2", "irradiance on the plane from the ground", MEAN, 0.0, 1500.0, ""
    ),
    Variable(
        "longwave_in",
        "W/m2",
        "longwave irradiance on the plane, sky and ground",
        MEAN,
        0.0,
        1e3,
        "",
    ),
    Variable(
        "driving_rain", "kg/(m2 s)", "rain striking the wall, mean of the hour", MEAN, 0.0, 1.0, ""
    ),
)

TABLE: dict[str, Variable] = {row.name: row for row in _ROWS}
"""Canonical variables by name."""

READABLE = tuple(row.name for row in _ROWS[:16] if row.name not in ("vapour_pressure", "rain"))
"""Variables a source may give; vapour_pressure and rain are derived."""


def attributes(name: str) -> dict[str, str]:
    """Return the xarray attributes of a canonical variable."""
    row = TABLE[name]
    return {"units": row.units, "long_name": row.long_name, "cell_methods": row.cell_methods}
