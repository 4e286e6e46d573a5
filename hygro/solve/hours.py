"""The loads of a wall as the kernels read them, checked, and which hours go on evenly."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from hygro.errors import InputError
from hygro.solve.columns import INSIDE, INSTANT, MEAN, OUTSIDE
from hygro.solve.kernels.arrays import HourlyLoads
from hygro.wall.loads import Loads
from hygro.wall.wall import Wall

Array = NDArray[np.floating]

STRAIGHT = 1e-12
"""Bend of a series, over its value, below which it goes straight on: round-off. [1]"""


def check_loads(wall: Wall, loads: Loads) -> None:
    """Refuse loads that are not those of the wall; the kernels read them unchecked.

    Raises
    ------
    InputError
        There are other numbers of gaps or sources, or water of a leak or wetting is negative.
    """
    columns = {"gap_rate": len(wall.gaps), "source": len(wall.leaks.all())}
    for name, count in columns.items():
        found = getattr(loads, name).shape[1]
        if found != count:
            raise InputError(
                f"wall '{wall.name}': loads.{name} has {found} columns: must be {count} for "
                f"{columns['gap_rate']} gaps and {columns['source']} leaks; are they the loads of "
                "this wall?"
            )
    wet = len(wall.leaks.rain) + len(wall.leaks.wetting)
    least = loads.source[:, :wet].min(initial=0.0)
    if least < 0.0:
        raise InputError(
            f"wall '{wall.name}': loads.source: {least:g} kg/(m²·s) of a rain leak or wetting: "
            "must be at least 0; only air leaks turn"
        )


def hourly_loads(loads: Loads) -> HourlyLoads:
    """Loads of all hours in one lane."""
    return HourlyLoads(
        instant=_surfaces(loads, INSTANT)[None],
        mean=_surfaces(loads, MEAN)[None],
        gap_rate=_lane(loads.gap_rate),
        wind=_lane(loads.wind),
        source=_lane(loads.source),
        source_instant=_lane(loads.inside.vapour_pressure),
        air=_lane(loads.air),
        even=_even(loads)[None],
    )


def _even(loads: Loads) -> NDArray[np.int64]:
    """How many hours go on evenly from each: means stay, instants go straight. (N,)"""
    found = np.ones(loads.hours, dtype=np.int64)
    instants = [getattr(x, name) for x in (loads.outside, loads.inside) for name in INSTANT]
    means = [getattr(x, name) for x in (loads.outside, loads.inside) for name in MEAN]
    on = np.ones(loads.hours - 1, dtype=bool)
    for series in instants:
        bend = np.abs(np.diff(series, 2))
        on &= bend <= STRAIGHT * np.abs(series[1:-1])
        if not on.any():
            return found
    for series in (*means, loads.gap_rate, loads.wind, loads.source, loads.air):
        same = np.diff(series, axis=0) == 0.0
        on &= same if same.ndim == 1 else same.all(axis=1)
    for hour in range(loads.hours - 2, -1, -1):
        found[hour] = found[hour + 1] + 1 if on[hour] else 1
    return found


def _lane(series: Array) -> NDArray[np.float64]:
    return np.ascontiguousarray(series, dtype=np.float64)[None]


def _surfaces(loads: Loads, columns: Mapping[str, int]) -> Array:
    """Some series of both surfaces in the columns of the kernels. (N or N+1, 2, columns)"""
    sides = {OUTSIDE: loads.outside, INSIDE: loads.inside}
    rows = len(getattr(loads.outside, next(iter(columns))))
    packed = np.empty((rows, len(sides), len(columns)))
    for side, surface in sides.items():
        for name, column in columns.items():
            packed[:, side, column] = getattr(surface, name)
    return packed
