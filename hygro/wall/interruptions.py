"""What interrupts a layer: board joints, metal through it, framing. Owns the declarations.

The one-dimensional run goes through the undisturbed layer; what these values do to it is computed
in `joints`, `attachments` and, hour by hour, in `hygro.assess.metal`.
"""

from __future__ import annotations

import math
from typing import Annotated, Literal

from hygro.declare import declared
from hygro.errors import InputError
from hygro.fields import (
    Conductance,
    Conductivity,
    Flag,
    Fraction,
    Length,
    Name,
    Shrinkage,
    Thin,
    Width,
    within,
)
from hygro.problems import one_key, refuse, together
from hygro.spelling import spelled
from hygro.wall.layer_material import LayerMaterial

Fill = Literal["air", "filled", "outdoor_air"]
Corrosivity = Literal["C1", "C2", "C3", "C4", "C5"]
"""Corrosivity categories of ISO 9223."""


@declared
class Joints:
    """Joints between the boards of an insulation layer.

    Parameters
    ----------
    width : float
        As built. [m]
    spacing : float
        Between parallel joints, the board width. [m] 1.22 (4 ft): common practice.
    length : float, optional
        Between the joints across them, the board length; left out: none across. [m]
    fill : {"air", "filled", "outdoor_air"}
        A closed air slot, a slot filled with `fill_conductivity`, or a slot open to outdoor air.
    fill_conductivity : float, optional
        Of the filler. [W/(m·K)]
    layers : 1 or 2
        Boards in one layer, or in two of half the thickness.
    staggered : bool
        Whether the joints of two layers are offset.
    shrinkage : float
        Linear shrinkage of the boards, which opens every joint by shrinkage times spacing; a
        what-if. [1]
    """

    width: Width
    spacing: Length = 1.22
    length: Length | None = None
    fill: Fill = "air"
    fill_conductivity: Conductivity | None = None
    layers: Literal[1, 2] = 1
    staggered: Flag = True
    shrinkage: Shrinkage = 0.0

    def __post_init__(self) -> None:
        """Refuse values that contradict each other."""
        if not self.opened < 0.5 * self.spacing:
            refuse(
                "width",
                f"{self.width:g} m (opened {self.opened:g} m): must be 0 to half of the spacing "
                f"{self.spacing:g} m; is it in mm?",
            )
        given, wanted = self.fill_conductivity, self.fill == "filled"
        together("fill_conductivity", spelled("fill", "filled"), given=given, wanted=wanted)

    @property
    def opened(self) -> float:
        """Width after shrinkage. [m]"""
        return self.width + self.shrinkage * self.spacing


@declared
class Attachment:
    """Metal that crosses a layer: screws and clips on a grid ("point"), girts ("line").

    Parameters
    ----------
    name : str
        For reports.
    spacing : float
        Between points along a row, or between lines. [m]
    diameter : float
        Of a point's shank. [m]
    kind : {"point", "line"}
        A point has `diameter`, a line has `thickness`.
    row_spacing : float, optional
        Between the rows of points; left out: as `spacing`. [m]
    thickness : float
        Of a line's web. [m]
    conductivity : float
        Of the metal: carbon steel about 50, stainless 15, aluminium 160 (handbook values, from
        memory). [W/(m·K)]
    transmittance : float, optional
        Point χ [W/K] or linear ψ [W/(m·K)] transmittance from a test or a 3-D calculation. Left
        out: parallel path, an upper bound.
    outer_conductance, inner_conductance : float, optional
        From the ends of a shank to the undisturbed planes there. [W/K] Left out: outer end at the
        temperature of its plane (cold side of the truth); inner end embedded in the next layer.
    corrosion_class : str, optional
        Highest corrosivity category of ISO 9223, "C1" to "C5", that the metal with its coating
        bears; left out: not known, and corrosion of it is told but not judged.
    """

    name: Name
    spacing: Length
    diameter: Thin = 0.0
    kind: Literal["point", "line"] = "point"
    row_spacing: Length | None = None
    thickness: Thin = 0.0
    conductivity: Conductivity = 50.0
    transmittance: Annotated[float, *within(0.0, 10.0)] | None = None
    outer_conductance: Conductance | None = None
    inner_conductance: Conductance | None = None
    corrosion_class: Corrosivity | None = None

    def __post_init__(self) -> None:
        """Refuse keys of the other kind, and more metal than wall."""
        point, line = (self.kind == kind for kind in ("point", "line"))
        together("diameter", spelled("kind", "point"), given=self.diameter, wanted=point)
        together("thickness", spelled("kind", "line"), given=self.thickness, wanted=line)
        if line:
            together("row_spacing", spelled("kind", "point"), given=self.row_spacing, wanted=False)
        if not self.share < 0.2:
            raise InputError(
                f"metal is {self.share:g} of the wall area: must be below 0.2; is the size in mm?"
            )

    @property
    def density(self) -> float:
        """Number [1/m²] or, for lines, length [m/m²] per wall area."""
        if self.kind == "line":
            return 1.0 / self.spacing
        return 1.0 / (self.spacing * (self.row_spacing or self.spacing))

    @property
    def area(self) -> float:
        """Cross-section of one [m²] or, for lines, thickness of the web [m]."""
        return self.thickness or 0.25 * math.pi * self.diameter**2

    @property
    def share(self) -> float:
        """Share of the wall area that is metal. [1]"""
        return self.density * self.area


@declared
class Framing:
    """Studs in an insulated layer: of a `material` (wood) or of a `conductivity` across (steel).

    Parameters
    ----------
    fraction : float
        Share of the wall area that is framing: 0.25 at 16 in, 0.22 at 24 in (ASHRAE 90.1 appendix
        A, from memory). [1]
    material : Material, optional
        Of the studs, such as softwood.
    conductivity : float, optional
        Equivalent conductivity across a steel stud instead of a material; see
        `attachments.steel_equivalent`. [W/(m·K)]
    corrosion_class : str, optional
        Of steel studs with their coating, as for an attachment.
    """

    fraction: Fraction
    material: LayerMaterial | None = None
    conductivity: Conductivity | None = None
    corrosion_class: Corrosivity | None = None

    def __post_init__(self) -> None:
        """Refuse no framing, nothing but framing, and both or none of the two ways to give it."""
        if not 0.0 < self.fraction < 1.0:
            refuse("fraction", f"{self.fraction:g}: must be above 0 and below 1")
        one_key(material=self.material is not None, conductivity=self.conductivity is not None)
        steel = self.conductivity is not None
        if self.corrosion_class is not None:
            together("corrosion_class", "conductivity", given=self.corrosion_class, wanted=steel)
