"""The material and the sheet as plain values. Owns their fields and their plain-data image.

Knows the curve forms only through protocols and the codec; knows no grid, wall or solver.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, field, fields
from typing import Any, ClassVar, Literal, Protocol, TypeAlias, get_args

import numpy as np
from numpy.typing import ArrayLike

from hygro.constants import WATER_DENSITY
from hygro.errors import InputError, near_matches
from hygro.material.codec import decode, encode, read, refuse_unknown
from hygro.material.curves import SUCTION_PER_S, Array, Points, s_of_rh
from hygro.material.liquid import Driving
from hygro.material.vapour import TemperatureLaw

MouldClass: TypeAlias = Literal["very sensitive", "sensitive", "medium resistant", "resistant"]


class Storage(Protocol):
    """Moisture storage."""

    tag: ClassVar[str]

    def water_content(self, s: ArrayLike) -> Array:
        """Water content over s = -ln(rh) ≥ 0; does not rise with s. [kg/m³]"""


class VapourPermeability(Protocol):
    """Vapour permeability of a porous material."""

    tag: ClassVar[str]

    @property
    def temperature_law(self) -> TemperatureLaw:
        """How the value at 20 °C is carried to another temperature."""

    def permeability(self, rh: ArrayLike) -> Array:
        """Permeability at 20 °C. [kg/(m·s·Pa)]"""


class Conductivity(Protocol):
    """Thermal conductivity."""

    tag: ClassVar[str]

    @property
    def temperature_factor(self) -> Points | None:
        """Points (mean temperature [K], factor [-]) or None."""

    def conductivity(self, w: ArrayLike) -> Array:
        """Thermal conductivity at factor 1. [W/(m·K)]"""


class Liquid(Protocol):
    """Liquid transport, in the one form that the source gives."""

    tag: ClassVar[str]
    form: ClassVar[Driving]

    def conductivity(self, w: ArrayLike) -> Array:
        """Liquid conductivity K, driven by suction. [s]"""

    def diffusivity(self, w: ArrayLike) -> Array:
        """Liquid diffusivity D_w, driven by water content. [m²/s]"""


class SheetPermeance(Protocol):
    """Vapour permeance of a sheet."""

    tag: ClassVar[str]

    def permeance(self, rh: ArrayLike) -> Array:
        """Permeance at the mean humidity of the two sides. [kg/(m²·s·Pa)]"""


@dataclass(frozen=True)
class Material:
    """A porous (or tight) layer material.

    Parameters
    ----------
    density, heat_capacity : of the dry material [kg/m³], [J/(kg·K)]
    pore_volume : open pores [m³/m³]; w_max = 1000·pore_volume
    liquid : None where the material is not capillary active
    absorbent : whether the material takes up free water at its surface
    air_permeability : [m²], None where airtight
    sources : property -> source, or "typical value, from memory"
    """

    key: str
    name: str
    group: str
    density: float
    heat_capacity: float
    pore_volume: float
    storage: Storage
    vapour: VapourPermeability
    thermal: Conductivity
    liquid: Liquid | None = None
    wood_based: bool = False
    absorbent: bool = False
    mould_class: MouldClass = "medium resistant"
    air_permeability: float | None = None
    sources: Mapping[str, str] = field(default_factory=dict, hash=False)

    def water_content(self, rh: ArrayLike) -> Array:
        """Water content in equilibrium with rh [-]. [kg/m³]"""
        return self.storage.water_content(s_of_rh(rh))

    def water_content_at_suction(self, p_suc: ArrayLike) -> Array:
        """Water content at a suction [Pa], read with the Kelvin relation at 20 °C. [kg/m³]"""
        return self.storage.water_content(np.asarray(p_suc, dtype=float) / SUCTION_PER_S)

    @property
    def w_free(self) -> float:
        """Water content at rh = 1. [kg/m³]"""
        return float(self.storage.water_content(0.0))

    @property
    def w_max(self) -> float:
        """Water content with all pores filled. [kg/m³]"""
        return WATER_DENSITY * self.pore_volume


@dataclass(frozen=True)
class SheetMaterial:
    """A membrane, paint or facing: vapour resistance without thickness or storage.

    Parameters
    ----------
    thermal_resistance : [m²·K/W], mostly 0
    liquid_tight : whether liquid water is kept from passing
    """

    key: str
    name: str
    group: str
    permeance: SheetPermeance
    thermal_resistance: float = 0.0
    liquid_tight: bool = True
    mould_class: MouldClass = "medium resistant"
    sources: Mapping[str, str] = field(default_factory=dict, hash=False)


AnyMaterial: TypeAlias = Material | SheetMaterial
_CURVES = ("storage", "vapour", "thermal", "liquid", "permeance")


def to_dict(material: AnyMaterial) -> dict[str, Any]:
    """Write a material as plain data, fit for TOML, JSON and `from_dict`."""
    kind = "sheet" if isinstance(material, SheetMaterial) else "material"
    out: dict[str, Any] = {"kind": kind}
    for f in fields(material):
        value = getattr(material, f.name)
        if value is None:
            continue
        if f.name in _CURVES:
            out[f.name] = encode(value)
        else:
            out[f.name] = dict(value) if f.name == "sources" else value
    return out


def from_dict(data: Mapping[str, Any], *, place: str = "material") -> AnyMaterial:
    """Read a material from plain data. Bounds are not checked here but in `check`.

    Raises
    ------
    InputError
        A key is unknown or missing, or a value has the wrong type.
    """
    cls = _class_of(data, place)
    given = {key: value for key, value in data.items() if key != "kind"}
    refuse_unknown(given, [f.name for f in fields(cls)], place)
    values: dict[str, Any] = {}
    for f in fields(cls):
        if f.name in given:
            values[f.name] = _field(f, given[f.name], place, values)
        elif f.default is MISSING and f.default_factory is MISSING:
            raise InputError(f"{place}: needs key '{f.name}'")
    return cls(**values)


def _class_of(data: Mapping[str, Any], place: str) -> Any:
    kind = data.get("kind", "material")
    if kind not in ("material", "sheet"):
        raise InputError(f"{place}, key 'kind' = {kind!r}: must be 'material' or 'sheet'")
    return SheetMaterial if kind == "sheet" else Material


def _field(f: Any, value: Any, place: str, so_far: Mapping[str, Any]) -> Any:
    here = f"{place}, key '{f.name}'"
    if f.name in _CURVES:
        return decode(f.name, value, f"{place}, table '{f.name}'", storage=so_far.get("storage"))
    if f.name == "mould_class" and value not in get_args(MouldClass):
        raise InputError(
            f"{here} = {value!r}: unknown; " + near_matches(str(value), get_args(MouldClass))
        )
    if f.name == "sources":
        return {str(k): read(v, "str", f"{here}, '{k}'") for k, v in dict(value).items()}
    return read(value, str(f.type), here)


def fingerprint(material: AnyMaterial) -> str:
    """Return the sha256 of the plain data in canonical order; equal values, equal fingerprint."""
    text = json.dumps(to_dict(material), sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()
