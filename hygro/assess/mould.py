"""The mould index of a surface from its hourly temperature and humidity.

Owns the three forms of the index (Hukka & Viitanen 1999, Ojanen et al. 2010, ANSI/ASHRAE 160-2016
addendum e) with all their constants; knows no Dataset and no wall.

Index: 0 none; 1 small amounts under the microscope; 2 several colonies under the microscope;
3 visible on less than 10 % of the surface, or 50 % under the microscope; 4 visible on 10-50 %;
5 visible on more than 50 %; 6 dense, about 100 % (Hukka & Viitanen 1999).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from numbers import Real
from types import MappingProxyType
from typing import Any, Literal, NamedTuple

import numpy as np

from hygro.assess.course import Course, once
from hygro.assess.mould_loop import (
    critical_percent,
    find_growing,
    march,
    weeks_start,
    weeks_visible,
)
from hygro.constants import ZERO_CELSIUS
from hygro.errors import InputError, brief, must_be, near_matches
from hygro.material.model import NOT_STATED

Model = Literal["ojanen2010", "hukka1999", "ashrae160e"]
MODELS = ("ojanen2010", "hukka1999", "ashrae160e")


class MouldClass(NamedTuple):
    """Sensitivity of a surface: growth rates below and above index 1, and the ceiling.

    The ceiling is A + B q - C q² with q the humidity above critical as a fraction; `rh_min` is the
    lowest humidity that lets mould grow. [%]
    """

    k1_low: float
    k1_high: float
    a: float
    b: float
    c: float
    rh_min: float


CLASSES: MappingProxyType[str, MouldClass] = MappingProxyType(
    {
        "very sensitive": MouldClass(1.0, 2.0, 1.0, 7.0, 2.0, 80.0),
        "sensitive": MouldClass(0.578, 0.386, 0.3, 6.0, 1.0, 80.0),
        "medium resistant": MouldClass(0.072, 0.097, 0.0, 5.0, 1.5, 85.0),
        "resistant": MouldClass(0.033, 0.014, 0.0, 3.0, 1.0, 85.0),
    }
)
"""Sensitivity classes, Ojanen et al. 2010. Examples (from memory): pine sapwood; planed wood, glued
board, paper facing; concrete and mineral wool; polished plastic."""

WOOD_1999 = MouldClass(1.0, math.nan, 1.0, 7.0, 2.0, 80.0)
"""Wood after Hukka & Viitanen 1999; NaN: the rate above index 1 follows from t_v / t_m."""

DECLINE: MappingProxyType[str, float] = MappingProxyType(
    {"strong": 1.0, "significant": 0.5, "relatively low": 0.25, "almost none": 0.1}
)
"""Decline as a multiple of the decline on wood, Ojanen et al. 2010 (from memory). [1]"""
DEFAULT_DECLINE = 0.1
"""Where the decline of the material is not known, ANSI/ASHRAE 160-2016 add. e (from memory). [1]"""

SPRUCE_SHIFT, KILN_SHIFT, SPRUCE_SHIFT_VISIBLE = 0.14, -0.33, 0.06
"""0.14 W, -0.33 SQ in the weeks to index 1; 0.06 W in the weeks to index 3."""
_NOT_JUDGED = frozenset({"", "none", "not judged"})
ASSUMED_CLASS = "sensitive"
"""Taken where a material states no class, and said so in the reason (our choice): that of planed
wood, glued board and paper; only sapwood of pine is more sensitive."""


def mould_class(name: str) -> str | None:
    """Read a class name ("very_sensitive" reads as "very sensitive"); None for "none" and "".

    "not stated" reads as `ASSUMED_CLASS`.

    Raises
    ------
    InputError
        For an unknown class, with near matches.
    """
    must_be(name, str, "mould class", "a text, such as 'sensitive'")
    plain = name.strip().lower().replace("_", " ").replace("-", " ")
    if plain in _NOT_JUDGED:
        return None
    if plain == NOT_STATED:
        return ASSUMED_CLASS
    if plain not in CLASSES:
        raise InputError(f"mould class '{name}': unknown ({near_matches(plain, CLASSES)})")
    return plain


def mould_index(
    temperature: np.ndarray,
    rh: np.ndarray,
    *,
    sensitivity: str | Sequence[str] = "sensitive",
    model: Model = "ojanen2010",
    decline: float | str | None = None,
    wood: Literal["pine", "spruce"] = "pine",
    surface: Literal["sawn", "kiln-dried"] = "sawn",
    start: float = 0.0,
    course: Course | None = None,
) -> np.ndarray:
    """Mould index of each surface at each instant. [1], 0-6

    The first instant keeps `start`; the hour that ends at instant i grows at the conditions of i.
    No growth at or below 0 °C, from 50 °C up, and below the critical humidity: there the index
    declines by 0.032 per day in the first 6 h, not at all to 24 h, then by 0.016 per day, times
    the decline factor. Valid for 0-50 °C; humidity above 100 % counts as 100 %.

    Parameters
    ----------
    temperature : array, (time,) or (time, surface)
        Surface temperature, hourly. [K]
    rh : array of the same shape
        Relative humidity at the surface. [1]
    sensitivity : str or sequence of str
        Class of all surfaces, or of each; not used by "hukka1999", which knows wood only.
    model : str
        "ojanen2010", "hukka1999", or "ashrae160e" (as Ojanen, but all classes except the very
        sensitive one grow like spruce, W = 1; from memory).
    decline : float or str, optional
        Factor on the decline of wood, 0-1, or a name in `DECLINE`. None: 1 for "hukka1999", else
        0.1. [1]
    wood, surface : str
        Species and surface quality, "hukka1999" only.
    start : float
        Index at the first instant. [1]
    course : Course, optional
        The order in which the instants are met; the result has a value for each that is told.
        None: all of them once.

    Raises
    ------
    InputError
        For arrays of different shape, NaN, other units, unknown options.

    References
    ----------
    Hukka & Viitanen 1999, Wood Sci. Technol. 33, 475-485; Ojanen et al. 2010; ANSI/ASHRAE
    160-2016 addendum e (from memory).
    """
    t, h = _numbers(temperature, "temperature"), _numbers(rh, "rh")
    _check_state(t, h)
    must_be(sensitivity, Iterable, "sensitivity", "a class, or one for each surface")
    must_be(course, (Course, type(None)), "course", "a Course or None")
    columns = 1 if t.ndim == 1 else t.shape[1]
    names = [sensitivity] * columns if isinstance(sensitivity, str) else list(sensitivity)
    if len(names) != columns:
        raise InputError(f"sensitivity: {len(names)} classes for {columns} surfaces")
    _check_number(start, "start", "a number 0-6")
    if not 0.0 <= start <= 6.0:
        raise InputError(f"start = {start}: the mould index must be 0-6")
    rows = np.array([_row(name, model, decline, wood, surface) for name in names])
    way = once(len(t)) if course is None else course
    index = np.empty((columns, way.told))
    given = (np.ascontiguousarray(values.T).reshape(columns, -1) for values in (t, h))
    hours = np.empty((len(t), 3))
    march(*given, way.order, way.again, way.lowest, rows, start, hours, index)
    return index.T if t.ndim == 2 else index[0]


def let_grow(temperature: np.ndarray, rh: np.ndarray) -> np.ndarray:
    """Say of each surface whether any hour lets mould of some class grow. (surface,)

    Temperature in K and humidity 0-1, dims (time, surface). Elsewhere every index stays 0.
    """
    found = np.zeros(temperature.shape[1], dtype=bool)
    find_growing(temperature, rh, min(kind.rh_min for kind in CLASSES.values()), found)
    return found


def check_mould(model: object, decline: Any = None) -> None:
    """Refuse what is none of `MODELS`, or no decline; raises `InputError`."""
    if not (isinstance(model, str) and model in MODELS):
        raise InputError(f"mould model {brief(model)}: unknown ({near_matches(model, MODELS)})")
    if decline is not None:
        decline_factor(decline)


def _numbers(values: object, place: str) -> np.ndarray:
    try:
        return np.asarray(values, float)
    except (TypeError, ValueError):
        raise InputError(f"{place} = {brief(values)}: must be an array of numbers") from None


def _check_state(t: np.ndarray, h: np.ndarray) -> None:
    if t.shape != h.shape or t.ndim not in (1, 2) or not t.size:
        raise InputError(
            f"mould index: temperature {t.shape} and rh {h.shape} must be alike, "
            "(time,) or (time, surface), and not empty"
        )
    coldest, driest, wettest = t.min(), h.min(), h.max()
    if coldest >= 150.0 and t.max() <= 400.0 and driest >= 0.0 and wettest <= 2.0:
        return  # a value that is no number would make a comparison false
    if not (np.isfinite(t).all() and np.isfinite(h).all()):
        raise InputError("mould index: temperature or rh holds NaN or infinity")
    if driest >= 0.0 and wettest <= 2.0:
        raise InputError(f"temperature = {coldest:.4g}: must be 150-400 K; is it in °C?")
    raise InputError(f"rh = {wettest:.4g}: must be 0-1; is it in percent?")


def _row(
    name: str, model: str, decline: float | str | None, wood: str, surface: str
) -> tuple[float, ...]:
    """Constants of one surface as the loop reads them."""
    if model == "hukka1999":
        shift, visible = _wood_shift(wood, surface)
        return (*WOOD_1999, shift, visible, decline_factor(1.0 if decline is None else decline))
    check_mould(model)
    plain = mould_class(name)
    if plain is None:
        raise InputError(f"mould class '{name}': this surface is not to be judged")
    like_spruce = model == "ashrae160e" and plain != "very sensitive"
    factor = decline_factor(DEFAULT_DECLINE if decline is None else decline)
    return (*CLASSES[plain], SPRUCE_SHIFT if like_spruce else 0.0, 0.0, factor)


def _wood_shift(wood: str, surface: str) -> tuple[float, float]:
    if wood not in ("pine", "spruce"):
        raise InputError(f"wood '{wood}': must be 'pine' or 'spruce'")
    if surface not in ("sawn", "kiln-dried"):
        raise InputError(f"surface '{surface}': must be 'sawn' or 'kiln-dried'")
    spruce = wood == "spruce"
    shift = SPRUCE_SHIFT * spruce + KILN_SHIFT * (surface == "kiln-dried")
    return shift, SPRUCE_SHIFT_VISIBLE * spruce


def _check_number(value: object, place: str, words: str) -> None:
    """Refuse what is no number, True and False among them; raises `InputError`."""
    if isinstance(value, bool) or not isinstance(value, Real):
        raise InputError(f"{place}: is {type(value).__name__}: must be {words}")


def decline_factor(decline: float | str) -> float:
    """Read a decline factor, a number 0-1 or a name in `DECLINE`."""
    if isinstance(decline, str):
        if decline not in DECLINE:
            raise InputError(f"decline '{decline}': unknown ({near_matches(decline, DECLINE)})")
        return DECLINE[decline]
    _check_number(decline, "decline", f"a number 0-1 or one of: {', '.join(DECLINE)}")
    if not 0.0 <= decline <= 1.0:
        raise InputError(f"decline = {decline}: the factor on the decline of wood must be 0-1")
    return float(decline)


def weeks_to_start(temperature: float, rh: float, *, shift: float = 0.0) -> float:
    """Weeks of constant conditions until the index is 1 on wood, t_m. [week]

    Hukka & Viitanen 1999. `shift` is 0.14 W - 0.33 SQ; temperature in K, rh 0-1.
    """
    return float(weeks_start(temperature - ZERO_CELSIUS, 100.0 * rh, shift))


def weeks_to_visible(temperature: float, rh: float, *, shift: float = 0.0) -> float:
    """Weeks until the index is 3 on wood, t_v; meaningful where the ceiling is above 3. [week]

    Hukka & Viitanen 1999. `shift` is 0.06 W; temperature in K, rh 0-1.
    """
    return float(weeks_visible(temperature - ZERO_CELSIUS, 100.0 * rh, shift))


def critical_rh(temperature: float, *, rh_min: float = 0.80) -> float:
    """Lowest relative humidity that lets mould grow at a temperature [K], 0-50 °C. [1]"""
    return float(critical_percent(temperature - ZERO_CELSIUS, 100.0 * rh_min)) / 100.0
