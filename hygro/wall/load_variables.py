"""The one table of the loads of a wall: where each series stands in `Loads`, and what it is.

A record stores loads under these names; boundary data of a user's own bear them too.
"""

from __future__ import annotations

from types import MappingProxyType

from hygro.variable import KELVIN, MEAN, PASCAL, POINT, RAIN, Variable, series

INSTANT = Variable(
    "time", "", ("time",), "local standard time; means belong to the hour before",
    kind="coordinate", dtype="time",
)  # fmt: skip
TIME = ("time",)
CELSIUS = "is it in °C?"
PRESSURE = "is it in another unit than Pa?"
PER_HOUR = "is it per hour, not per second?"
# up to 1e13: a surface held at the state of the air has next to no resistance
HEAT, VAPOUR = (0.0, 1e13), (0.0, 1e4)

LOADS: MappingProxyType[str, Variable] = MappingProxyType(
    {
        "outside.temperature": series(
            POINT, "outdoor_temperature", "K", TIME, "outdoor air temperature", KELVIN,
            cause=CELSIUS,
        ),
        "outside.vapour_pressure": series(
            POINT, "outdoor_vapour_pressure", "Pa", TIME, "outdoor vapour pressure", PASCAL,
            cause=PRESSURE,
        ),
        "outside.heat_coefficient": series(
            POINT, "outdoor_heat_transfer", "W m-2 K-1", TIME, "outdoor heat transfer", HEAT
        ),
        "outside.vapour_coefficient": series(
            POINT, "outdoor_vapour_transfer", "s m-1", TIME, "outdoor vapour transfer", VAPOUR
        ),
        "outside.radiation": series(
            MEAN, "outdoor_radiation", "W m-2", TIME,
            "absorbed sun and incoming longwave, outdoors", (-1e3, 3e3),
            cause="is it in kJ/m² or J/m²?",
        ),
        "outside.rain": series(
            MEAN, "rain_incident", "kg m-2 s-1", TIME, "rain that meets the wall", RAIN,
            cause=PER_HOUR,
        ),
        "inside.temperature": series(
            POINT, "indoor_temperature", "K", TIME, "indoor air temperature", KELVIN, cause=CELSIUS,
        ),
        "inside.vapour_pressure": series(
            POINT, "indoor_vapour_pressure", "Pa", TIME, "indoor vapour pressure", PASCAL,
            cause=PRESSURE,
        ),
        "inside.heat_coefficient": series(
            POINT, "indoor_heat_transfer", "W m-2 K-1", TIME, "indoor heat transfer", HEAT
        ),
        "inside.vapour_coefficient": series(
            POINT, "indoor_vapour_transfer", "s m-1", TIME, "indoor vapour transfer", VAPOUR
        ),
        "inside.radiation": series(
            MEAN, "indoor_radiation", "W m-2", TIME, "absorbed radiation, indoors", (-1e3, 3e3)
        ),
        "inside.rain": series(
            MEAN, "indoor_wetting", "kg m-2 s-1", TIME, "water on the indoor surface", RAIN,
            cause=PER_HOUR,
        ),
        "gap_rate": series(
            MEAN, "gap_exchange", "m s-1", ("time", "gap"), "given air exchange of the gap",
            (0.0, 10.0),
            optional=True, cause="is it in air changes per hour?",
        ),
        "wind": series(MEAN, "wind_speed", "m s-1", TIME, "wind speed at the wall", (0.0, 100.0)),
        "source": series(
            MEAN, "source_rate", "1", ("time", "source"),
            "rate of each source: rain leak, wetting [kg m-2 s-1], air leak outward [m s-1]",
            (-1.0, 10.0),
            optional=True, cause=PER_HOUR,
        ),
        "air": series(
            MEAN, "air_flow", "m s-1", TIME, "air flow through the wall, positive inward",
            (-1.0, 1.0),
        ),
    }
)  # fmt: skip
"""Where a series stands in `Loads`, and its row. Those that are optional have columns: one per gap,
one per source in the order of `Wall.places`."""
