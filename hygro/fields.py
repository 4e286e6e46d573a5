"""Fields of declarations: numbers with units, bounds and likely causes. Owns the annotated types.

A field accepts a plain number in SI or a text with a unit, and answers a value outside its bounds
with the value, the bound and the likely cause.
"""

from __future__ import annotations

import math
from numbers import Real
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Strict, StringConstraints, WithJsonSchema

from hygro.errors import InputError
from hygro.units import QUANTITIES, parse

Flag = Annotated[bool, Strict()]
Count = Annotated[int, Strict()]
Text = Annotated[str, Strict()]
Name = Annotated[str, Strict(), StringConstraints(min_length=1, strip_whitespace=True)]


def number(value: Any) -> float:
    """Return a finite plain number; raises `InputError` for text, flags, NaN and infinities."""
    if isinstance(value, bool) or not isinstance(value, Real):
        raise InputError(f"{value!r}: must be a number")
    if not math.isfinite(value):
        raise InputError(f"{value!r}: must be a finite number")
    return float(value)


Number = Annotated[float, BeforeValidator(number), WithJsonSchema({"type": "number"})]


def counted(low: int, high: int | None = None) -> AfterValidator:
    """Return the check of how many items a list or table has, both bounds included."""
    words = str(low) if high == low else f"at least {low}" if high is None else f"{low} to {high}"

    def checked(value: Any) -> Any:
        if len(value) < low or (high is not None and len(value) > high):
            raise InputError(f"has {len(value)} items: must have {words}")
        return value

    return AfterValidator(checked)


def within(low: float, high: float, cause: str = "") -> tuple[BeforeValidator, WithJsonSchema]:
    """Return validator and schema of a plain number without a unit, both bounds included."""

    def checked(value: Any) -> float:
        found = number(value)
        if not low <= found <= high:
            raise InputError(
                f"{found:g}: must be {low:g} to {high:g}" + (f"; {cause}" if cause else "")
            )
        return found

    schema = {"type": "number", "minimum": low, "maximum": high}
    return BeforeValidator(checked), WithJsonSchema(schema)


def above(low: float, cause: str = "") -> tuple[BeforeValidator, WithJsonSchema]:
    """Return validator and schema of a plain number above a bound."""

    def checked(value: Any) -> float:
        found = number(value)
        if not found > low:
            raise InputError(f"{found:g}: must be above {low:g}" + (f"; {cause}" if cause else ""))
        return found

    return BeforeValidator(checked), WithJsonSchema({"type": "number", "exclusiveMinimum": low})


def quantity(
    kind: str, low: float, high: float, *, cause: str = "", says: str = ""
) -> tuple[BeforeValidator, WithJsonSchema]:
    """Return the validator and the schema of one quantity.

    Parameters
    ----------
    kind : str
        A name in `hygro.units.QUANTITIES`.
    low, high : float
        Bounds in the SI unit of the quantity, both included.
    cause : str
        Likely cause of a value outside, said after the bound.
    says : str
        Description for the schema.
    """

    def checked(value: Any) -> float:
        return read(value, kind, low, high, cause)

    return BeforeValidator(checked), WithJsonSchema(schema(kind, low, high, says))


def read(value: Any, kind: str, low: float, high: float, cause: str = "") -> float:
    """Return the SI value of what was written; raises `InputError` outside the bounds."""
    number = parse(value, kind)
    if not low <= number <= high:
        unit = "" if QUANTITIES[kind].si == "1" else " " + QUANTITIES[kind].si
        given = f'"{value}"' if isinstance(value, str) else f"{value:g}"
        raise InputError(
            f"{given}: must be {low:g} to {high:g}{unit}" + (f"; {cause}" if cause else "")
        )
    return number


def schema(kind: str, low: float, high: float, says: str = "") -> dict[str, Any]:
    """Return the JSON schema of a quantity, with its bounds and units."""
    row = QUANTITIES[kind]
    text = f"{says or kind.capitalize()}: text with a unit ({', '.join(row.factors)})"
    options = [{"type": "string"}, {"type": "number", "minimum": low, "maximum": high}]
    unit = "" if row.si == "1" else f" {row.si}"
    return {
        "description": f"{text} or a number in {row.si}; {low:g} to {high:g}{unit}",
        "anyOf": options,
        "x-bounds": f"{low:g} to {high:g}{unit}",
        "x-units": list(row.factors),
    }


PERCENT = 'is it in percent? write "54 %"'

