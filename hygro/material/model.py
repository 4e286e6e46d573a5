"""The material and the sheet as declarations: their fields, bounds and plain-data image.

Knows the curve forms by name; knows no grid, wall or solver. What curves must satisfy together is
in `check`.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Mapping
from functools import cached_property
from pathlib import Path
from typing import Annotated, Literal, TypeAlias

import numpy as np
from numpy.typing import ArrayLike
from pydantic import Discriminator, Field, Tag

from hygro.constants import WATER_DENSITY
from hygro.declare import declared, plain, read_or_refuse, tag, written
from hygro.fields import Flag, Text, within
from hygro.material import liquid, storage, thermal, vapour
from hygro.material.curves import SUCTION_PER_S, Array, s_of_rh

MouldClass: TypeAlias = Literal["very sensitive", "sensitive", "medium resistant", "resistant"]
CorrosionClass: TypeAlias = Literal[
    "C1", "C2", "C3", "C4", "C5", "neutral", "alkaline", "aggressive"
]
Storage: TypeAlias = Annotated[
    storage.TableStorage
    | storage.VanGenuchten
    | storage.VanGenuchtenHead
    | storage.BForm
    | storage.Hansen
    | storage.LinearStorage
    | storage.MoistAir
    | storage.WoodSorption
    | storage.RationalSorption,
    Field(discriminator="form"),
]
"""Moisture storage: water content [kg/m³] over s = -ln(rh)."""
Vapour: TypeAlias = Annotated[
    vapour.ConstantMu
    | vapour.DryWetMu
    | vapour.PermeabilityTable
    | vapour.PermeanceOfThickness
    | vapour.ExponentialPermeability
    | vapour.PowerPermeability
    | vapour.BenchmarkPermeability
    | vapour.ConstantPermeability,
    Field(discriminator="form"),
]
"""Vapour permeability of a porous material at 20 °C. [kg/(m·s·Pa)]"""
Thermal: TypeAlias = Annotated[
    thermal.ConstantConductivity | thermal.LinearConductivity | thermal.ConductivityTable,
    Field(discriminator="form"),
]
"""Thermal conductivity over water content. [W/(m·K)]"""
Liquid: TypeAlias = Annotated[
    liquid.PolynomialConductivity
    | liquid.ConductivityOverWater
    | liquid.ConductivityOverSuction
    | liquid.PowerConductivity
    | liquid.ConstantDiffusivity
    | liquid.AbsorptionDiffusivity
    | liquid.DiffusivityTable,
    Field(discriminator="form"),
]
"""Liquid transport, in the one form that the source gives."""
SheetPermeance: TypeAlias = Annotated[
    vapour.SheetPerm | vapour.SheetConstant | vapour.SheetAirLayer | vapour.SheetPermTable,
    Field(discriminator="form"),
]
"""Vapour permeance of a sheet over mean humidity. [kg/(m²·s·Pa)]"""
Density: TypeAlias = Annotated[
    float, *within(1.0, 9000.0, "kg/m³ of the dry material; is it in g/cm³? multiply by 1000")
]
HeatCapacity: TypeAlias = Annotated[
    float, *within(5.0, 5000.0, "is it in kJ/(kg·K)? multiply by 1000")
]
PoreVolume: TypeAlias = Annotated[float, *within(0.0, 1.0, "is it in percent? divide by 100")]
CriticalSaturation: TypeAlias = Annotated[
    float, *within(0.1, 1.0, "a share of the pore volume; is it in percent? divide by 100")
]
AirPermeability: TypeAlias = Annotated[
    float, *within(1e-18, 1e-6, "m², not m²/(Pa·s); leave it out where airtight")
]
SheetResistance: TypeAlias = Annotated[float, *within(0.0, 2.0, "is it in ft²·h·°F/Btu?")]


NOT_STATED = "not stated"
"""Written where a material leaves a class open."""
HYGROSCOPIC_LIMIT = 0.95
"""Relative humidity up to which water counts as sorbed (ISO 12571 calls this the hygroscopic range;
from memory). [1]"""
IDEALISED = ("benchmark", "idealised")
"""Groups of materials that stand for a printed formula, not for a substance."""


@declared
class Material:
    """A porous (or tight) layer material.

    The bounds of single numbers hold at once; what curves must satisfy together (`check`) is
    checked once, when the material enters a layer, a sheet or a stud. A material whose `group` is
    one of `IDEALISED` is exempt: a benchmark or a closed form may ask for what no substance has.

    Parameters
    ----------
    key : by which a wall names it; in a file the name of its table
    name : for people
    group : sheathing, insulation, cladding, masonry, finish, or your own
    density : of the dry material [kg/m³]
    heat_capacity : of the dry material [J/(kg·K)]
    pore_volume : open pores [m³/m³]; all filled, they hold 1000·pore_volume kg/m³
    storage : moisture storage, water content over relative humidity
    vapour : vapour permeability over relative humidity
    thermal : thermal conductivity over water content
    liquid : liquid transport; left out: not capillary active
    wood_based : whether moisture content by mass is judged as that of wood
    absorbent : whether the material takes up free water at its surface
    mould_class : sensitivity to mould; left out: not stated, judged as sensitive and said so
    corrosion_class : of a metal the highest corrosivity category of ISO 9223 that it bears, C1 to
        C5; of another what it does when damp to metal that touches it; left out: not stated
    s_crit : share of the pores that must be full for frost to do harm; left out: not stated, and
        frost is then not judged [1]
    air_permeability : left out: airtight [m²]
    sources : where each property is from, with a `default` for the others
    """

    kind: Literal["material"] = tag(default="material", kw_only=True)
    key: Text
    name: Text
    group: Text
    density: Density
    heat_capacity: HeatCapacity
    pore_volume: PoreVolume
    storage: Storage
    vapour: Vapour
    thermal: Thermal
    liquid: Liquid | None = None
    wood_based: Flag = False
    absorbent: Flag = False
    mould_class: MouldClass | None = None
    corrosion_class: CorrosionClass | None = None
    s_crit: CriticalSaturation | None = None
    air_permeability: AirPermeability | None = None
    sources: Mapping[Text, Text] = dataclasses.field(default_factory=dict, hash=False)

    def __post_init__(self) -> None:
        """Give curves that are written over water content the storage they belong to."""
        for name in ("vapour", "liquid"):
            curve = getattr(self, name)
            if getattr(curve, "storage", self) is not self:
                linked = dataclasses.replace(curve, storage=self.storage)
                object.__setattr__(self, name, linked)

    def __str__(self) -> str:
        """Its key."""
        return self.key

    @property
    def by_key(self) -> str:
        """Its key where that alone brings it back from the library, else empty."""
        return _by_key(self)

    def __repr__(self) -> str:
        """Say what it is; `hygro materials KEY` and its fields say all."""
        return f"Material({self.key!r}, {self.name!r}, {self.density:g} kg/m³)"

    def water_content(self, rh: ArrayLike) -> Array:
        """Water content in equilibrium with rh [-]. [kg/m³]"""
        return self.storage.water_content(s_of_rh(rh))

    def water_content_at_suction(self, p_suc: ArrayLike) -> Array:
        """Water content at a suction [Pa], read with the Kelvin relation at 20 °C. [kg/m³]"""
        return self.storage.water_content(np.asarray(p_suc, dtype=float) / SUCTION_PER_S)

    @cached_property
    def w_free(self) -> float:
        """Water content at rh = 1. [kg/m³]"""
        return float(self.storage.water_content(0.0))

    @cached_property
    def w_sorbed(self) -> float:
        """Water content at `HYGROSCOPIC_LIMIT`, the most that counts as sorbed. [kg/m³]"""
        return float(self.water_content(HYGROSCOPIC_LIMIT))

    @property
    def w_max(self) -> float:
        """Water content with all pores filled. [kg/m³]"""
        return WATER_DENSITY * self.pore_volume


@declared
class SheetMaterial:
    """A membrane, paint or facing: vapour resistance without thickness or storage.

    Parameters
    ----------
    key : by which a wall names it; in a file the name of its table
    name : for people
    group : membrane, paint, facing, or your own
    permeance : vapour permeance over mean relative humidity
    thermal_resistance : mostly 0 [m²·K/W]
    liquid_tight : whether liquid water is kept from passing
    mould_class : sensitivity to mould; left out: not stated
    sources : where each property is from, with a `default` for the others
    """

    kind: Literal["sheet"] = tag(default="sheet", kw_only=True)
    key: Text
    name: Text
    group: Text
    permeance: SheetPermeance
    thermal_resistance: SheetResistance = 0.0
    liquid_tight: Flag = True
    mould_class: MouldClass | None = None
    sources: Mapping[Text, Text] = dataclasses.field(default_factory=dict, hash=False)

    def __str__(self) -> str:
        """Its key."""
        return self.key

    @property
    def by_key(self) -> str:
        """Its key where that alone brings it back from the library, else empty."""
        return _by_key(self)

    def __repr__(self) -> str:
        """Write it as a call, without where its properties are from."""
        return written(self, ("sources",))


AnyMaterial: TypeAlias = Material | SheetMaterial


def _by_key(item: AnyMaterial) -> str:
    from hygro.material.library import library  # which reads what is declared here

    return item.key if library().get(item.key) == item else ""


def _kind(value: Mapping[str, object] | AnyMaterial) -> str:
    return str(value.get("kind", "material") if isinstance(value, Mapping) else value.kind)


Entry: TypeAlias = Annotated[
    Annotated[Material, Tag("material")] | Annotated[SheetMaterial, Tag("sheet")],
    Discriminator(_kind),
]
"""A material or sheet as a table; `kind = "sheet"` tells a sheet."""


def from_dict(
    data: Mapping[str, object], *, place: str = "material", folder: str | Path = "."
) -> AnyMaterial:
    """Read a material from plain data; raises `RefusedError`. Its curves are checked in `check`.

    `folder` is where the CSV files of measured points are sought.
    """
    found: AnyMaterial = read_or_refuse(Entry, data, place, folder=folder)
    return found


def with_permeance(sheet: SheetMaterial, permeance: float) -> SheetMaterial:
    """Return the sheet with a constant permeance. [kg/(m²·s·Pa)]"""
    sources = {**sheet.sources, "permeance": "given with the wall"}
    value = vapour.SheetConstant(permeance)
    return dataclasses.replace(sheet, permeance=value, sources=sources)


def fingerprint(material: AnyMaterial) -> str:
    """Return the sha256 of the plain data in canonical order; equal values, equal fingerprint."""
    text = json.dumps(plain(material), sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()
