"""Quantities as people write them: text with a unit to SI and back, in both unit families.

Owns every conversion factor between SI and what a person types or reads; a leaf that knows nothing
of walls, files or results. Inside the program all is SI and relative humidity 0-1.

Factors are exact by definition where a definition exists (inch 0.0254 m, pound 0.45359237 kg,
international-table Btu 1055.05585262 J); the US perm is the rounded 57.2 ng/(Pa·s·m²).
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from numbers import Real
from types import MappingProxyType
from typing import Literal, get_args

from hygro.constants import PERM, STILL_AIR_PERMEABILITY, ZERO_CELSIUS
from hygro.errors import InputError, brief, must_be_one_of, near_matches

System = Literal["si", "ip"]

INCH, FOOT, POUND, BTU, HOUR, DAY = 0.0254, 0.3048, 0.45359237, 1055.05585262, 3600.0, 86400.0
RANKINE = 5.0 / 9.0
"""One degree Fahrenheit as a difference. [K]"""
R_IP = RANKINE * FOOT**2 * HOUR / BTU
"""One ft²·h·°F/Btu, 0.1761 m²·K/W. [m²·K/W]"""
GRAIN = POUND / 7000.0


@dataclass(frozen=True)
class Quantity:
    """A kind of quantity: its SI unit, the units accepted, and how it is shown.

    Attributes
    ----------
    si : str
        Unit of the value inside the program; a plain number is taken to be in it.
    factors : mapping
        Value in SI = number times factor, by unit.
    shown : mapping
        Unit and digits after the point, by system.
    """

    name: str
    si: str
    factors: MappingProxyType[str, float]
    shown: MappingProxyType[str, tuple[str, int]]


def _quantity(
    name: str,
    si: str,
    factors: dict[str, float],
    shown_si: tuple[str, int],
    shown_ip: tuple[str, int],
) -> Quantity:
    shown = MappingProxyType({"si": shown_si, "ip": shown_ip})
    return Quantity(name, si, MappingProxyType({si: 1.0, **factors}), shown)


_ALL = (
    _quantity(
        "length",
        "m",
        {"mm": 1e-3, "cm": 1e-2, "um": 1e-6, "in": INCH, "ft": FOOT, "mil": INCH / 1000},
        ("mm", 1),
        ("in", 2),
    ),
    _quantity("temperature", "K", {"degC": 1.0, "degF": 1.0}, ("degC", 1), ("degF", 1)),
    _quantity("temperature difference", "K", {"degC": 1.0, "degF": RANKINE}, ("K", 1), ("degF", 1)),
    _quantity("fraction", "1", {"%": 0.01}, ("%", 1), ("%", 1)),
    _quantity(
        "thermal resistance",
        "m2.K/W",
        {"R": R_IP, "ft2.h.degF/Btu": R_IP, "RSI": 1.0},
        ("m2.K/W", 2),
        ("R", 1),
    ),
    _quantity(
        "thermal transmittance",
        "W/(m2.K)",
        {"Btu/(h.ft2.degF)": 1 / R_IP},
        ("W/(m2.K)", 3),
        ("Btu/(h.ft2.degF)", 4),
    ),
    _quantity(
        "conductivity",
        "W/(m.K)",
        {"Btu.in/(h.ft2.degF)": INCH / R_IP},
        ("W/(m.K)", 4),
        ("Btu.in/(h.ft2.degF)", 3),
    ),
    _quantity("density", "kg/m3", {"lb/ft3": POUND / FOOT**3}, ("kg/m3", 0), ("lb/ft3", 1)),
    _quantity(
        "permeance",
        "kg/(m2.s.Pa)",
        {"perm": PERM, "ng/(Pa.s.m2)": 1e-12, "m sd": STILL_AIR_PERMEABILITY},
        ("ng/(Pa.s.m2)", 1),
        ("perm", 2),
    ),
    _quantity(
        "permeability",
        "kg/(m.s.Pa)",
        {"ng/(m.s.Pa)": 1e-12, "perm.in": PERM * INCH},
        ("ng/(m.s.Pa)", 2),
        ("perm.in", 2),
    ),
    _quantity("liquid conductivity", "s", {}, ("s", 15), ("s", 15)),
    _quantity("liquid diffusivity", "m2/s", {"mm2/s": 1e-6}, ("m2/s", 12), ("m2/s", 12)),
    _quantity(
        "air flow",
        "m3/(s.m2)",
        {"L/(s.m2)": 1e-3, "m3/(h.m2)": 1 / HOUR, "cfm/ft2": FOOT / 60.0},
        ("L/(s.m2)", 3),
        ("cfm/ft2", 4),
    ),
    _quantity(
        "air permeance",
        "m3/(s.m2.Pa^n)",
        {"L/(s.m2.Pa^n)": 1e-3},
        ("L/(s.m2.Pa^n)", 4),
        ("L/(s.m2.Pa^n)", 4),
    ),
    _quantity("air change", "1/h", {"ACH": 1.0, "/h": 1.0}, ("1/h", 1), ("ACH", 1)),
    _quantity(
        "mass per area",
        "kg/m2",
        {"g/m2": 1e-3, "lb/ft2": POUND / FOOT**2, "oz/ft2": POUND / 16 / FOOT**2},
        ("kg/m2", 2),
        ("oz/ft2", 2),
    ),
    _quantity(
        "moisture production",
        "kg/s",
        {
            "kg/h": 1 / HOUR,
            "g/h": 1e-3 / HOUR,
            "kg/day": 1 / DAY,
            "L/day": 1 / DAY,
            "lb/day": POUND / DAY,
        },
        ("kg/day", 1),
        ("lb/day", 1),
    ),
    _quantity(
        "moisture load",
        "kg/m3",
        {"g/m3": 1e-3, "gr/ft3": GRAIN / FOOT**3},
        ("g/m3", 2),
        ("gr/ft3", 2),
    ),
    _quantity("volume", "m3", {"ft3": FOOT**3}, ("m3", 0), ("ft3", 0)),
    _quantity(
        "area per width",
        "m2/m",
        {"cm2/m": 1e-4, "in2/ft": INCH**2 / FOOT},
        ("cm2/m", 0),
        ("in2/ft", 2),
    ),
    _quantity(
        "pressure",
        "Pa",
        {"hPa": 100.0, "kPa": 1e3, "MPa": 1e6, "inwg": 249.089},
        ("Pa", 1),
        ("Pa", 1),
    ),
    _quantity("angle", "deg", {}, ("deg", 0), ("deg", 0)),
    _quantity("time", "h", {"d": 24.0, "day": 24.0, "days": 24.0}, ("h", 0), ("h", 0)),
    _quantity("water sum", "mm", {"in": 25.4}, ("mm", 0), ("in", 1)),
    _quantity(
        "irradiance",
        "W/m2",
        {
            "kWh/(m2.day)": 1000.0 / 24.0,
            "MJ/(m2.day)": 1e6 / DAY,
            "Btu/(ft2.day)": BTU / FOOT**2 / DAY,
        },
        ("W/m2", 0),
        ("Btu/(ft2.day)", 0),
    ),
    _quantity("speed", "m/s", {"km/h": 1 / 3.6, "mph": 0.44704}, ("m/s", 1), ("mph", 1)),
)
QUANTITIES: MappingProxyType[str, Quantity] = MappingProxyType({row.name: row for row in _ALL})
"""Every kind of quantity by name."""

COMPASS: MappingProxyType[str, float] = MappingProxyType(
    {name: 45.0 * i for i, name in enumerate(("N", "NE", "E", "SE", "S", "SW", "W", "NW"))}
)
"""Azimuth by compass point, clockwise from north. [deg]"""

BEFORE: MappingProxyType[str, str] = MappingProxyType({"R": "ft2.h.degF/Btu", "RSI": "m2.K/W"})
"""What is written before its number, "R-20", and the unit that it stands for."""

_FRACTION = re.compile(r"^(?:(\d+)[ -])?(\d+)/(\d+)\s*(.*)$")
_NUMBER = re.compile(r"^([-+]?\d*\.?\d+(?:[eE][-+]?\d+)?)\s*(.*)$")
_NOT_FINITE = re.compile(r"^[-+]?(nan|inf|infinity)\b", re.IGNORECASE)
_PREFIXED = re.compile(r"^(RSI|R)[-\s]?(\d*\.?\d+)$")
_IP = re.compile(r"\b(in2?|ft[23]?|mil|degF|R|Btu|lb|oz|perm|gr|mph|cfm|inwg|ACH)\b")
_SAME = {
    "·": ".", "*": ".", "⋅": ".", "²": "2", "³": "3", "μ": "u", "µ": "u", "^2": "2", "^3": "3",
    "°": "deg",
}  # fmt: skip
_ALIASES = {
    "C": "degC", "F": "degF", "percent": "%", "inch": "in", "inches": "in", '"': "in",
    "perms": "perm",
    "ng/(m2.s.Pa)": "ng/(Pa.s.m2)", "ng/(s.m2.Pa)": "ng/(Pa.s.m2)", "kg/(Pa.s.m2)": "kg/(m2.s.Pa)",
    "kg/(s.m2.Pa)": "kg/(m2.s.Pa)", "l/(s.m2)": "L/(s.m2)", "h-1": "1/h", "kg/d": "kg/day",
    "L/d": "L/day", "degrees": "deg", "K.m2/W": "m2.K/W", "hours": "h", "hour": "h",
    "W/m2K": "W/(m2.K)", "W/mK": "W/(m.K)", "ach": "ACH",
}  # fmt: skip


def parse(value: object, kind: str) -> float:
    """Turn what a person wrote into SI: a plain number, or text such as "5.5 in" or "R-11.25".

    Parameters
    ----------
    value : float or str
        A plain number is in the SI unit of the quantity (relative humidity: 0-1).
    kind : str
        Name of a quantity in `QUANTITIES`.

    Raises
    ------
    InputError
        No number, or an unknown unit.
    """
    quantity = QUANTITIES[kind]
    if isinstance(value, bool) or not isinstance(value, Real | str):
        raise InputError(f"{brief(value)}: must be a number or a text such as {_example(quantity)}")
    if isinstance(value, str):
        return _parse_text(value, quantity)
    return finite(value)


def _parse_text(text: str, quantity: Quantity) -> float:
    clean = text.strip()
    if quantity.name == "angle" and clean.upper() in COMPASS:
        return COMPASS[clean.upper()]
    if quantity.name == "angle" and clean[:1].isalpha():
        raise InputError(f'{brief(text)}: must be one of {", ".join(COMPASS)}, or as "90 deg"')
    number, unit = split(text, _example(quantity))
    unit = unit or quantity.si
    if unit not in quantity.factors:
        raise InputError(_unknown_unit(text, unit, quantity))
    return finite(_to_si(number, unit, quantity), text)


def split(text: str, example: str = '"20 mm"') -> tuple[float, str]:
    """Split a text such as "5.5 in" or "1/2 in" into its number and its unit, empty if none.

    Raises
    ------
    InputError
        The text does not start with a number.
    """
    clean = text.strip()
    if match := _PREFIXED.match(clean):
        return float(match[2]), match[1]
    if (match := _FRACTION.match(clean)) and float(match[3]):
        whole = float(match[1] or 0)
        return whole + float(match[2]) / float(match[3]), _canonical(match[4])
    if match := _NUMBER.match(clean):
        return float(match[1]), _canonical(match[2])
    if _NOT_FINITE.match(clean):
        raise InputError(f"{brief(text)}: must be a finite number")
    raise InputError(f"{brief(text)}: must start with a number, such as {example}")


def same_unit(texts: Sequence[str]) -> tuple[list[float], str]:
    """Split texts that share a unit into their numbers and that unit; a bare 0 fits any.

    Raises
    ------
    InputError
        No number, or units that differ.
    """
    pairs = [split(text) for text in texts]
    units = {unit for number, unit in pairs if unit or number}
    if len(units) > 1:
        told = ", ".join(repr(text) for text in texts)
        raise InputError(f"{told}: write all in the same unit")
    return [number for number, _ in pairs], next(iter(units), "")


def _to_si(number: float, unit: str, quantity: Quantity) -> float:
    if quantity.name == "temperature":
        offset = {"K": 0.0, "degC": ZERO_CELSIUS, "degF": ZERO_CELSIUS - 32.0 * RANKINE}[unit]
        return number * (RANKINE if unit == "degF" else 1.0) + offset
    if unit == "m sd":
        return quantity.factors[unit] / number if number else math.inf
    return number * quantity.factors[unit]


def _canonical(unit: str) -> str:
    for old, new in _SAME.items():
        unit = unit.replace(old, new)
    unit = " ".join(unit.split())
    unit = unit.replace(" / ", "/").replace("deg C", "degC").replace("deg F", "degF")
    return _ALIASES.get(unit, unit)


def finite(value: Real | float, given: object = None) -> float:
    """Return a number as float; raises `InputError` for NaN, infinities and what is too large."""
    try:
        found = float(value)
    except OverflowError:
        found = math.inf
    if not math.isfinite(found):
        raise InputError(f"{brief(given or value)}: must be a finite number")
    return found


def _unknown_unit(text: str, unit: str, quantity: Quantity) -> str:
    if unit.startswith(","):
        return f"{brief(text)}: decimals are written with a point"
    known = near_matches(unit, quantity.factors)
    return f"{brief(text)}: '{unit[:20]}' is not a unit of {quantity.name}; {known}"


def _example(quantity: Quantity) -> str:
    examples = {"temperature": '"21 degC" or "70 degF"', "fraction": '0.35 or "35 %"'}
    examples["angle"] = '"90 deg" or "NE"'
    unit = quantity.shown["si"][0]
    return examples.get(quantity.name, f'"10 {unit}"')


def convert(value: float, kind: str, unit: str) -> float:
    """Express an SI value in a unit of its kind; the inverse of `parse`.

    Parameters
    ----------
    value : float
        In the SI unit of the quantity.
    kind, unit : str
        A name in `QUANTITIES` and one of its units.
    """
    quantity = QUANTITIES[kind]
    if quantity.name == "temperature":
        zero = _to_si(0.0, unit, quantity)
        return (value - zero) / (RANKINE if unit == "degF" else 1.0)
    if unit == "m sd":
        return quantity.factors[unit] / value if value else math.inf
    return value / quantity.factors[unit]


def check_system(system: object) -> None:
    """Refuse what is no unit family; raises `InputError`."""
    must_be_one_of(system, get_args(System), "system")


def show(value: float, kind: str, *, system: System = "si", unit: bool = True) -> str:
    """Write an SI value as people of one unit family read it ("140 mm", "5.5 in", "R-11.3")."""
    shown, digits = QUANTITIES[kind].shown[system]
    number = _inches(convert(value, kind, shown)) if shown == "in" and kind == "length" else ""
    number = number or f"{convert(value, kind, shown):.{digits}f}"
    number = number.rstrip("0").rstrip(".") if kind == "length" and "." in number else number
    return with_unit(number, shown) if unit else number


def _inches(value: float) -> str:
    """Inches as a ruler has them, "5 1/2"; empty where no sixteenth is within 0.005 in."""
    sixteenths = round(16.0 * value)
    if abs(value - sixteenths / 16.0) > 0.005 or sixteenths <= 0:
        return ""
    whole, rest = divmod(sixteenths, 16)
    part = str(Fraction(rest, 16)) if rest else ""
    return " ".join(x for x in (str(whole) if whole else "", part) if x)


def unit_of(kind: str, *, system: System = "si") -> str:
    """Return the unit in which `show` writes a quantity, as printed by itself."""
    return pretty(QUANTITIES[kind].shown[system][0])


def with_unit(number: str, unit: str) -> str:
    """Write a number with its unit as people do: "140 mm", "R-20"; alone where it is bare."""
    if unit in BEFORE:
        return f"{unit}-{number}"
    return number if unit in ("", "1") else f"{number} {pretty(unit)}"


def is_ip(unit: str) -> bool:
    """Whether a unit is one of the inch-pound family."""
    return bool(_IP.search(unit))


def count(number: int, word: str) -> str:
    """Write a number of things: "1 run", "3 runs"."""
    return f"{number} {word}{'' if number == 1 else 's'}"


def pretty(unit: str) -> str:
    """Write a unit by itself with the signs of print: ``m2.K/W`` as m²·K/W, R as ft²·h·°F/Btu."""
    unit = BEFORE.get(unit, unit)
    for plain, printed in (
        ("m2", "m²"),
        ("m3", "m³"),
        ("ft2", "ft²"),
        ("ft3", "ft³"),
        ("in2", "in²"),
    ):
        unit = unit.replace(plain, printed)
    return unit.replace(".", "·").replace("deg", "°") if unit != "deg" else "°"
