"""Where a wall stands: the wind that reaches it and the pressure of its air. Owns the declaration.

A weather file gives the wind of a station in open country; the wall stands lower, among houses.
"""

from __future__ import annotations

from typing import Annotated, Any

from hygro.constants import STANDARD_PRESSURE
from hygro.declare import declared
from hygro.fields import Length, quantity
from hygro.problems import together
from hygro.wall.flow import Terrain, wind_speed_at
from weather.moistair import standard_pressure

Shelter = Annotated[
    float,
    *quantity(
        "fraction",
        0.0,
        1.0,
        likely="%",
        cause="1 is no shelter, houses of the same height next door leave about 0.5",
        says="Wind speed kept behind obstacles",
    ),
]
AirPressure = Annotated[
    float,
    *quantity("pressure", 3.0e4, 1.1e5, likely="hPa", says="Pressure of the air at the site"),
]


@declared
class Site:
    """Surroundings of the wall: terrain, height and shelter for the wind, pressure of the air.

    Parameters
    ----------
    terrain : {"open", "suburban", "city"}, optional
        Around the building; wind is then carried from a station at 10 m in open country to `height`
        by the power law (`flow.wind_speed_at`). Left out: the wind of the weather file is taken as
        that at the wall, which is too much for most walls.
    height : float, optional
        Of the wall above ground, where the wind is taken; goes with `terrain`. [m]
    shelter : float
        Wind speed that single obstacles leave, on top of the terrain. [1] 1: none.
    pressure : float, optional
        Of the air. [Pa] Left out: that of the standard atmosphere at the altitude of the weather.
    """

    terrain: Terrain | None = None
    height: Length | None = None
    shelter: Shelter = 1.0
    pressure: AirPressure | None = None

    def __post_init__(self) -> None:
        """Refuse a height without terrain, and terrain without one."""
        together("height", "terrain", given=self.height, wanted=self.terrain is not None)

    def wind(self, measured: Any) -> Any:
        """Wind speed at the wall from that of the weather file [m/s]; see `flow.wind_speed_at`."""
        if self.terrain is None or self.height is None:
            return self.shelter * measured
        return self.shelter * wind_speed_at(measured, self.height, terrain=self.terrain)

    def air_pressure(self, altitude: float | None) -> float:
        """Pressure of the air at the wall, given the altitude of the weather [m] or None. [Pa]"""
        if self.pressure is not None:
            return self.pressure
        return STANDARD_PRESSURE if altitude is None else float(standard_pressure(altitude))

    def notes(self, pressure: float) -> tuple[str, ...]:
        """What was taken for wind and air, for the record."""
        if self.terrain is None and self.shelter == 1.0:
            wind = "wind of the weather file taken as that at the wall; site.terrain would lower it"
        else:
            place = "" if self.terrain is None else f"{self.terrain}, {self.height:g} m, "
            wind = (
                f"wind at the wall: {float(self.wind(1.0)):.3g} of that of the weather file "
                f"({place}shelter {self.shelter:g})"
            )
        if pressure == STANDARD_PRESSURE:
            return (wind,)
        air = (
            f"air at {pressure / 1000:.1f} kPa: vapour diffuses "
            f"{STANDARD_PRESSURE / pressure:.2f} times as fast through air as at sea level"
        )
        return wind, air
