"""Quantities as people write them: text with a unit to SI and back, in both unit families.

Inside the program all is SI and relative humidity 0-1; the factors are in `quantities`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from fractions import Fraction
from numbers import Real
from typing import Literal, get_args

from hygro.constants import ZERO_CELSIUS
from hygro.errors import InputError, brief, must_be_one_of, near_matches
from hygro.quantities import BEFORE, COMPASS, QUANTITIES, RANKINE, Quantity

System = Literal["si", "ip"]

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
