"""Fields of declarations: numbers with units, bounds and likely causes. Owns the annotated types.

A field accepts a plain number in SI or a text with a unit, and answers a value outside its bounds
with the value, the bound and the likely cause.
"""

from __future__ import annotations

from collections.abc import Sized
from numbers import Real
from typing import Annotated

from pydantic import BeforeValidator, Strict, StringConstraints, WithJsonSchema

from hygro.errors import InputError, brief
from hygro.quantities import COMPASS, QUANTITIES
from hygro.types import Data
from hygro.units import convert, finite, parse, split

Flag = Annotated[bool, Strict()]
Count = Annotated[int, Strict()]
Text = Annotated[str, Strict()]
Name = Annotated[str, Strict(), StringConstraints(min_length=1, strip_whitespace=True)]


def number(value: object) -> float:
    """Return a finite plain number; raises `InputError` for text, flags, NaN and infinities."""
    if isinstance(value, bool) or not isinstance(value, Real):
        raise InputError(f"{brief(value)}: must be a number")
    return finite(value)


Number = Annotated[float, BeforeValidator(number), WithJsonSchema({"type": "number"})]


def counted(
    low: int, high: int | None = None, *, of: type[Sized] | tuple[type[Sized], ...] = (list, tuple)
) -> BeforeValidator:
    """Return the check of how many items a list, or a table, has, both bounds included.

    It comes before the items are looked at, so that a list of millions is refused at once.
    """
    words = f"at least {low}" if high is None else f"{low} to {high}" if low < high else f"{low}"

    def checked(value: object) -> object:
        count = len(value) if isinstance(value, of) else low
        if count < low or (high is not None and count > high):
            raise InputError(f"has {count} items: must have {words}")
        return value

    return BeforeValidator(checked)


def _as_list(value: object) -> object:
    return value if isinstance(value, list | tuple) else (value,)


ONE = BeforeValidator(_as_list)
"""One item is a list of one."""


def within(low: float, high: float, cause: str = "") -> tuple[BeforeValidator, WithJsonSchema]:
    """Return validator and schema of a plain number without a unit, both bounds included."""

    def checked(value: object) -> float:
        found = number(value)
        if low <= found <= high:
            return found
        raise _outside(found, f"{found:g}", low, between(low, high, "1"), cause)

    schema = {"type": "number", "minimum": low, "maximum": high}
    return BeforeValidator(checked), WithJsonSchema(schema)


def above(low: float, cause: str = "") -> tuple[BeforeValidator, WithJsonSchema]:
    """Return validator and schema of a plain number above a bound."""

    def checked(value: object) -> float:
        found = number(value)
        if not found > low:
            why = cause or ("is the sign right?" if found < 0.0 else "is a value missing?")
            raise InputError(f"{found:g}: must be above {low:g}; {why}")
        return found

    return BeforeValidator(checked), WithJsonSchema({"type": "number", "exclusiveMinimum": low})


def quantity(
    kind: str, low: float, high: float, *, likely: str = "", cause: str = "", says: str = ""
) -> tuple[BeforeValidator, WithJsonSchema]:
    """Return the validator and the schema of one quantity.

    Parameters
    ----------
    kind : str
        A name in `hygro.quantities.QUANTITIES`.
    low, high : float
        Bounds in the SI unit of the quantity, both included.
    likely : str
        Units in which people write the quantity, blanks between: asked about where they would mend
        a plain number.
    cause : str
        Another likely cause of a value outside.
    says : str
        Description for the schema.
    """

    def checked(value: object) -> float:
        return read(value, kind, low, high, likely=likely, cause=cause)

    return BeforeValidator(checked), WithJsonSchema(schema(kind, low, high, says))


def read(
    value: object, kind: str, low: float, high: float, *, likely: str = "", cause: str = ""
) -> float:
    """Return the SI value of what was written; raises `InputError` outside the bounds."""
    found = parse(value, kind)
    if low <= found <= high:
        return found
    bare = _bare(value)
    meant = _meant(bare, kind, low, high, likely) if bare is not None else []
    if meant:
        names = " or ".join("percent" if unit == "%" else unit for unit in meant)
        write = " or ".join(f'"{bare:g} {unit}"' for unit in meant)
        hint = f"is it in {names}? write {write}"
        cause = f"{hint}; {cause}" if cause else hint
    given = f'"{value}"' if isinstance(value, str) else f"{value:g}"
    raise _outside(found, given, low, _bounds(value, kind, low, high), cause)


def _bounds(value: object, kind: str, low: float, high: float) -> str:
    """Bounds in words, in the unit in which the value is written."""
    unit = split(value)[1] if isinstance(value, str) and value.upper() not in COMPASS else ""
    if unit in ("", QUANTITIES[kind].si):
        return between(low, high, QUANTITIES[kind].si)
    least, most = sorted(float(f"{convert(end, kind, unit):.4g}") for end in (low, high))
    return between(least, most, unit)


def _meant(bare: float, kind: str, low: float, high: float, likely: str) -> list[str]:
    """Units of `likely` in which a plain number is within its bounds."""
    return [unit for unit in likely.split() if low <= parse(f"{bare!r} {unit}", kind) <= high]


