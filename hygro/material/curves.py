"""Interpolation and conversion shared by the material curves. Owns the arithmetic, knows no form.

Relative humidity near saturation loses all digits, so storage is read over s = -ln(rh); s and
suction are proportional at the reference temperature (Kelvin).
"""

from __future__ import annotations

from functools import lru_cache
from typing import Annotated, Any, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray
from pydantic import BeforeValidator, Field

from hygro.constants import GAS_CONSTANT_VAPOUR, REFERENCE_TEMPERATURE, WATER_DENSITY
from hygro.errors import InputError, brief
from hygro.fields import number
from hygro.material.cubic import Cubic, monotone_cubic


def points(value: object) -> tuple[tuple[float, ...], ...]:
    """Read a list of [x, y] points; raises `InputError` for anything else."""
    if not isinstance(value, list | tuple):
        raise InputError(f"{brief(value)}: must be a list of [x, y] points")
    for row in value:
        if not isinstance(row, list | tuple) or len(row) < 2:
            raise InputError(f"{brief(row)} is not a point; points are written [x, y]")
    return tuple(tuple(number(x) for x in row) for row in value)


Array: TypeAlias = NDArray[np.float64]
Points: TypeAlias = Annotated[tuple[tuple[float, ...], ...], BeforeValidator(points)]
"""Points of a curve: pairs, or rows of parameters."""
Linked: TypeAlias = Annotated[Any, Field(exclude=True)]
"""Storage of the same material, set by the material itself; no key of a table."""

SUCTION_PER_S = WATER_DENSITY * GAS_CONSTANT_VAPOUR * REFERENCE_TEMPERATURE
"""Suction that belongs to s = 1 at the reference temperature (Kelvin). [Pa]"""

_TAIL = 0.2
_FLOOR = 1e-7  # s that belongs to about 14 Pa: below it a curve is linear in s


def s_of_rh(rh: ArrayLike) -> Array:
    """Return s = -ln(rh), infinite at rh = 0. [-]"""
    with np.errstate(divide="ignore"):
        return np.maximum(-np.log(np.asarray(rh, dtype=float)), 0.0)


def stretched(s: ArrayLike) -> Array:
    """Return a coordinate that runs like rh when dry and like ln(1/s) when nearly saturated. [-]

    It maps s from infinity to 0 onto 0 to about 4.2 and is strictly monotone, so that one smooth
    interpolant serves sorption points and retention points alike.
    """
    s = np.asarray(s, dtype=float)
    rh = np.exp(-s)
    return rh + _TAIL * np.log1p(rh / (s + _FLOOR))


@lru_cache(maxsize=1024)
def _cubic(points: Points) -> Cubic:
    return monotone_cubic(*np.array(points).T)


def monotone(points: Points, x: ArrayLike) -> Array:
    """Evaluate the shape-preserving cubic through (x, y) points; held constant beyond the ends."""
    x = np.asarray(x, dtype=float)
    if len(points) == 1:
        return np.full_like(x, points[0][1])
    return _cubic(points).value(np.clip(x, points[0][0], points[-1][0]))


def linear(points: Points, x: ArrayLike) -> Array:
    """Evaluate the polygon through (x, y) points; held constant beyond the ends."""
    xs, ys = np.array(points).T
    return np.interp(np.asarray(x, dtype=float), xs, ys)
