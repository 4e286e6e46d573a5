"""What a wall is made of, outside to inside: layers, sheets and gaps. Owns the declarations."""

from __future__ import annotations

from dataclasses import InitVar
from typing import Annotated, Literal

from pydantic import Discriminator, Field, Tag

from hygro.declare import declared, set_once, written
from hygro.errors import InputError
from hygro.fields import (
    ONE,
    AirChange,
    Area,
    Content,
    Flag,
    Fraction,
    GapDepth,
    GapEmissivity,
    Humidity,
    Length,
    MassPerArea,
    Name,
    Permeance,
    Resistance,
    Temperature,
    Text,
    Thickness,
    Transmittance,
    counted,
    within,
)
from hygro.material import Material, SheetMaterial, library, with_permeance
from hygro.paths import ELEMENT_KEYS
from hygro.problems import one_key, refuse
from hygro.spelling import spelled
from hygro.wall.interruptions import Attachment, Framing, Joints
from hygro.wall.layer_material import LayerMaterial, Sheet

Face = Literal["outer", "inner"]
THICKEST = 1.5
"""A thicker layer is taken for a slip of units unless it says `thick`. [m]"""
DECLARED_RH = 0.5
"""Humidity at which the thickness for a wanted R is computed; common practice, no source. [1]"""
UNPROTECTED_FACTOR = 2.0
"""Unprotected construction holds twice the water of 80 % RH, ASHRAE 160 (as quoted in papers that
apply it: about 24 % by mass in timber). [1]"""
PROTECTED_RH = 0.80
"""Equilibrium of layers kept dry on site, ASHRAE 160 (as quoted in papers that apply it). [1]"""


