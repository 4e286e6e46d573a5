"""The monthly condensation balance of ISO 13788:2012, steady month by month.

Owns that hand method only; knows nothing of moisture storage, liquid flow, rain or the march.
The clauses are used from memory.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from hygro.errors import InputError, SolveError
from hygro.wall.steady import (
    Array,
    SteadyLayer,
    SteadyWall,
    potentials,
    resistances,
    total_resistance,
)
from weather.moistair import dew_point, saturation_pressure

LARGEST_PART = 0.25
"""Layers of more thermal resistance are subdivided, ISO 13788:2012 (from memory). [m²·K/W]"""
R_SI_SURFACE = 0.25
"""Inner surface resistance for surface humidity, ISO 13788:2012 (from memory). [m²·K/W]"""
DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
"""Length of the months, January first. [d]"""


class MonthClimate(NamedTuple):
    """Mean state of a month on both sides."""

    T_o: float
    """[K]"""
    p_o: float
    """[Pa]"""
    T_i: float
    """[K]"""
    p_i: float
    """[Pa]"""
    seconds: float
    """Length. [s]"""


@dataclass(frozen=True)
class MonthlyBalance:
    """Result, in the order of the months given (not of the start month).

    Attributes
    ----------
    planes : tuple of str
        Names of the interfaces, outside to inside.
    rate : array (month, plane)
        Mean net condensation, negative for evaporation. [kg/(m²·s)]
    accumulated : array (month, plane)
        Water at the plane at the end of the month. [kg/m²]
    start : int or None
        First month that condenses; None if none does.
    dries_out : bool
        Whether nothing is left at the end of the month before `start`.
    """

    planes: tuple[str, ...]
    rate: Array
    accumulated: Array
    start: int | None
    dries_out: bool

    @property
    def greatest(self) -> float:
        """Largest water content of all planes together in any month. [kg/m²]"""
        return float(self.accumulated.sum(axis=1).max())


def subdivided(wall: SteadyWall, *, largest: float = LARGEST_PART) -> SteadyWall:
    """Split layers so that no part exceeds `largest`; parts are equal and named name#k."""
    parts: list[SteadyLayer] = []
    for layer in wall.layers:
        # The guard keeps a layer of exactly n·largest from being cut once more by round-off.
        n = max(1, math.ceil(layer.R / largest - 1e-12))
        names = [layer.name] if n == 1 else [f"{layer.name}#{k + 1}" for k in range(n)]
        parts += [SteadyLayer(name, layer.R / n, layer.Z / n) for name in names]
    return replace(wall, layers=tuple(parts))


def _hull(Z: Array, p: Array, first: int, last: int) -> list[int]:
    """Lower convex hull between two fixed points: the taut string under the saturation points."""
    kept = [first]
    for k in range(first + 1, last + 1):
        while len(kept) > 1 and _above_chord(Z, p, kept[-2], kept[-1], k):
            kept.pop()
        kept.append(k)
    return kept


def _above_chord(Z: Array, p: Array, left: int, mid: int, right: int) -> bool:
    chord = (p[right] - p[left]) * (Z[mid] - Z[left])
    # 1e-9 relative: a point that touches the chord is dry, whatever the last bits say.
    return bool((p[mid] - p[left]) * (Z[right] - Z[left]) >= chord - 1e-9 * abs(chord))


def net_condensation(Z: Array, p_sat: Array, p_o: float, p_i: float, wet: Sequence[int]) -> Array:
    """Condensation minus evaporation at each interface. [kg/(m²·s)]

    Between the ends and the planes that already hold water, vapour pressure follows the lowest
    string under the saturation pressures, so that it condenses at as few planes as possible.
    g_c = (p_i − p_c)/(Z_T − Z_c) − (p_c − p_o)/Z_c, generalised to several planes.

    Parameters
    ----------
    Z : array
        Vapour resistance from outside to the n interfaces and to the inner end. [m²·s·Pa/kg]
    p_sat : array
        Saturation pressure at the n interfaces. [Pa]
    p_o, p_i : float
        Vapour pressure outdoors and indoors. [Pa]
    wet : sequence of int
        Interfaces that hold water and are therefore saturated.
    """
    x = np.concatenate(([0.0], Z))
    p = np.concatenate(([p_o], p_sat, [p_i]))
    pins = [0, *sorted(k + 1 for k in wet), len(x) - 1]
    touched = [0]
    for left, right in itertools.pairwise(pins):
        touched += _hull(x, p, left, right)[1:]
    slope = np.diff(p[touched]) / np.diff(x[touched])
    net = np.zeros(len(p_sat))
    net[np.array(touched[1:-1], dtype=int) - 1] = np.diff(slope)
    return net


