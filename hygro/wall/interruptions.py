"""What interrupts a layer: board joints, metal through it, framing. Owns the values, no formula.

Sizes in m, conductivities in W/(m·K). The one-dimensional run goes through the undisturbed layer;
what these values do to it is computed in `joints`, `attachments` and, hour by hour, in
`hygro.assess.metal`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from hygro.errors import InputError
from hygro.material import Material

Fill = Literal["air", "filled", "outdoor_air"]


@dataclass(frozen=True)
class Joints:
    """Joints between the boards of an insulation layer.

    Parameters
    ----------
    width : float
        As built. [m]
    spacing : float
        Between parallel joints, the board width. [m] 1.22 (4 ft): common practice.
    length : float, optional
        Between the joints across them, the board length; None: none across. [m]
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

    width: float
    spacing: float = 1.22
    length: float | None = None
    fill: Fill = "air"
    fill_conductivity: float | None = None
    layers: Literal[1, 2] = 1
    staggered: bool = True
    shrinkage: float = 0.0

    def __post_init__(self) -> None:
        if not 0.0 <= self.shrinkage <= 0.1:
            raise InputError(f"joints: shrinkage = {self.shrinkage:g}: must be 0-0.1; in percent?")
        if not (self.width >= 0.0 and self.opened < 0.5 * self.spacing):
            raise InputError(
                f"joints: width = {self.width:g} m (opened {self.opened:g} m): must be 0 to half "
                f"of the spacing {self.spacing:g} m; is it in mm?"
            )
        if self.layers not in (1, 2):
            raise InputError(f"joints: layers = {self.layers}: must be 1 or 2")
        if (self.fill == "filled") != (self.fill_conductivity is not None):
            raise InputError("joints: fill_conductivity goes with fill = 'filled', and only there")

    @property
    def opened(self) -> float:
        """Width after shrinkage. [m]"""
        return self.width + self.shrinkage * self.spacing


@dataclass(frozen=True)
class Attachment:
    """Metal that crosses a layer: screws, clips ("point"), or girts ("line").

    Parameters
    ----------
    name : str
        For reports.
    density : float
        Number [1/m²] or, for lines, length [m/m²] per wall area.
    area : float
        Cross-section of one [m²] or, for lines, thickness of the web [m].
    conductivity : float
        Of the metal: carbon steel about 50, stainless 15, aluminium 160 (handbook values, from
        memory). [W/(m·K)]
    kind : {"point", "line"}
        What `density` counts.
    transmittance : float, optional
        Point χ [W/K] or linear ψ [W/(m·K)] transmittance from a test or a 3-D calculation. None:
        parallel path, an upper bound.
    outer_conductance, inner_conductance : float, optional
        From the ends of a shank to the undisturbed planes there. [W/K] None: outer end at the
        temperature of its plane (cold side of the truth); inner end embedded in the next layer.
    """

    name: str
    density: float
    area: float
    conductivity: float = 50.0
    kind: Literal["point", "line"] = "point"
    transmittance: float | None = None
    outer_conductance: float | None = None
    inner_conductance: float | None = None

    def __post_init__(self) -> None:
        for key in ("density", "area", "conductivity"):
            value = getattr(self, key)
            if not (np.isfinite(value) and value > 0.0):
                raise InputError(f"attachment '{self.name}': {key} = {value:g}: must be above 0")
        if not self.share < 0.2:
            raise InputError(
                f"attachment '{self.name}': density times area = {self.share:g}: must be below 0.2 "
                "of the wall; is the area in mm²?"
            )

    @property
    def share(self) -> float:
        """Share of the wall area that is metal. [1]"""
        return self.density * self.area

    @property
    def diameter(self) -> float:
        """Of a round shank of this cross-section. [m]"""
        return float(np.sqrt(4.0 * self.area / np.pi))


@dataclass(frozen=True)
class Framing:
    """Studs in an insulated layer.

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
    """

    fraction: float
    material: Material | None = None
    conductivity: float | None = None

    def __post_init__(self) -> None:
        if not 0.0 < self.fraction < 1.0:
            raise InputError(f"framing: fraction = {self.fraction:g}: must be 0-1; in percent?")
        if (self.material is None) == (self.conductivity is None):
            raise InputError("framing: give material (wood) or conductivity (steel), one of them")
        if self.conductivity is not None and not self.conductivity > 0.0:
            raise InputError(f"framing: conductivity = {self.conductivity:g}: must be above 0")
