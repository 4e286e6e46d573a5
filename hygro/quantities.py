"""Kinds of quantities: their SI units, the units that people may write, how they are shown.

Owns every conversion factor between SI and what a person types or reads; a leaf that knows nothing
of walls, files or results.

Factors are exact by definition where a definition exists (inch 0.0254 m, pound 0.45359237 kg,
international-table Btu 1055.05585262 J); the US perm is the rounded 57.2 ng/(Pa·s·m²).
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

from hygro.constants import PERM, STILL_AIR_PERMEABILITY

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
