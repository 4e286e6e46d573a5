"""The wall as data: what stands where, outside to inside. Owns no numerics and no weather.

Everything is a frozen value; `dataclasses.replace` makes a variant. Lengths in m, temperatures in
K, relative humidity 0-1, angles in degrees.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

from hygro.errors import InputError, near_matches
from hygro.material import Material, SheetMaterial
from hygro.wall.flow import Terrain
from hygro.wall.interruptions import Attachment, Framing, Joints

Face = Literal["outer", "inner"]


@dataclass(frozen=True)
class Initial:
    """State of a layer at the start: a relative humidity or a moisture content by mass.

    Parameters
    ----------
    rh : float
        Equilibrium relative humidity. [1] The default 0.80 is the ASHRAE 160 value for protected
        construction.
    moisture_content : float, optional
        Water per dry mass; overrides `rh`. [kg/kg]
    temperature : float, optional
        Start temperature of the layer; None: linear between the two climates at the start. [K]
    """

    rh: float = 0.80
    moisture_content: float | None = None
    temperature: float | None = None


@dataclass(frozen=True)
class Layer:
    """A homogeneous layer with thickness and storage.

    `capillary_contact` False breaks the liquid path across the inner face of the layer. `joints`,
    `attachments` and `framing` do not change the run; see `interruptions`.
    """

    name: str
    material: Material
    thickness: float
    initial: Initial = field(default_factory=Initial)
    capillary_contact: bool = True
    joints: Joints | None = None
    attachments: tuple[Attachment, ...] = ()
    framing: Framing | None = None


@dataclass(frozen=True)
class Membrane:
    """A sheet at an interface (or on a surface: paint, wallpaper): resistance without storage."""

    name: str
    material: SheetMaterial


@dataclass(frozen=True)
class Openings:
    """Ventilation openings of a gap, from which air changes are computed each hour.

    Parameters
    ----------
    area : float
        Free area of the bottom openings per metre width of wall; the top ones are equal. [m²/m]
    height : float
        Vertical distance between bottom and top openings. [m]
    discharge : float
        Discharge coefficient of a sharp-edged opening, 0.61 (handbook value, from memory). [1]
    wind_coefficient : float
        Difference of wind pressure coefficient between bottom and top openings.
        0.1: common practice, no source. [1]
    """

    area: float
    height: float
    discharge: float = 0.61
    wind_coefficient: float = 0.1


@dataclass(frozen=True)
class Channel:
    """Openings and the channel between them with its friction, from which air changes follow.

    Computed before the run from the weather alone (`gap_flow`), where `Openings` uses the state of
    the gap in the run but no friction. Parameters as in `Openings`.

    Parameters
    ----------
    blocked : float
        Share of the channel that battens take. [1]
    """

    area: float
    height: float
    discharge: float = 0.61
    wind_coefficient: float = 0.1
    blocked: float = 0.0


@dataclass(frozen=True)
class Washing:
    """Outdoor air that wind drives through the outer part of permeable insulation.

    Parameters
    ----------
    depth : float
        Part of the insulation that is washed. [m]
    permeability : float
        Air permeability of the insulation along the wall. [m²]
    length : float
        Way of the air along the wall; 1 m: common practice, no source. [m]
    wind_coefficient : float
        Difference of wind pressure coefficient over `length`; 0.2: common practice, no source. [1]
    """

    depth: float
    permeability: float
    length: float = 1.0
    wind_coefficient: float = 0.2


@dataclass(frozen=True)
class Gap:
    """An air gap, possibly exchanging air with outdoors.

    `air_change` [1/h] is one number, twelve monthly numbers, an hourly series, `Openings`,
    `Channel`, or, for the plane that `washing.with_wind_washing` puts into insulation, `Washing`.
    `film` [kg/m²] is the water that a face of the gap holds before it drains.
    """

    name: str
    depth: float
    air_change: float | tuple[float, ...] | Openings | Channel | Washing = 0.0
    emissivity_outer: float = 0.9
    emissivity_inner: float = 0.9
    convection: float | None = None
    film: float = 0.1


@dataclass(frozen=True)
class Place:
    """Where a source acts: the outer or inner `depth` [m] of a layer; None: the cell at the face.

    The cell at the face is about 1 mm ("normal" accuracy).
    """

    layer: str
    face: Face = "outer"
    depth: float | None = None


@dataclass(frozen=True)
class RainLeak:
    """Rain past the cladding: a fraction of the driving rain that strikes the wall.

    The default 1 % is the ASHRAE 160 value (as quoted in papers that apply it).
    """

    place: Place
    fraction: float = 0.01


@dataclass(frozen=True)
class Wetting:
    """A one-off wetting: mass [kg/m²] spread evenly over one hour from `hour` after the start."""

    place: Place
    mass: float
    hour: int = 0


@dataclass(frozen=True)
class AirLeak:
    """Leaking indoor air that meets a cold plane and drops moisture there.

    A constant `rate` flows whatever the weather. A `permeance` flows only in hours of exfiltration
    (pressure of `hygro.wall.flow`: stack, wind, fan); infiltrating air is left out here.

    Parameters
    ----------
    place : Place
        The plane that the air meets.
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
        Used with the wind speed of the weather file where `building_height` is None.
    building_height : float, optional
        Height at which the wind is taken; then the wind pressure follows wind direction and
        `terrain` (`flow.wall_pressures`) and `wind_coefficient` must stay 0. [m]
    terrain : {"open", "suburban", "city"}
        Around the building.
    """

    place: Place
    rate: float | None = None
    permeance: float | None = None
    exponent: float = 0.65
    height: float = 2.5
    fan_pressure: float = 0.0
    wind_coefficient: float = 0.0
    building_height: float | None = None
    terrain: Terrain = "suburban"


@dataclass(frozen=True)
class AirFlow:
    """Straight-through air flow, positive inward. [m³/(s·m²)] One number or an hourly series."""

    rate: float | tuple[float, ...]


@dataclass(frozen=True)
class Outside:
    """Outdoor surface: convection, radiation and rain.

    Parameters
    ----------
    convection : float or None
        Convective coefficient [W/(m²·K)]; None: 4 + 4·v with the wind speed v (ISO 6946:2017
        annex, from memory).
    vapour_coefficient : float or None
        [kg/(m²·s·Pa)]; None: 7e-9 times the convective coefficient (Lewis relation, EN 15026).
    absorptance : float
        Of solar radiation. [1]
    emissivity : float
        Longwave. [1] 0 switches the explicit longwave exchange off.
    rain_method : str or None
        "iso15927" or "ashrae160"; None: no driving rain.
    rain_factors : mapping as pairs
        Keyword arguments of the driving-rain formula.
    albedo : float
        Of the ground. [1] 0.2: common practice.
    imposed : bool
        The loads are the state of the surface itself (no transfer resistances).
    """

    convection: float | None = None
    vapour_coefficient: float | None = None
    absorptance: float = 0.6
    emissivity: float = 0.9
    rain_method: Literal["iso15927", "ashrae160"] | None = "ashrae160"
    rain_factors: tuple[tuple[str, float | str], ...] = ()
    albedo: float = 0.2
    imposed: bool = False


@dataclass(frozen=True)
class Inside:
    """Indoor surface: combined heat transfer coefficient and vapour transfer.

    `coefficient` 7.69 W/(m²·K) is 1/0.13 (ISO 6946, horizontal heat flow); `vapour_coefficient`
    None is 7e-9 times the convective part 2.5 W/(m²·K) (ISO 6946 convective part; Lewis relation).
    """

    coefficient: float = 1 / 0.13
    vapour_coefficient: float | None = None
    imposed: bool = False


@dataclass(frozen=True)
class Wall:
    """A wall: elements from outside to inside, the two surfaces, and what leaks into it."""

    name: str
    layers: tuple[Layer | Membrane | Gap, ...]
    azimuth: float = 0.0
    tilt: float = 90.0
    outside: Outside = field(default_factory=Outside)
    inside: Inside = field(default_factory=Inside)
    rain_leaks: tuple[RainLeak, ...] = ()
    wettings: tuple[Wetting, ...] = ()
    air_leaks: tuple[AirLeak, ...] = ()
    air_flow: AirFlow | None = None

    def __post_init__(self) -> None:
        """Check what can be checked without climate; raises `InputError`."""
        _check_elements(self)
        _check_angles(self)
        for place in self.places():
            self.layer(place.layer)

    @property
    def solids(self) -> tuple[Layer, ...]:
        """The layers with storage, outside to inside."""
        return tuple(e for e in self.layers if isinstance(e, Layer))

    @property
    def gaps(self) -> tuple[Gap, ...]:
        """The air gaps, outside to inside."""
        return tuple(e for e in self.layers if isinstance(e, Gap))

    def places(self) -> Iterator[Place]:
        """Every place that a source acts on."""
        sources: tuple[RainLeak | Wetting | AirLeak, ...] = (
            *self.rain_leaks,
            *self.wettings,
            *self.air_leaks,
        )
        for source in sources:
            yield source.place

    def layer(self, name: str) -> Layer:
        """Return the layer of that name; raises `InputError` with near matches."""
        for layer in self.solids:
            if layer.name == name:
                return layer
        known = near_matches(name, [item.name for item in self.solids])
        raise InputError(f"wall '{self.name}': no layer '{name}'; {known}")

    @property
    def thickness(self) -> float:
        """Total thickness with gaps. [m]"""
        return sum(
            e.depth if isinstance(e, Gap) else e.thickness
            for e in self.layers
            if not isinstance(e, Membrane)
        )


def _check_elements(wall: Wall) -> None:
    if not wall.solids:
        raise InputError(f"wall '{wall.name}': no layers; a wall needs at least one")
    names = [e.name for e in wall.layers]
    for name in names:
        if names.count(name) > 1:
            raise InputError(f"wall '{wall.name}': two elements are called '{name}'")
    for first, second in zip(wall.layers, wall.layers[1:], strict=False):
        if isinstance(first, Gap) and isinstance(second, Gap):
            raise InputError(f"wall '{wall.name}': gaps '{first.name}' and '{second.name}' touch")
    for end in (wall.layers[0], wall.layers[-1]):
        if isinstance(end, Gap):
            raise InputError(
                f"wall '{wall.name}': gap '{end.name}' is at a surface; it needs a layer on each "
                "side"
            )
    for element in wall.layers:
        _check_size(wall.name, element)


def _check_size(wall: str, element: Layer | Membrane | Gap) -> None:
    if isinstance(element, Layer) and not element.thickness > 0:
        raise InputError(
            f"wall '{wall}', layer '{element.name}': thickness = {element.thickness:g} m: "
            "must be > 0"
        )
    if isinstance(element, Gap) and not 0.001 <= element.depth <= 0.3:
        raise InputError(
            f"wall '{wall}', gap '{element.name}': depth = {element.depth:g} m: must be 0.001-0.3; "
            "is it in mm?"
        )


def _check_angles(wall: Wall) -> None:
    if not 0 <= wall.azimuth <= 360:
        raise InputError(
            f"wall '{wall.name}': azimuth = {wall.azimuth:g}: must be 0-360 degrees clockwise "
            "from north"
        )
    if not 0 <= wall.tilt <= 180:
        raise InputError(
            f"wall '{wall.name}': tilt = {wall.tilt:g}: must be 0-180 degrees (90 is a wall)"
        )