Fraction = Annotated[float, *quantity("fraction", 0.0, 1.0, cause=PERCENT)]
Humidity = Annotated[
    float, *quantity("fraction", 0.0, 1.0, cause=PERCENT, says="Relative humidity")
]
Content = Annotated[
    float, *quantity("fraction", 0.0, 20.0, cause=PERCENT, says="Water per dry mass")
]
CELSIUS = 'is the unit missing? write "21 degC"'
Temperature = Annotated[float, *quantity("temperature", 180.0, 400.0, cause=CELSIUS)]
RoomTemperature = Annotated[float, *quantity("temperature", 223.15, 343.15, cause=CELSIUS)]
Difference = Annotated[float, *quantity("temperature difference", 0.0, 100.0)]
Length = Annotated[float, *quantity("length", 1e-5, 100.0, cause="is the unit right (mm, m, in)?")]
Thickness = Annotated[
    float,
    *quantity("length", 1e-5, 1e5, cause="is the unit right (mm, m, in)?", says="Thickness"),
]
GapDepth = Annotated[
    float, *quantity("length", 0.001, 0.3, cause='is it in mm? write "20 mm"', says="Gap depth")
]
Height = Annotated[float, *quantity("length", -200.0, 1000.0, says="Height")]
Resistance = Annotated[float, *quantity("thermal resistance", 1e-4, 100.0)]
Permeance = Annotated[
    float, *quantity("permeance", 1e-15, 1e-6, cause='is the unit missing? write "1 perm"')
]
AirFlowRate = Annotated[
    float,
    *quantity("air flow", -0.1, 0.1, cause='is it in L/(s.m2)? write "0.1 L/(s.m2)"'),
]
AirPermeance = Annotated[
    float, *quantity("air permeance", 0.0, 0.01, cause="is it in L/(s.m2.Pa^n)?")
]
AirChange = Annotated[float, *quantity("air change", 0.0, 1e5)]
MassPerArea = Annotated[
    float, *quantity("mass per area", 0.0, 100.0, cause='is it in g/m2? write "500 g/m2"')
]
MoistureProduction = Annotated[
    float,
    *quantity("moisture production", 0.0, 0.1, cause='is it in kg/day? write "10 kg/day"'),
]
MoistureLoad = Annotated[
    float, *quantity("moisture load", -0.02, 0.05, cause='is it in g/m3? write "4 g/m3"')
]
Pressure = Annotated[float, *quantity("pressure", -1000.0, 1000.0)]
Volume = Annotated[float, *quantity("volume", 1.0, 1e7)]
Area = Annotated[float, *quantity("area per width", 0.0, 1.0, says="Free area per metre width")]
Transmittance = Annotated[
    float, *quantity("thermal transmittance", 0.0, 5000.0, says="Heat transfer coefficient")
]
Azimuth = Annotated[
    float,
    *quantity(
        "angle",
        0.0,
        360.0,
        cause="degrees clockwise from north, or N, NE, E, SE, S, SW, W, NW",
        says="Direction the wall faces",
    ),
]
Tilt = Annotated[float, *quantity("angle", 0.0, 180.0, cause="90 is a wall, 0 a flat roof")]
Hours = Annotated[float, *quantity("time", 0.0, 1e6)]
LeakRate = Annotated[
    float, *quantity("air flow", 0.0, 0.1, cause='outward; is it in L/(s.m2)? write "0.1 L/(s.m2)"')
]
Emissivity = Annotated[
    float, *quantity("fraction", 0.0, 1.0, cause="is it in percent?", says="Longwave emissivity")
]
GapEmissivity = Annotated[
    float,
    *quantity(
        "fraction", 1e-6, 1.0, cause="bright foil has about 0.03", says="Longwave emissivity"
    ),
]
Absorptance = Annotated[
    float,
    *quantity(
        "fraction", 0.0, 1.0, cause='is it in percent? write "60 %"', says="Solar absorptance"
    ),
]
Albedo = Annotated[
    float, *quantity("fraction", 0.0, 1.0, cause="fresh snow has 0.8", says="Albedo of the ground")
]
Width = Annotated[
    float, *quantity("length", 0.0, 0.1, cause='is it in mm? write "3 mm"', says="Width of a joint")
]
Thin = Annotated[
    float, *quantity("length", 0.0, 0.1, cause='is it in mm? write "5 mm"', says="Size of metal")
]
Shrinkage = Annotated[float, *quantity("fraction", 0.0, 0.1, cause='in percent? write "0.5 %"')]
Conductivity = Annotated[float, *quantity("conductivity", 1e-3, 500.0)]
Conductance = Annotated[float, *within(0.0, 100.0, "W/K")]
VapourCoefficient = Annotated[
    float, *within(0.0, 1e-3, "kg/(m²·s·Pa); still air gives about 2e-8, wind 1e-7")
]
OF_ANOTHER = "is it the value of another form, or a missing value set to 0?"
Positive = Annotated[float, *above(0.0, OF_ANOTHER)]
AboveOne = Annotated[float, *above(1.0, OF_ANOTHER)]
Mu = Annotated[float, *above(0.99, "still air has 1; is it the value of another form?")]