@declared
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
        Start temperature of the layer; left out: linear between the two climates at the start. [K]
    unprotected : bool
        Twice the water of 80 % RH (ASHRAE 160), never more than full pores hold. A material that
        holds next to no water at 80 % RH (wool, foam) gets next to none.
    """

    rh: Humidity = PROTECTED_RH
    moisture_content: Content | None = None
    temperature: Temperature | None = None
    unprotected: Flag = False

    def __post_init__(self) -> None:
        """Refuse a dry start, which has no suction, and two moisture contents."""
        if self.rh == 0.0:
            refuse("rh", "0: must be above 0; bone-dry material has no finite suction")
        if self.unprotected and self.moisture_content is not None:
            raise InputError(
                f"{spelled('unprotected', True)} and "
                f"{spelled('moisture_content', self.moisture_content)}: one of them"
            )

    def content(self, material: Material) -> float | None:
        """Water per dry mass in a material; None where `rh` says it. [kg/kg]"""
        if not self.unprotected:
            return self.moisture_content
        water = UNPROTECTED_FACTOR * float(material.water_content(PROTECTED_RH))
        return min(water, material.w_max) / material.density


@declared
class Openings:
    """Ventilation openings of a gap, from which its air change is computed each hour.

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
    friction : bool
        The friction of the channel counts too: the air change is then computed before the run from
        the weather alone (`gap_flow`), without it from the state of the gap in the run.
    blocked : float
        With `friction`: share of the channel that battens take. [1]
    """

    area: Area
    height: Length
    discharge: Annotated[Fraction, Field(gt=0)] = 0.61
    wind_coefficient: Annotated[float, *within(0.0, 2.0)] = 0.1
    friction: Flag = False
    blocked: Annotated[Fraction, Field(lt=1)] = 0.0

    def __post_init__(self) -> None:
        """Refuse battens that would change nothing."""
        if self.blocked and not self.friction:
            refuse(
                "blocked",
                f"{self.blocked:g}: goes with {spelled('friction', True)}, and only there",
            )


@declared
class Washing:
    """Outdoor air that wind drives through the outer part of permeable insulation.

    Parameters
    ----------
    depth : float
        Part of the insulation that is washed. [m]
    permeability : float, optional
        Air permeability of the insulation along the wall; left out: that of the material. [m²]
    length : float
        Path length of the air along the wall; 1 m: common practice, no source. [m]
    wind_coefficient : float
        Difference of wind pressure coefficient over `length`; 0.2: common practice, no source. [1]
    """

    depth: Length
    permeability: (
        Annotated[float, *within(1e-18, 1e-6, "m²; is the material open to air?")] | None
    ) = None
    length: Length = 1.0
    wind_coefficient: Annotated[float, *within(0.0, 4.0)] = 0.2


@declared
class Layer:
    """A homogeneous layer with storage: a material with a thickness or with a resistance.

    Parameters
    ----------
    material : Material or str
        A material, or its key in the library or the case.
    thickness : float
        Thickness. [m]
    name : str
        Left out: the key of the material, numbered where a wall has it more than once.
    initial : Initial, optional
        State at the start; left out: that of the wall.
    capillary_contact : bool
        False breaks the liquid path across the inner face of the layer.
    joints : Joints, optional
        Between its boards. Joints, attachments and framing do not change the run.
    attachments : list of Attachment
        Metal through it.
    framing : Framing, optional
        Studs in it.
    wind_washing : Washing, optional
        Outdoor air through its outer part, which does change the run: the wall splits the layer.
    film : float
        Water beyond sorption that each face of a layer without liquid transport holds as condensate
        or thaw water, and fifty times as much per metre between; the rest runs off when it is not
        frozen. [kg/m²] 0.1: our choice, as at the faces of a gap; 100: nothing runs off.
    thick : bool
        Says that a layer thicker than 1.5 m is meant.
    resistance : float
        Instead of a thickness: R as rated, for which the thickness is computed: at 50 % RH, and
        at the temperature of the rating, 24 °C for most. U and the R of tables are at 10 °C.
        [m²·K/W]
    """

    material: LayerMaterial
    thickness: Thickness = 0.0
    name: Text = ""
    initial: Initial | None = None
    capillary_contact: Flag = True
    joints: Joints | None = None
    attachments: Annotated[tuple[Attachment, ...], ONE] = ()
    framing: Framing | None = None
    wind_washing: Washing | None = None
    film: MassPerArea = 0.1
    thick: Flag = False
    resistance: InitVar[Resistance | None] = None

    def __post_init__(self, resistance: float | None) -> None:
        """Settle thickness and name; refuse both, neither, and slips of units."""
        one_key(thickness=bool(self.thickness), resistance=resistance is not None)
        if resistance is not None:
            set_once(self, "thickness", resistance * declared_conductivity(self.material))
        set_once(self, "name", self.name or self.material.key)
        given, most = self.thickness, 100.0 if self.thick else THICKEST
        if given > most:
            meant = spelled("thick", True)
            hint = f' unless the layer says {meant}; is it in mm? write "{given:g} mm"'
            refuse(
                "thickness", f"{given:g} m: must be at most {most:g} m{'' if self.thick else hint}"
            )


@declared
class Membrane:
    """A sheet at an interface (or on a surface: paint, wallpaper): resistance without storage.

    Parameters
    ----------
    material : SheetMaterial or str
        A sheet, or its key in the library or the case.
    name : str
        Left out: the key of the sheet, numbered where a wall has it more than once.
    permeance : float
        Replaces that of the sheet. [kg/(m²·s·Pa)]
    """

    material: Annotated[Sheet, Field(alias="membrane")]
    name: Text = ""
    permeance: InitVar[Permeance | None] = None

    def __post_init__(self, permeance: float | None) -> None:
        """Settle name and permeance."""
        set_once(self, "name", self.name or self.material.key)
        if permeance is not None:
            set_once(self, "material", with_permeance(self.material, permeance))

    def __repr__(self) -> str:
        """Write the sheet by its key, and what it has of its own."""
        sheet = self.material
        known = library.library().get(sheet.key)
        if known == sheet:
            return written(self)
        own = getattr(sheet.permeance, "value", None)
        if isinstance(known, SheetMaterial) and own and with_permeance(known, own) == sheet:
            return f"{written(self).removesuffix(')')}, permeance={own:.10g})"
        return f"Membrane(material={sheet!r}, name={self.name!r})"


def _change_kind(value: object) -> str:
    if isinstance(value, list | tuple):
        return "series"
    if isinstance(value, Washing) or (isinstance(value, dict) and "depth" in value):
        return "washing"
    return "openings" if isinstance(value, dict | Openings) else "one"


AirChanges = Annotated[
    Annotated[AirChange, Tag("one")]
    | Annotated[tuple[AirChange, ...], counted(12), Tag("series")]
    | Annotated[Openings, Tag("openings")]
    | Annotated[Washing, Tag("washing")],
    Discriminator(_change_kind),
]


@declared
class Gap:
    """An air gap, possibly exchanging air with outdoors.

    Parameters
    ----------
    name : str
        Its name; the key that says that an element of a wall is a gap.
    depth : float
        Depth. [m]
    air_change : float, list, Openings or Washing
        One number, twelve monthly numbers, an hourly series [1/h], or the openings from which it
        follows. `Washing` belongs to the plane that a wall puts into a layer with `wind_washing`.
    emissivity_outer, emissivity_inner : float
        Longwave, of the two faces. [1]
    convection : float, optional
        Between air and each face; left out: twice max(1.25, 0.025/depth) (ISO 6946). [W/(m²·K)]
    film : float
        Water that a face of the gap holds before it drains. [kg/m²] 0.1: common practice,
        no source.
    """

    name: Annotated[Name, Field(alias="gap")]
    depth: GapDepth
    air_change: AirChanges = 0.0
    emissivity_outer: GapEmissivity = 0.9
    emissivity_inner: GapEmissivity = 0.9
    convection: Transmittance | None = None
    film: MassPerArea = 0.1


def _element_kind(value: object) -> str | None:
    if isinstance(value, dict):
        found = [key for key in ELEMENT_KEYS if key in value]
        return found[0] if len(found) == 1 else None
    return {Layer: "material", Membrane: "membrane", Gap: "gap"}.get(type(value))


Element = Annotated[
    Annotated[Layer, Tag("material")]
    | Annotated[Membrane, Tag("membrane")]
    | Annotated[Gap, Tag("gap")],
    Discriminator(_element_kind),
]


def declared_conductivity(material: Material) -> float:
    """Conductivity at 50 % RH and the temperature of the rating, at which its factor is 1.

    [W/(m·K)]
    """
    return float(material.thermal.conductivity(material.water_content(DECLARED_RH)))
