"""Hourly loads with hard hours, reproducible by a seed. Owns their ranges; asserts nothing.

Ranges are those of hard hours, not of typical ones: 15 K in an hour, frost, cloudbursts, full sun
on dark thin cladding, 300 air changes per hour. Needs no test library, so that tools can use it.
"""

from __future__ import annotations

import numpy as np

from hygro.constants import STEFAN_BOLTZMANN
from hygro.wall.elements import Openings
from hygro.wall.leaks import AirLeak, Wetting
from hygro.wall.loads import LEWIS, Loads, SurfaceLoads
from hygro.wall.wall import Wall
from weather.moistair import saturation_pressure


def random_loads(wall: Wall, seed: int, hours: int) -> Loads:
    """Hourly loads with jumps, rain, frost and sun, reproducible by `seed`."""
    rng = np.random.default_rng(seed)
    clock = np.arange(hours + 1)
    T_out = _outdoor_temperature(rng, clock)
    p_out = _wander(rng, hours + 1, 0.2, 1.0) * saturation_pressure(T_out, over="iso13788")
    wind = _wander(rng, hours, 0.0, 12.0)
    h_out = 4.0 + 4.0 * np.concatenate([wind[:1], wind])
    T_in = 293.15 + rng.uniform(-3.0, 5.0) + np.cumsum(rng.normal(0.0, 0.2, hours + 1))
    rh_in = _wander(rng, hours + 1, 0.2, 0.7)
    p_in = rh_in * saturation_pressure(T_in, over="water")
    ones, none = np.ones(hours + 1), np.zeros(hours)
    sky_and_sun, rain = _radiation(rng, wall, T_out, clock), _rain(rng, hours)
    flow = wall.air_flow or 0.0
    return Loads(
        time=np.datetime64("2001-01-01T00", "ns") + clock * np.timedelta64(1, "h"),
        outside=SurfaceLoads(T_out, p_out, h_out, LEWIS * h_out, sky_and_sun, rain),
        inside=SurfaceLoads(T_in, p_in, 7.69 * ones, 2.5 * LEWIS * ones, none, none.copy()),
        gap_rate=_gap_rates(wall, hours),
        wind=wind,
        source=_sources(wall, rain),
        air=np.full(hours, flow),
    )


def _outdoor_temperature(rng: np.random.Generator, clock: np.ndarray) -> np.ndarray:
    daily = rng.uniform(0.0, 10.0) * np.sin(2 * np.pi * (clock - 9) / 24)
    T = rng.uniform(243.15, 303.15) + daily + np.cumsum(rng.normal(0.0, 0.5, len(clock)))
    if rng.random() < 0.5:
        T[int(rng.integers(5, len(clock) - 5)) :] += rng.uniform(-15.0, 15.0)
    return np.clip(T, 225.15, 318.15)


def _wander(rng: np.random.Generator, count: int, low: float, high: float) -> np.ndarray:
    """A walk that remembers nine tenths of the hour before, with one jump to anywhere.

    White noise would be no weather: air, wind and clouds change by parts of their range in an hour.
    """
    values = np.empty(count)
    values[0] = rng.uniform(low, high)
    jump = int(rng.integers(1, count))
    for k in range(1, count):
        middle = 0.9 * values[k - 1] + 0.1 * 0.5 * (low + high)
        step = rng.normal(0.0, 0.08 * (high - low))
        values[k] = rng.uniform(low, high) if k == jump else np.clip(middle + step, low, high)
    return values


def _radiation(
    rng: np.random.Generator, wall: Wall, T_out: np.ndarray, clock: np.ndarray
) -> np.ndarray:
    sun = np.maximum(np.sin(2 * np.pi * (clock[1:] - 6.5) / 24), 0.0) * rng.uniform(0.0, 900.0)
    sun = sun * _wander(rng, len(sun), 0.1, 1.0)
    sky = rng.uniform(0.75, 1.0) * STEFAN_BOLTZMANN * T_out[1:] ** 4
    return wall.outside.absorptance * sun + wall.outside.emissivity * sky


def _rain(rng: np.random.Generator, hours: int) -> np.ndarray:
    wet = rng.random(hours) < rng.choice([0.0, 0.1, 0.4])
    return np.where(wet, rng.exponential(1.0, hours), 0.0) / 3600.0


def _gap_rates(wall: Wall, hours: int) -> np.ndarray:
    given = [
        0.0 if isinstance(g.air_change, Openings) else g.air_change * g.depth / 3600.0
        for g in wall.gaps
    ]
    return np.tile(np.array(given, dtype=float), (hours, 1)).reshape(hours, len(given))


def _sources(wall: Wall, rain: np.ndarray) -> np.ndarray:
    columns = []
    for source in wall.leaks.all():
        series = np.zeros(len(rain))
        if isinstance(source, Wetting):
            series[source.hour] = source.mass / 3600.0
        elif isinstance(source, AirLeak):
            series[:] = source.rate
        else:
            series = source.fraction * rain
        columns.append(series)
    return np.stack(columns, axis=1) if columns else np.zeros((len(rain), 0))
