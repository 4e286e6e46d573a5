"""Tables on a layer of the case file: joints, metal, studs, wind washing. Owns keys and bounds."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from hygro.case.fields import Entry, Fraction, Length, quantity

JointWidth = Annotated[
    float,
    *quantity("length", 0.0, 0.1, cause='is it in mm? write "3 mm"', says="Width of a joint"),
]
Thin = Annotated[
    float,
    *quantity("length", 1e-4, 0.1, cause='is it in mm? write "5 mm"', says="Size of metal"),
]
Conducting = Annotated[float, *quantity("conductivity", 1e-3, 500.0)]


class JointsEntry(Entry):
    """Joints between insulation boards; `layers = 2` are two layers of half the thickness."""

    width: JointWidth
    spacing: Length = 1.22
    length: Length | None = None
    fill: Literal["air", "filled", "outdoor_air"] = "air"
    fill_conductivity: Conducting | None = None
    layers: Literal[1, 2] = 1
    staggered: bool = True
    shrinkage: Fraction = 0.0


class AttachmentEntry(Entry):
    """Metal through a layer: screws and clips on a grid ("point"), girts ("line").

    Points: `spacing` by `row_spacing` (default: the same) and `diameter`; lines: `spacing` and
    `thickness` of the web. `transmittance` in W/K (points) or W/(m.K) (lines).
    """

    name: str
    kind: Literal["point", "line"] = "point"
    spacing: Length
    row_spacing: Length | None = None
    diameter: Thin | None = None
    thickness: Thin | None = None
    conductivity: Conducting = 50.0
    transmittance: Annotated[float, Field(ge=0, le=10)] | None = None
    outer_conductance: Annotated[float, Field(ge=0, le=100)] | None = None
    inner_conductance: Annotated[float, Field(ge=0, le=100)] | None = None


class FramingEntry(Entry):
    """Studs in a layer: `material` (wood) or `conductivity` across them (steel)."""

    fraction: Fraction
    material: str | None = None
    conductivity: Conducting | None = None


class WashingEntry(Entry):
    """Outdoor air that wind drives through the outer `depth` of permeable insulation.

    `permeability` in m2; without it that of the material.
    """

    depth: Length
    permeability: Annotated[float, Field(gt=0, le=1e-6)] | None = None
    length: Length = 1.0
    wind_coefficient: Annotated[float, Field(ge=0, le=4)] = 0.2
