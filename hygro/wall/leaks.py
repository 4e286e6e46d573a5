"""What gets into a wall besides diffusion: rain, wettings, room air. Owns the declarations."""

from __future__ import annotations

import dataclasses
from typing import Annotated, Literal

from hygro.declare import declared
from hygro.errors import InputError, brief
from hygro.fields import (
    ONE,
    AirPermeance,
    Fraction,
    Height,
    Hours,
    LeakRate,
    Length,
    MassPerArea,
    Name,
    Pressure,
    within,
)
from hygro.problems import one_key
from hygro.wall.flow import Terrain

Face = Literal["outer", "inner"]
BARRIER = "water barrier"
"""Where rain leaks that name no place; see `hygro.wall.barrier`."""
DEPTH = 0.001
"""How far in a leak goes that does not say it. [m]"""


@declared
class Source:
    """Where something acts: the outer or inner `depth` of a layer.

    Parameters
    ----------
    at : str
        Name of the layer; or of a sheet, of which `face` is meant.
    face : {"outer", "inner"}
        From which of its faces the depth counts.
    depth : float
        How far in; no more than the layer is thick. [m]
    """

    at: Name
    face: Face = dataclasses.field(default="outer", kw_only=True)
    depth: Length = dataclasses.field(default=DEPTH, kw_only=True)


@declared
class RainLeak(Source):
    """Rain past the cladding: a fraction of the driving rain that strikes the wall.

    Parameters
    ----------
    at : str
        Left out: the outer face of the water barrier, as ASHRAE 160 has it (as quoted in papers
        that apply it). That is the outermost sheet called so, else the outermost membrane.
    fraction : float
        The default 1 % is the ASHRAE 160 value (as quoted in papers that apply it). [1]
    past_barrier : float, optional
        Fraction of the driving rain that gets past the water barrier, to the outer face of the
        layer behind it: a scenario of its own, in the place of this leak. [1]
    """

    at: Name = BARRIER
    fraction: Fraction = 0.01
    past_barrier: Fraction | None = dataclasses.field(default=None, kw_only=True)


@declared
class Wetting(Source):
    """A one-off wetting, spread evenly over one hour.

    Parameters
    ----------
    mass : float
        Water. [kg/m²]
    after : float
        How long after the start, rounded to hours. [h]
    """

    mass: MassPerArea
    after: Hours = 0.0

    @property
    def hour(self) -> int:
        """Hour of the run, counted from 0."""
        return round(self.after)


@declared
class AirLeak(Source):
    """Leaking air that meets a plane and drops moisture there, or picks it up.

    A constant `rate` of room air flows whatever the weather. Through a `permeance` room air flows
    out or outdoor air in, by the pressure of each hour (`hygro.wall.flow`: stack, wind, fan).

    Parameters
    ----------
    rate : float, optional
        Air flow from the room, constant. [m³/(s·m²)]
    permeance : float, optional
        Air permeance at 1 Pa, with pressures from stack, wind and fans. [m³/(s·m²·Paⁿ)]
    exponent : float
        Flow exponent n; 0.65 is the usual value for cracks (common practice, no source). [1]
    height : float
        Height above the neutral plane, for the stack pressure. [m]
    fan_pressure : float
        Constant overpressure of the room. [Pa]
    wind_coefficient : float
        Mean wind pressure coefficient difference, outdoors minus indoors; negative: suction. [1]
        Used with the wind speed of the weather file where there is no `building_height`.
    building_height : float, optional
        Height at which the wind is taken; then the wind pressure follows wind direction and
        `terrain` (`flow.wall_pressures`) and `wind_coefficient` must stay 0. [m]
    terrain : {"open", "suburban", "city"}
        Around the building.
    """

    face: Face = dataclasses.field(default="inner", kw_only=True)
    rate: LeakRate | None = None
    permeance: AirPermeance | None = None
    exponent: Annotated[float, *within(0.5, 1.0, "cracks have about 0.65")] = 0.65
    height: Height = 2.5
    fan_pressure: Pressure = 0.0
    wind_coefficient: Annotated[float, *within(-3.0, 3.0)] = 0.0
    building_height: Length | None = None
    terrain: Terrain = "suburban"

    def __post_init__(self) -> None:
        """Refuse neither or both of rate and permeance, and two ways to give the wind."""
        one_key(rate=self.rate is not None, permeance=self.permeance is not None)
        if self.wind_coefficient and self.building_height is not None:
            raise InputError(
                f"wind_coefficient = {self.wind_coefficient:g} and building_height: one of them; "
                "the latter takes the coefficient from wind direction"
            )


@declared
class Leaks:
    """What gets into the wall besides diffusion; compared with the same wall without.

    Parameters
    ----------
    rain : list of RainLeak
        Rain past the cladding.
    wetting : list of Wetting
        One-off wettings.
    air : list of AirLeak
        Leaking room air.
    """

    rain: Annotated[tuple[RainLeak, ...], ONE] = ()
    wetting: Annotated[tuple[Wetting, ...], ONE] = ()
    air: Annotated[tuple[AirLeak, ...], ONE] = ()

    def all(self) -> tuple[Source, ...]:
        """Rain leaks, wettings and air leaks, in this order."""
        return (*self.rain, *self.wetting, *self.air)


def sorted_leaks(value: object) -> object:
    """Take a leak or a plain list of leaks as well: `leaks=[RainLeak("sheathing")]`."""
    kinds = {"rain": RainLeak, "wetting": Wetting, "air": AirLeak}
    if isinstance(value, tuple(kinds.values())):
        value = [value]
    if not isinstance(value, list | tuple):
        return value
    for item in value:
        if not isinstance(item, tuple(kinds.values())):
            raise InputError(f"{brief(item)}: must be a RainLeak, a Wetting or an AirLeak")
    return {key: [x for x in value if isinstance(x, kind)] for key, kind in kinds.items()}