def _march_month(Z: Array, p_sat: Array, month: MonthClimate, water: Array) -> Array:
    """Water at the end of a month; a plane that runs dry within it ends that part of the month."""
    left, water = month.seconds, water.copy()
    for _ in range(2 * len(water) + 2):
        wet = [int(k) for k in np.flatnonzero(water > 0.0)]
        net = net_condensation(Z, p_sat, month.p_o, month.p_i, wet)
        drying = [k for k in wet if net[k] < 0.0]
        until_dry = {k: -water[k] / net[k] for k in drying}
        step = min([left, *until_dry.values()])
        water += net * step
        for k in drying:
            if until_dry[k] <= step:
                water[k] = 0.0
        left -= step
        if left <= 0.0:
            return np.maximum(water, 0.0)
    raise SolveError(
        f"monthly balance: planes keep drying and wetting again, {left:.0f} s are left"
    )


def _saturation(T: npt.ArrayLike) -> Array:
    return np.asarray(saturation_pressure(np.asarray(T), over="iso13788"))


def _interfaces(wall: SteadyWall, month: MonthClimate) -> tuple[Array, Array]:
    """Saturation at the interfaces and vapour resistance up to them and to the inner air."""
    R, resistance = resistances(wall)
    Z = np.cumsum(resistance)
    if Z[-1] <= 0.0:
        raise InputError("monthly balance: total vapour resistance Z is 0; give Z of the layers")
    T = potentials(R, month.T_o, month.T_i)[2:-2]
    # Interfaces between layers without vapour resistance share one Z; the coldest one governs, and
    # a tiny spacing keeps the string's slopes finite.
    step = 1e-12 * Z[-1] * np.arange(1, len(T) + 2)
    return _saturation(T), np.concatenate((Z[1:-2], [Z[-1]])) + step


def monthly_balance(wall: SteadyWall, months: Sequence[MonthClimate]) -> MonthlyBalance:
    """Accumulate interstitial condensation over a year, ISO 13788:2012 clause 6 (from memory).

    The year starts with the first month that condenses after one that does not. If the water does
    not evaporate within the year, `dries_out` is False. A plane that runs dry within a month ends
    that part of the month; the rest is counted without it (the standard sets the plane to zero).

    Parameters
    ----------
    wall : SteadyWall
        Is subdivided here.
    months : sequence of MonthClimate
        One cycle, usually twelve.
    """
    wall = subdivided(wall)
    if len(wall.layers) < 2:
        raise InputError("monthly balance: one thin layer has no interface to condense at")
    planes = tuple(
        f"{a.name} | {b.name}" for a, b in zip(wall.layers, wall.layers[1:], strict=False)
    )
    cases = [_interfaces(wall, month) for month in months]
    alone = [
        net_condensation(Z, p, m.p_o, m.p_i, ()).max()
        for (p, Z), m in zip(cases, months, strict=True)
    ]
    n, start = len(months), _start_month(alone)
    rate, held = np.zeros((n, len(planes))), np.zeros((n, len(planes)))
    if start is None:
        return MonthlyBalance(planes, rate, held, None, True)
    water = np.zeros(len(planes))
    for k in [(start + j) % n for j in range(n)]:
        p_sat, Z = cases[k]
        after = _march_month(Z, p_sat, months[k], water)
        rate[k], held[k], water = (after - water) / months[k].seconds, after, after
    return MonthlyBalance(planes, rate, held, start, bool(water.sum() == 0.0))


