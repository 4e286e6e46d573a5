"""The table `rain_factors` of a wall: keys, bounds, and the factors they stand for.

Owns the step from numbers or names to the factors of a driving-rain method; the tables behind the
names are in `weather.rain`.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Any

from pydantic import BeforeValidator, WithJsonSchema

from hygro.case.fields import Entry, Length, read
from hygro.errors import InputError, near_matches
from weather.errors import WeatherError
from weather.rain import (
    DEPOSITION,
    EXPOSURE,
    TERRAIN,
    WALL_FACTOR,
    exposure_factor,
    obstruction_factor,
    roughness_factor,
)

GREATEST = 3.0
"""Largest factor that is believed; the largest printed one is 1.5. [1]"""


def _named(names: Iterable[str], *, number: bool) -> tuple[BeforeValidator, WithJsonSchema]:
    """Return validator and schema of a factor: a known name, or a number where one will do."""
    known = tuple(names)

    def checked(value: Any) -> Any:
        if isinstance(value, str) and value in known:
            return value
        if number and isinstance(value, int | float) and not isinstance(value, bool):
            return read(value, "fraction", 0.0, GREATEST, "a factor is seldom above 1.5")
        bound = f"a number 0 to {GREATEST:g} or a name" if number else "a name"
        raise InputError(f"{value!r}: must be {bound}; {near_matches(str(value), known)}")

    options: list[dict[str, Any]] = [{"enum": list(known)}]
    if number:
        options.append({"type": "number", "minimum": 0.0, "maximum": GREATEST})
    return BeforeValidator(checked), WithJsonSchema({"anyOf": options})


Factor = Annotated[float, *_named((), number=True)]


class RainFactorsEntry(Entry):
    """Factors from free driving rain to the wall; the keys are those of the method `rain`.

    ashrae160: `exposure` (number, or severe, medium, sheltered with a building `height`) and
    `deposition` (number, or steep roof, low-slope roof, run-off). iso15927: `roughness`, or
    `terrain` I to IV with a `height`; `topography`; `obstruction`, or `obstacle_distance`; `wall`
    (number or kind of wall). What is not given has the default of the method.
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


def rain_factors(entry: RainFactorsEntry, method: str) -> tuple[tuple[str, float], ...]:
    """Return the factors of a method as numbers, by name.

    Raises
    ------
    InputError
        A key of the other method, one that is missing beside a name, or two for one factor.
    """
    given = entry.model_dump(exclude_none=True)
    if given and method not in _KEYS:
        raise InputError(f'rain_factors: rain = "{method}" has no factors')
    for key in given:
        if key not in _KEYS[method]:
            raise InputError(
                f"rain_factors.{key}: belongs to another method than {method}, whose keys are "
                + ", ".join(_KEYS[method])
            )
    try:
        found = _ashrae(given) if method == "ashrae160" else _iso(given)
    except WeatherError as error:
        raise InputError(f"rain_factors: {error}") from error
    return tuple(sorted(found.items()))


def _ashrae(given: dict[str, Any]) -> dict[str, float]:
    exposure, deposition = given.get("exposure"), given.get("deposition")
    _go_together(given, "height", "an exposure by name", isinstance(exposure, str))
    found = {}
    if exposure is not None:
        by_name = isinstance(exposure, str)
        found["exposure"] = exposure_factor(exposure, given["height"]) if by_name else exposure
    if deposition is not None:
        found["deposition"] = DEPOSITION.get(deposition, deposition)
    return found


def _iso(given: dict[str, Any]) -> dict[str, float]:
    _go_together(given, "height", "a terrain", "terrain" in given)
    for one, other in (("terrain", "roughness"), ("obstacle_distance", "obstruction")):
        if one in given and other in given:
            raise InputError(f"rain_factors: {one} and {other}: one of them")
    plain = ("roughness", "topography", "obstruction")
    found: dict[str, float] = {key: given[key] for key in plain if key in given}
    if "terrain" in given:
        found["roughness"] = roughness_factor(given["terrain"], given["height"])
    if "obstacle_distance" in given:
        found["obstruction"] = obstruction_factor(given["obstacle_distance"])
    if "wall" in given:
        found["wall"] = WALL_FACTOR.get(given["wall"], given["wall"])
    return found


def _go_together(given: dict[str, Any], key: str, words: str, wanted: bool) -> None:
    if wanted and key not in given:
        raise InputError(f"rain_factors.{key}: missing; {words} needs it")
    if key in given and not wanted:
        raise InputError(f"rain_factors.{key}: goes with {words}, which is not given")
