"""Air that moves through gaps, insulation and leaks of a wall, hour by hour, from the weather.

Owns the step from the values of a wall to the formulas of `flow`, `gap_flow` and `washing`; knows
no grid and no solver. Flows are per wall area. [m³/(s·m²)]
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.constants import STANDARD_PRESSURE, STEFAN_BOLTZMANN
from hygro.errors import InputError
from hygro.wall.elements import Gap, Layer, Membrane, Openings, Washing
from hygro.wall.flow import (
    Exposure,
    Leakage,
    air_density,
    leak_at,
    leak_flow,
    stack_pressure,
    wall_pressures,
)
from hygro.wall.gap_flow import GapGeometry, GapWeather, gap_ventilation
from hygro.wall.leaks import AirLeak
from hygro.wall.resistance import R_SI, resistance
from hygro.wall.series import SurfaceLoads
from hygro.wall.wall import Wall
from hygro.wall.washing import washing_rate

Array = NDArray[np.float64]
MONTHS = 12
FILM = 1.0 / 7.0
"""Film between a gap's face and its air, for openings with friction: convection 2.5 and radiation
about 4.5 W/(m²·K) (ISO 6946 parts, from memory). [m²·K/W]"""


class Hours(NamedTuple):
    """Weather and room at the end of each hour, and the means of the hour. (N,) each"""

    time: NDArray[np.datetime64]
    outside: SurfaceLoads
    inside: SurfaceLoads
    wind: Array
    """Of the weather file. [m/s]"""
    direction: Array
    """Where the wind comes from; NaN where unknown. [deg]"""
    pressure: float = STANDARD_PRESSURE
    """Of the air at the site. [Pa]"""


def gap_rate_of(wall: Wall, gap: Gap, hours: Hours) -> Array:
    """Air exchange of a gap; 0 where the march computes it. [m³/(s·m²)]"""
    change = gap.air_change
    if isinstance(change, Openings):
        return _channel(wall, gap, change, hours) if change.friction else np.zeros(len(hours.wind))
    if isinstance(change, Washing):
        washes = washing_rate(
            change,
            wind=wall.site.wind(hours.wind),
            T=hours.outside.temperature,
            pressure=hours.pressure,
        )
        return np.asarray(washes)
    return _given(gap, change, hours) * gap.depth / 3600.0


def _given(gap: Gap, change: float | tuple[float, ...], hours: Hours) -> Array:
    count = len(hours.wind)
    if not isinstance(change, tuple):
        return np.full(count, float(change))
    if len(change) == MONTHS:
        begin = hours.time - np.timedelta64(1, "h")
        return np.asarray(change)[begin.astype("datetime64[M]").astype(int) % MONTHS]
    if len(change) != count:
        raise InputError(
            f"gap '{gap.name}': air_change has {len(change)} values: must be 1, 12 (months) or "
            f"{count} (hours of the climate)"
        )
    return np.asarray(change, dtype=float)


def _channel(wall: Wall, gap: Gap, channel: Openings, hours: Hours) -> Array:
    """Air exchange by `gap_ventilation`, with the cladding at its sol-air temperature."""
    geometry = GapGeometry(
        depth=gap.depth,
        height=channel.height,
        bottom=channel.area,
        top=channel.area,
        discharge=channel.discharge,
        wind_coefficient=channel.wind_coefficient,
        blocked=channel.blocked,
    )
    place = wall.layers.index(gap)
    T_o, h = hours.outside.temperature, hours.outside.heat_coefficient
    emitted = wall.outside.emissivity * STEFAN_BOLTZMANN * T_o**4
    weather = GapWeather(
        T_o=T_o,
        p_o=hours.outside.vapour_pressure,
        T_cladding=T_o + (hours.outside.radiation - emitted) / h,
        T_i=hours.inside.temperature,
        wind_speed=wall.site.wind(hours.wind),
        pressure=hours.pressure,
    )
    found = gap_ventilation(
        geometry,
        weather,
        R_cladding=float(np.mean(1.0 / h)) + FILM + _sum(wall.layers[:place]),
        R_wall=FILM + _sum(wall.layers[place + 1 :]) + R_SI,
    )
    return np.asarray(found.air_change * gap.depth * (1.0 - channel.blocked))


def _sum(elements: Iterable[Layer | Membrane | Gap]) -> float:
    return sum(resistance(element) for element in elements)


def leak_rate(wall: Wall, leak: AirLeak, hours: Hours) -> Array:
    """Air that leaks: the given rate, or that of the pressures of each hour.

    Positive: room air on its way out; negative: outdoor air on its way in. Pressures are indoors
    minus outdoors (`hygro.wall.flow`).
    """
    if leak.rate is not None:
        return np.full(len(hours.wind), leak.rate)
    assert leak.permeance is not None  # the other of the two
    pressure = leak_pressures(wall, leak, hours)
    opening = leak_at(Leakage(leak.permeance, leak.exponent), hours.pressure)
    return np.asarray(leak_flow(opening, pressure))


def leak_pressures(wall: Wall, leak: AirLeak, hours: Hours) -> Array:
    """Pressure that drives a leak, indoors minus outdoors: stack, wind and fan. [Pa]"""
    T_o, T_i = hours.outside.temperature, hours.inside.temperature
    if leak.building_height is None:
        stack = stack_pressure(T_o, T_i, leak.height, pressure=hours.pressure)
        density = air_density(T_o, pressure=hours.pressure)
        wind = -0.5 * density * leak.wind_coefficient * wall.site.wind(hours.wind) ** 2
        return np.asarray(stack + wind + leak.fan_pressure)
    exposure = Exposure(
        azimuth=wall.azimuth,
        above_neutral=leak.height,
        building_height=leak.building_height,
        terrain=leak.terrain,
        fan_pressure=leak.fan_pressure,
    )
    parts = wall_pressures(
        exposure,
        T_o=T_o,
        T_i=T_i,
        wind_speed=hours.wind,
        wind_direction=hours.direction,
        pressure=hours.pressure,
    )
    return np.asarray(parts.total)
