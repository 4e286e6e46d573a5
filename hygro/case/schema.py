"""The tables of the case file as pydantic models. Owns names, types and bounds of every key.

Builds nothing: what a table becomes is decided in `hygro.case.build`.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag, ValidationInfo, field_validator

from hygro.case.climate_entry import ClimateEntry
from hygro.case.fields import (
    AirChange,
    AirFlowRate,
    AirPermeance,
    Area,
    Azimuth,
    Content,
    Entry,
    Fraction,
    GapDepth,
    Height,
    Hours,
    Humidity,
    Length,
    MassPerArea,
    Permeance,
    Pressure,
    Resistance,
    Temperature,
    Thickness,
    Tilt,
    Transmittance,
)
from hygro.case.part_entry import AttachmentEntry, FramingEntry, JointsEntry, WashingEntry
from hygro.case.rain_entry import RainFactorsEntry
from hygro.case.room_entry import RoomEntry
from hygro.errors import InputError

THICKEST = 1.5
"""A thicker layer is taken for a slip of units unless the case says `thick = true`. [m]"""

GREATEST = 100.0
"""The thickest layer of all; deeper ground or concrete changes nothing in decades. [m]"""


class CaseEntry(Entry):
    """Name and purpose of the case."""

    name: str
    note: str = ""


class InitialEntry(Entry):
    """State of a layer at the start: relative humidity or water per dry mass.

    `unprotected = true` is twice the water of 80 % RH (ASHRAE 160).
    """

    rh: Humidity = 0.80
    moisture_content: Content | None = None
    temperature: Temperature | None = None
    unprotected: bool = False


class LayerEntry(Entry):
    """A layer with storage: `material` with a `thickness`, or with a `resistance` to be reached."""

    material: str
    name: str = ""
    thick: bool = False
    thickness: Thickness | None = None
    resistance: Resistance | None = None
    initial: InitialEntry | None = None
    capillary_contact: bool = True
    joints: JointsEntry | None = None
    attachments: list[AttachmentEntry] = Field(default_factory=list)
    framing: FramingEntry | None = None
    wind_washing: WashingEntry | None = None

    @field_validator("thickness")
    @classmethod
    def _not_in_millimetres(cls, value: float | None, info: ValidationInfo) -> float | None:
        if value is not None and value > THICKEST and not info.data.get("thick"):
            raise InputError(
                f"{value:g} m: must be at most {THICKEST:g} m unless the layer says thick = true; "
                f'is it in mm? write "{value:g} mm"'
            )
        if value is not None and value > GREATEST:
            raise InputError(f"{value:g} m: must be at most {GREATEST:g} m")
        return value


class MembraneEntry(Entry):
    """A sheet at an interface; `permeance` replaces the one of the material."""

    membrane: str
    name: str = ""
    permeance: Permeance | None = None


class OpeningsEntry(Entry):
    """Ventilation openings from which the air change is computed each hour.

    `friction = true` adds the friction of the channel, of which battens take the share `blocked`.
    """

    area: Area
    height: Length
    discharge: Annotated[Fraction, Field(gt=0)] = 0.61
    wind_coefficient: Annotated[float, Field(ge=0, le=2)] = 0.1
    friction: bool = False
    blocked: Annotated[Fraction, Field(lt=1)] = 0.0


def _change_kind(value: Any) -> str:
    if isinstance(value, list):
        return "monthly"
    return "openings" if isinstance(value, dict | OpeningsEntry) else "one"


AirChangeEntry = Annotated[
    Annotated[AirChange, Tag("one")]
    | Annotated[list[AirChange], Field(min_length=12, max_length=12), Tag("monthly")]
    | Annotated[OpeningsEntry, Tag("openings")],
    Discriminator(_change_kind),
]


class GapEntry(Entry):
    """An air gap, `gap` being its name; `air_change` one number, twelve, or openings."""

    gap: str
    depth: GapDepth
    air_change: AirChangeEntry = 0.0
    emissivity_outer: Fraction = 0.9
    emissivity_inner: Fraction = 0.9
    convection: Transmittance | None = None
    film: MassPerArea = 0.1


ELEMENT_KEYS = ("material", "membrane", "gap")
"""The key that says what an element of a wall is."""


def _element_kind(value: Any) -> str | None:
    keys = [key for key in ELEMENT_KEYS if isinstance(value, dict) and key in value]
    return keys[0] if len(keys) == 1 else None


ElementEntry = Annotated[
    Annotated[LayerEntry, Tag("material")]
    | Annotated[MembraneEntry, Tag("membrane")]
    | Annotated[GapEntry, Tag("gap")],
    Discriminator(_element_kind),
]


class PlaceEntry(Entry):
    """Where a source acts: the outer or inner `depth` of the layer named by `at`."""

    at: str
    face: Literal["outer", "inner"] = "outer"
    depth: Length | None = None


class RainLeakEntry(PlaceEntry):
    """Rain past the cladding: a fraction of the driving rain on the wall."""

    fraction: Fraction = 0.01


class WettingEntry(PlaceEntry):
    """A one-off wetting, spread over one hour."""

    mass: MassPerArea
    after: Hours = 0.0


class AirLeakEntry(PlaceEntry):
    """Indoor air that meets a cold plane: a constant `rate`, or a `permeance` with pressures."""

    face: Literal["outer", "inner"] = "inner"
    rate: AirFlowRate | None = None
    permeance: AirPermeance | None = None
    exponent: Annotated[float, Field(ge=0.5, le=1)] = 0.65
    height: Height = 2.5
    fan_pressure: Pressure = 0.0
    wind_coefficient: Annotated[float, Field(ge=-3, le=3)] = 0.0
    building_height: Length | None = None
    terrain: Literal["open", "suburban", "city"] = "suburban"


class LeaksEntry(Entry):
    """What gets into the wall besides diffusion; compared with the same wall without."""

    rain: list[RainLeakEntry] = Field(default_factory=list)
    wetting: list[WettingEntry] = Field(default_factory=list)
    air: list[AirLeakEntry] = Field(default_factory=list)

    @field_validator("rain", "wetting", "air", mode="before")
    @classmethod
    def _one_is_a_list_of_one(cls, value: Any) -> Any:
        return [value] if isinstance(value, dict) else value


class OutsideEntry(Entry):
    """The outdoor surface: transfer, radiation and driving rain."""

    convection: Transmittance | None = None
    absorptance: Fraction = 0.6
    emissivity: Fraction = 0.9
    albedo: Fraction = 0.2
    rain: Literal["ashrae160", "iso15927", "none"] = "ashrae160"
    rain_factors: RainFactorsEntry = RainFactorsEntry()


class InsideEntry(Entry):
    """The indoor surface: combined heat transfer coefficient."""

    coefficient: Annotated[Transmittance, Field(gt=0)] = 1 / 0.13


class WallEntry(Entry):
    """A wall from outside to inside.

    `base` names another wall of the file whose keys this one takes over; `change` then alters
    single elements by their name and `remove` takes elements out. `also` adds the same wall along
    a joint of its boards, or along a stud.
    """

    name: Annotated[str, Field(min_length=1)]
    note: str = ""
    base: str | None = None
    change: dict[str, dict[str, Any]] = Field(default_factory=dict)
    remove: list[str] = Field(default_factory=list)
    room: str | None = None
    sheathing: str | None = None
    azimuth: Azimuth = 0.0
    tilt: Tilt = 90.0
    layers: list[ElementEntry] = Field(default_factory=list)
    initial: InitialEntry = InitialEntry()
    outside: OutsideEntry = OutsideEntry()
    inside: InsideEntry = InsideEntry()
    leaks: LeaksEntry = LeaksEntry()
    air_flow: AirFlowRate | None = None
    also: list[Literal["joint", "stud"]] = Field(default_factory=list)


class SettingsEntry(Entry):
    """How the run is computed.

    `accuracy` is the density of the grid. `tolerance` is the error aimed at in a time step, as a
    multiple of the default, which keeps framed walls within about 0.005 K and 1e-4 in RH; smaller
    is slower. `freezing` lets water freeze. `years` from the first hour of `start_month` on are
    run once, or again and again until they repeat themselves: then the last round is recorded, and
    the state at the start no longer counts. As needed: one year is run both ways, once for how the
    wall dries after it is closed, and repeated for its service; more years are run once.
    """

    accuracy: Literal["draft", "normal", "fine"] = "normal"
    tolerance: Annotated[float, Field(ge=1e-6, le=100)] = 1.0
    freezing: bool = True
    years: Annotated[int, Field(ge=1, le=100)] = 1
    start_month: Annotated[int, Field(ge=1, le=12)] | None = None
    repeat: Literal["as needed", "once", "until periodic"] = "as needed"


class CriterionEntry(Entry):
    """Another limit or weight for one criterion; a changed limit should name its `source`."""

    limit: float | None = None
    hard: bool | None = None
    source: str | None = None


class CriteriaEntry(Entry):
    """How the runs are judged: the criteria with changes and your own, and what is left out.

    `rules` names the set of criteria that is taken, and changed where `change` says so. `own` names
    criteria in Python, `"mypackage.mymodule:my_criterion"`: a `Criterion`, or a
    function that takes the record and yields findings. Reading the case runs the module, which may
    stand beside the case file.
    """

    skip_days: Annotated[float, Field(ge=0)] | None = None
    mould_model: Literal["ojanen2010", "hukka1999", "ashrae160e"] = "ojanen2010"
    rules: Literal["default", "ashrae-160", "en-15026", "iso-13788"] = "default"
    own: list[str] = Field(default_factory=list)
    change: dict[str, CriterionEntry] = Field(default_factory=dict)


class CaseFile(Entry):
    """A case: several walls that share climate, rooms and settings."""

    case: CaseEntry
    climate: ClimateEntry
    room: Annotated[dict[str, RoomEntry], Field(min_length=1)]
    wall: Annotated[list[WallEntry], Field(min_length=1)]
    settings: SettingsEntry = SettingsEntry()
    criteria: CriteriaEntry = CriteriaEntry()
    materials: dict[str, dict[str, Any]] = Field(default_factory=dict)
    material_files: list[str] = Field(default_factory=list)