def _start_month(alone: Sequence[float]) -> int | None:
    wet = [rate > 0.0 for rate in alone]
    if not any(wet):
        return None
    for k, condenses in enumerate(wet):
        if condenses and not wet[k - 1]:
            return k
    return 0


class DesignPeriod(NamedTuple):
    """Fixed winter and drying boundary conditions of DIN 4108-3 (from memory)."""

    edition: str
    winter: MonthClimate
    drying: MonthClimate
    drying_saturation: float | None
    """Saturation pressure given for the plane while drying; None: from the temperatures. [Pa]"""


def _period(T_o: float, rh_o: float, T_i: float, rh_i: float, days: float) -> MonthClimate:
    p_o, p_i = rh_o * float(_saturation(T_o)), rh_i * float(_saturation(T_i))
    return MonthClimate(T_o, p_o, T_i, p_i, 86400.0 * days)


def design_period(edition: str = "2014", *, roof: bool = False) -> DesignPeriod:
    """Design period of DIN 4108-3, edition "2014" or "2001" (both from memory)."""
    if edition == "2014":
        winter = _period(268.15, 0.80, 293.15, 0.50, 90)
        drying = MonthClimate(285.15, 1200.0, 285.15, 1200.0, 86400.0 * 90)
        return DesignPeriod(edition, winter, drying, 2000.0 if roof else 1700.0)
    if edition == "2001" and not roof:
        winter = _period(263.15, 0.80, 293.15, 0.50, 60)
        return DesignPeriod(edition, winter, _period(285.15, 0.70, 285.15, 0.70, 90), None)
    raise InputError(
        f"design period: edition = '{edition}' (roof={roof}): known 2014, and 2001 walls"
    )


class DesignResult(NamedTuple):
    """Condensate of the winter period and what the drying period can remove. [kg/m²]"""

    planes: tuple[str, ...]
    condensed: Array
    evaporable: Array


def design_condensation(wall: SteadyWall, period: DesignPeriod) -> DesignResult:
    """Condensate and drying potential at the interfaces under fixed boundary conditions. [kg/m²]

    The wall is not subdivided: the fixed-period method looks at the interfaces it is given.
    """
    planes = tuple(
        f"{a.name} | {b.name}" for a, b in zip(wall.layers, wall.layers[1:], strict=False)
    )
    p_sat, Z = _interfaces(wall, period.winter)
    condensed = _march_month(Z, p_sat, period.winter, np.zeros(len(planes)))
    wet = [int(k) for k in np.flatnonzero(condensed > 0.0)]
    p_dry, Z = _interfaces(wall, period.drying)
    if period.drying_saturation is not None:
        p_dry = np.full(len(planes), period.drying_saturation)
    net = net_condensation(Z, p_dry, period.drying.p_o, period.drying.p_i, wet)
    return DesignResult(planes, condensed, np.maximum(-net, 0.0) * period.drying.seconds)


def temperature_factor(wall: SteadyWall, *, R_si: float = R_SI_SURFACE) -> float:
    """f_Rsi = (θ_si − θ_e)/(θ_i − θ_e) of a plane wall with the given inner resistance. [-]"""
    total = total_resistance(wall) - wall.R_si + R_si
    return 1.0 - R_si / total


def needed_temperature_factor(month: MonthClimate, *, rh_limit: float = 0.8) -> float:
    """Least f_Rsi that keeps surface RH at the limit: p_sat(θ_si) = p_i/rh_limit. [-]

    0.8 is the mould limit, 1.0 condensation, 0.6 corrosion (ISO 13788:2012, from memory).
    """
    if not 0.0 < rh_limit <= 1.0:
        raise InputError(f"surface humidity: rh_limit = {rh_limit}: must be 0–1; in percent?")
    if not month.T_o < month.T_i:
        raise InputError("surface humidity: the month must be colder outdoors than indoors")
    T_si = float(dew_point(month.p_i / rh_limit, over="iso13788"))
    return (T_si - month.T_o) / (month.T_i - month.T_o)
