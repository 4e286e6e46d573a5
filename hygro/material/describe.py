"""Materials as plain rows for a listing or a data sheet. Owns columns and units; prints nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from types import MappingProxyType
from typing import Literal, NamedTuple, TypeAlias

from hygro.constants import PERM
from hygro.material.library import get, library
from hygro.material.model import NOT_STATED, AnyMaterial, Material, SheetMaterial
from hygro.material.vapour import DRY_CUP_RH, WET_CUP_RH
from hygro.quantities import BTU, FOOT, INCH, POUND, R_IP, RANKINE
from hygro.units import convert, pretty

System: TypeAlias = Literal["si", "ip"]

# kind -> system -> (unit, SI value of one unit)
_UNITS: MappingProxyType[str, dict[System, tuple[str, float]]] = MappingProxyType(
    {
        "density": {"si": ("kg/m³", 1.0), "ip": ("lb/ft³", POUND / FOOT**3)},
        "heat capacity": {"si": ("J/(kg·K)", 1.0), "ip": ("Btu/(lb·°F)", BTU / POUND / RANKINE)},
        "conductivity": {"si": ("W/(m·K)", 1.0), "ip": ("Btu·in/(h·ft²·°F)", INCH / R_IP)},
        "resistance": {"si": ("m²·K/W", 1.0), "ip": ("ft²·h·°F/Btu", R_IP)},
        "permeability": {"si": ("ng/(m·s·Pa)", 1e-12), "ip": ("perm·in", PERM * INCH)},
        "permeance": {"si": ("ng/(m²·s·Pa)", 1e-12), "ip": ("perm", PERM)},
        "fraction": {"si": ("%", 0.01), "ip": ("%", 0.01)},
        "plain": {"si": ("", 1.0), "ip": ("", 1.0)},
        "liquid conductivity": {"si": ("s", 1.0), "ip": ("s", 1.0)},
        "diffusivity": {"si": ("m²/s", 1.0), "ip": ("m²/s", 1.0)},
        "air permeability": {"si": ("m²", 1.0), "ip": ("m²", 1.0)},
    }
)


class Column(NamedTuple):
    """One column of the listing: the key in each row, its heading and its unit."""

    key: str
    heading: str
    unit: str


class Detail(NamedTuple):
    """One line of a data sheet: property, condition it holds at, value, unit and source."""

    property: str
    condition: str
    value: float | str
    unit: str
    source: str


_COLUMNS = (
    ("density", "Density", "density"),
    ("conductivity", "Conductivity at 50 % rh", "conductivity"),
    ("permeability_dry", "Permeability, 25 % rh", "permeability"),
    ("permeability_wet", "Permeability, 75 % rh", "permeability"),
    ("permeance_dry", "Permeance, 25 % rh", "permeance"),
    ("permeance_wet", "Permeance, 75 % rh", "permeance"),
    ("w_80", "Water content at 80 % rh", "density"),
    ("w_free", "Free saturation", "density"),
)


def columns(units: System = "si") -> tuple[Column, ...]:
    """Return the columns of `rows`, in order."""
    text = (("key", "Key"), ("name", "Name"), ("group", "Group"), ("kind", "Kind"))
    numbers = (Column(key, heading, _UNITS[kind][units][0]) for key, heading, kind in _COLUMNS)
    return (*(Column(key, heading, "") for key, heading in text), *numbers)


def rows(
    units: System = "si", *, materials: Iterable[AnyMaterial] | None = None
) -> list[dict[str, float | str | None]]:
    """Return one row per material; None where a property does not apply.

    Parameters
    ----------
    units : {"si", "ip"}
        Unit family of the numbers; `columns` names the units.
    materials : iterable of Material or SheetMaterial
        The shipped library when absent.
    """
    chosen = library().values() if materials is None else materials
    return [_row(material, units) for material in chosen]


def _row(material: AnyMaterial, units: System) -> dict[str, float | str | None]:
    sheet = isinstance(material, SheetMaterial)
    out: dict[str, float | str | None] = {
        "key": material.key,
        "name": material.name,
        "group": material.group,
        "kind": "sheet" if sheet else "layer",
    }
    numbers = _numbers(material)
    for key, _, kind in _COLUMNS:
        out[key] = _in(numbers[key], kind, units) if key in numbers else None
    return out


def _numbers(material: AnyMaterial) -> dict[str, float]:
    if isinstance(material, SheetMaterial):
        dry, wet = material.permeance.permeance([DRY_CUP_RH, WET_CUP_RH])
        return {"permeance_dry": float(dry), "permeance_wet": float(wet)}
    dry, wet = material.vapour.permeability([DRY_CUP_RH, WET_CUP_RH])
    return {
        "density": material.density,
        "conductivity": float(material.thermal.conductivity(material.water_content(0.5))),
        "permeability_dry": float(dry),
        "permeability_wet": float(wet),
        "w_80": float(material.water_content(0.8)),
        "w_free": material.w_free,
    }


def _in(value: float, kind: str, units: System) -> float:
    return value / _UNITS[kind][units][1]


def details(
    key: str | AnyMaterial, units: System = "si", *, source_unknown: str = "not stated"
) -> list[Detail]:
    """Return the data sheet of one material: each property with unit and source.

    Parameters
    ----------
    key : str or Material or SheetMaterial
        A key of the library, or a material of the user's own.
    units : {"si", "ip"}
        Unit family.
    source_unknown : str
        What to say where the data name no source.

    Raises
    ------
    InputError
        The key is unknown.
    """
    material = get(key) if isinstance(key, str) else key
    lines = _sheet(material) if isinstance(material, SheetMaterial) else _layer(material, units)
    default = material.sources.get("default", source_unknown)
    found = []
    for prop, condition, value, kind in lines:
        if value == NOT_STATED:
            found.append(Detail(prop, condition, NOT_STATED, "", NO_VALUE))
            continue
        number = value if isinstance(value, str) else _in(value, kind, units)
        source = _for_people(material.sources.get(prop, default))
        found.append(Detail(prop, condition, number, _UNITS[kind][units][0], source))
    return found


NO_VALUE = "no value is known that holds for more than one product"
"""What stands for the source of a property that is not stated."""


def _for_people(source: str) -> str:
    """Words of the data on how surely a value is known, as a reader of the sheet meets them."""
    typical = "typical value, not checked against a document"
    plain = source.replace("typical value, from memory", typical)
    return plain.replace("from memory", "not checked against the document")


_Line: TypeAlias = tuple[str, str, float | str, str]


def _sheet(m: SheetMaterial) -> Iterator[_Line]:
    for rh in (0.25, 0.5, 0.75, 0.95):
        yield "permeance", f"{rh:.0%} rh", float(m.permeance.permeance(rh)), "permeance"
    yield "thermal_resistance", "", m.thermal_resistance, "resistance"
    yield "liquid_tight", "", _yes(m.liquid_tight), "plain"
    yield "mould_class", "", m.mould_class or NOT_STATED, "plain"


def _layer(m: Material, units: System) -> Iterator[_Line]:
    yield "density", "dry", m.density, "density"
    yield "heat_capacity", "dry", m.heat_capacity, "heat capacity"
    yield "pore_volume", "", m.pore_volume, "fraction"
    for rh in (0.2, 0.5, 0.65, 0.8, 0.9, 0.95, 1.0):
        yield "storage", f"{rh:.0%} rh", float(m.water_content(rh)), "density"
    for rh in (0.25, 0.5, 0.75, 0.9):
        yield "vapour", f"{rh:.0%} rh", float(m.vapour.permeability(rh)), "permeability"
    yield "vapour", "with temperature", m.vapour.temperature_law, "plain"
    yield from _heat(m, units)
    yield from _water(m)
    yield "wood_based", "", _yes(m.wood_based), "plain"
    yield "absorbent", "", _yes(m.absorbent), "plain"
    yield "mould_class", "", m.mould_class or NOT_STATED, "plain"
    yield "corrosion_class", "", m.corrosion_class or NOT_STATED, "plain"
    yield "s_crit", "", NOT_STATED if m.s_crit is None else m.s_crit, "fraction"
    if m.air_permeability is not None:
        yield "air_permeability", "", m.air_permeability, "air permeability"


def _heat(m: Material, units: System) -> Iterator[_Line]:
    states = (("dry", 0.0), ("80% rh", float(m.water_content(0.8))), ("free saturation", m.w_free))
    for name, w in states:
        yield "thermal", name, float(m.thermal.conductivity(w)), "conductivity"
    for temperature, factor in m.thermal.temperature_factor or ():
        yield "thermal", f"factor at {_degrees(temperature, units)}", factor, "plain"


def _degrees(temperature: float, units: System) -> str:
    """A temperature in whole degrees. [K]"""
    unit = "degF" if units == "ip" else "degC"
    return f"{convert(temperature, 'temperature', unit):.0f} {pretty(unit)}"


def _water(m: Material) -> Iterator[_Line]:
    if m.liquid is None:
        yield "liquid", "", "not capillary active", "plain"
        return
    for share in (0.25, 0.5, 1.0):
        w, name = share * m.w_free, f"{share:.0%} of free saturation"
        if m.liquid.driving == "conductivity":
            yield "liquid", name, float(m.liquid.conductivity(w)), "liquid conductivity"
        else:
            yield "liquid", name, float(m.liquid.diffusivity(w)), "diffusivity"


def _yes(flag: bool) -> str:
    return "yes" if flag else "no"