def _bare(value: object) -> float | None:
    """A number without a unit, also one that is written as text."""
    try:
        return float(str(value))
    except ValueError:
        return None


def _outside(found: float, given: str, low: float, bounds: str, cause: str) -> InputError:
    sign = "is the sign right?" if found < 0.0 <= low else ""
    slip = "is the unit or the decimal point right?"
    why = "; ".join(words for words in (sign, cause) if words) or slip
    return InputError(f"{given}: must be {bounds}; {why}")


def between(low: float, high: float, unit: str) -> str:
    """Bounds in words; a number without a unit has "1"."""
    return f"{low:g} to {high:g}" + (f" {unit}" if unit != "1" else "")


def schema(kind: str, low: float, high: float, says: str = "") -> Data:
    """Return the JSON schema of a quantity, with its bounds and units."""
    row = QUANTITIES[kind]
    text = f"{says or kind.capitalize()}: text with a unit ({', '.join(row.factors)})"
    options = [{"type": "string"}, {"type": "number", "minimum": low, "maximum": high}]
    bounds = between(low, high, row.si)
    return {
        "description": f"{text} or a number in {row.si}; {bounds}",
        "anyOf": options,
        "x-bounds": bounds,
        "x-quantity": kind,
        "x-units": list(row.factors),
    }


Fraction = Annotated[float, *quantity("fraction", 0.0, 1.0, likely="%")]
Humidity = Annotated[float, *quantity("fraction", 0.0, 1.0, likely="%", says="Relative humidity")]
Content = Annotated[float, *quantity("fraction", 0.0, 20.0, likely="%", says="Water per dry mass")]
Temperature = Annotated[float, *quantity("temperature", 180.0, 400.0, likely="degC degF")]
RoomTemperature = Annotated[float, *quantity("temperature", 223.15, 343.15, likely="degC degF")]
Difference = Annotated[float, *quantity("temperature difference", 0.0, 100.0)]
Length = Annotated[float, *quantity("length", 1e-5, 100.0, likely="mm")]
Thickness = Annotated[float, *quantity("length", 1e-5, 1e5, likely="mm", says="Thickness")]
GapDepth = Annotated[float, *quantity("length", 0.001, 0.3, likely="mm", says="Gap depth")]
Height = Annotated[float, *quantity("length", -200.0, 1000.0, likely="mm", says="Height")]
Resistance = Annotated[float, *quantity("thermal resistance", 1e-4, 100.0)]
Permeance = Annotated[float, *quantity("permeance", 1e-15, 1e-6, likely="perm")]
AirFlowRate = Annotated[float, *quantity("air flow", -0.1, 0.1, likely="L/(s.m2)")]
AirPermeance = Annotated[
    float, *quantity("air permeance", 0.0, 0.01, cause="is it in L/(s.m2.Pa^n)?")
]
AirChange = Annotated[float, *quantity("air change", 0.0, 1e5)]
MassPerArea = Annotated[float, *quantity("mass per area", 0.0, 100.0, likely="g/m2")]
MoistureProduction = Annotated[float, *quantity("moisture production", 0.0, 0.1, likely="kg/day")]
MoistureLoad = Annotated[float, *quantity("moisture load", -0.02, 0.05, likely="g/m3")]
Pressure = Annotated[float, *quantity("pressure", -1000.0, 1000.0)]
Volume = Annotated[float, *quantity("volume", 1.0, 1e7)]
Area = Annotated[
    float,
    *quantity("area per width", 0.0, 1.0, likely="cm2/m", says="Free area per metre width"),
]
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
    float, *quantity("air flow", 0.0, 0.1, likely="L/(s.m2)", cause="positive is outward")
]
Emissivity = Annotated[
    float, *quantity("fraction", 0.0, 1.0, likely="%", says="Longwave emissivity")
]
GapEmissivity = Annotated[
    float,
    *quantity(
        "fraction",
        1e-6,
        1.0,
        likely="%",
        cause="bright foil has about 0.03",
        says="Longwave emissivity",
    ),
]
Absorptance = Annotated[
    float, *quantity("fraction", 0.0, 1.0, likely="%", says="Solar absorptance")
]
Albedo = Annotated[
    float,
    *quantity(
        "fraction", 0.0, 1.0, likely="%", cause="fresh snow has 0.8", says="Albedo of the ground"
    ),
]
Width = Annotated[float, *quantity("length", 0.0, 0.1, likely="mm", says="Width of a joint")]
Thin = Annotated[float, *quantity("length", 0.0, 0.1, likely="mm", says="Size of metal")]
Shrinkage = Annotated[float, *quantity("fraction", 0.0, 0.1, likely="%")]
Conductivity = Annotated[float, *quantity("conductivity", 1e-3, 500.0)]
Conductance = Annotated[float, *within(0.0, 100.0, "W/K")]
VapourCoefficient = Annotated[
    float, *within(0.0, 1e-3, "kg/(m²·s·Pa); still air gives about 2e-8, wind 1e-7")
]
OF_ANOTHER = "is it the value of another form, or a missing value set to 0?"
Positive = Annotated[float, *above(0.0, OF_ANOTHER)]
AboveOne = Annotated[float, *above(1.0, OF_ANOTHER)]
