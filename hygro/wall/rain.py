"""Factors from free driving rain to a wall, as numbers or by names. Owns their declaration.

The tables behind the names are in `weather.rain`.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated

from pydantic import BeforeValidator, WithJsonSchema

from hygro.declare import declared, plain
from hygro.errors import InputError, near_matches
from hygro.fields import Length, read
from hygro.problems import refuse, together
from hygro.spelling import key_word, spelled
from hygro.types import Data
from weather.errors import WeatherError
from weather.rain import (
    DEPOSITION,
    EXPOSURE,
    TERRAIN,
    WALL_FACTOR,
    AshraeFactors,
    IsoFactors,
    exposure_factor,
    obstruction_factor,
    roughness_factor,
)

GREATEST = 3.0
"""Largest factor that is believed; the largest printed one is 1.5. [1]"""


def _named(names: Iterable[str], *, number: bool) -> tuple[BeforeValidator, WithJsonSchema]:
    """Return validator and schema of a factor: a known name, or a number where one will do."""
    known = tuple(names)

    def checked(value: object) -> object:
        if isinstance(value, str) and value in known:
            return value
        if number and isinstance(value, int | float) and not isinstance(value, bool):
            return read(value, "fraction", 0.0, GREATEST, cause="a factor is seldom above 1.5")
        bound = f"a number 0 to {GREATEST:g} or a name" if number else "a name"
        raise InputError(f"{value!r}: must be {bound}; {near_matches(str(value), known)}")

    options: list[Data] = [{"enum": list(known)}]
    if number:
        options.append({"type": "number", "minimum": 0.0, "maximum": GREATEST})
    return BeforeValidator(checked), WithJsonSchema({"anyOf": options})


Factor = Annotated[float, *_named((), number=True)]


@declared
class RainFactors:
    """Factors from free driving rain to the wall; the keys are those of the method `rain`.

    What is not given has the default of the method.

    Parameters
    ----------
    exposure : float or {"severe", "medium", "sheltered"}
        ashrae160; a name goes with a building `height`. [1]
    deposition : float or {"steep roof", "low-slope roof", "run-off"}
        ashrae160. [1]
    height : float
        Of the building; goes with an exposure by name or a terrain. [m]
    roughness : float
        iso15927, or `terrain`. [1]
    terrain : {"I", "II", "III", "IV"}
        iso15927; goes with a `height`.
    topography : float
        iso15927. [1]
    obstruction : float
        iso15927, or `obstacle_distance`. [1]
    obstacle_distance : float
        iso15927; to the nearest obstacle as high as the wall. [m]
    wall : float or name
        iso15927; kind of wall. [1]
    """

    exposure: Annotated[float | str, *_named(EXPOSURE, number=True)] | None = None
    deposition: Annotated[float | str, *_named(DEPOSITION, number=True)] | None = None
    height: Length | None = None
    roughness: Factor | None = None
    terrain: Annotated[str, *_named(TERRAIN, number=False)] | None = None
    topography: Factor | None = None
    obstruction: Factor | None = None
    obstacle_distance: Length | None = None
    wall: Annotated[float | str, *_named(WALL_FACTOR, number=True)] | None = None

    def of(self, method: str) -> AshraeFactors | IsoFactors | None:
        """Return the factors of a method as numbers; None where nothing is given.

        Raises
        ------
        InputError
            A key of the other method, one that is missing beside a name, or two for one factor.
        """
        given = plain(self)
        if not given:
            return None
        if method not in _KEYS:
            refuse("rain_factors", f"{spelled('rain', method)} has no factors")
        for key in given:
            if key not in _KEYS[method]:
                known = ", ".join(_KEYS[method])
                text = f"belongs to another method than {method}, whose {key_word()}s are {known}"
                refuse(f"rain_factors.{key}", text)
        try:
            return _ashrae(given) if method == "ashrae160" else _iso(given)
        except WeatherError as error:
            refuse("rain_factors", str(error))


_KEYS = {
    "ashrae160": ("exposure", "deposition", "height"),
    "iso15927": (
        "roughness",
        "terrain",
        "height",
        "topography",
        "obstruction",
        "obstacle_distance",
        "wall",
    ),
}


def _ashrae(given: Data) -> AshraeFactors:
    exposure, deposition = given.get("exposure"), given.get("deposition")
    _height(given, "an exposure by name", isinstance(exposure, str))
    found: dict[str, float] = {}
    if exposure is not None:
        by_name = isinstance(exposure, str)
        found["exposure"] = exposure_factor(exposure, given["height"]) if by_name else exposure
    if deposition is not None:
        found["deposition"] = DEPOSITION[deposition] if isinstance(deposition, str) else deposition
    return AshraeFactors(**found)


def _iso(given: Data) -> IsoFactors:
    _height(given, "a terrain", "terrain" in given)
    for one, other in (("terrain", "roughness"), ("obstacle_distance", "obstruction")):
        if one in given and other in given:
            refuse("rain_factors", f"{one} and {other}: one of them")
    plain = ("roughness", "topography", "obstruction")
    found: dict[str, float] = {key: given[key] for key in plain if key in given}
    if "terrain" in given:
        found["roughness"] = roughness_factor(given["terrain"], given["height"])
    if "obstacle_distance" in given:
        found["obstruction"] = obstruction_factor(given["obstacle_distance"])
    if (wall := given.get("wall")) is not None:
        found["wall"] = WALL_FACTOR[wall] if isinstance(wall, str) else wall
    return IsoFactors(**found)


def _height(given: Data, words: str, wanted: bool) -> None:
    together("rain_factors.height", words, given=given.get("height"), wanted=wanted)
