"""Wind of generated weather: Weibull speeds with calms, directions of the rose."""

from __future__ import annotations

import numpy as np

from weather.arrays import Array
from weather.course import Calendar, monthly_mean
from weather.normals import CALM, MonthlyNormals
from weather.synthetic.draws import between_noons, mix, persistent, ranks

_SHAPE, _GUSTIER = 2.3, 1.5
"""Weibull exponent of moving air and its loss per share of calms; fitted to four typical years."""


def wind_speed(
    random: np.random.Generator, axis: Calendar, normals: MonthlyNormals, breeze: Array
) -> Array:
    """Speed at 10 m, persistent, stronger in the afternoon and on unsettled days. [m/s]"""
    process = mix(between_noons(breeze, axis), persistent(random, axis.hours, 0.9), 0.7)
    process = process + 0.35 * np.cos(2.0 * np.pi * (axis.hour - 15.0) / 24.0)
    calm = normals.calms()[axis.month]
    above = (ranks(process, axis.month) - calm) / (1.0 - calm)
    shape = _SHAPE - _GUSTIER * np.minimum(calm, 0.5)
    excess = (-np.log1p(-np.maximum(above, 0.0))) ** (1.0 / shape)
    target = np.asarray(normals.wind_speed, dtype=float)
    least = np.minimum(CALM, 0.5 * target)[axis.month] * (above > 0.0)
    scale = (target - monthly_mean(least, axis)) / monthly_mean(excess, axis)
    return np.asarray(least + scale[axis.month] * excess)


def wind_direction(random: np.random.Generator, axis: Calendar, normals: MonthlyNormals) -> Array:
    """Persistent direction whose hours meet the rose; even within each sector. [degree]"""
    rose = normals.rose()
    sectors = rose.shape[1]
    score = ranks(persistent(random, axis.hours, 0.93), axis.month)
    direction = np.empty(axis.hours)
    for number in range(12):
        rows = axis.month == number
        edges = np.concatenate([[0.0], np.cumsum(rose[number])])
        bounds = (np.arange(sectors + 1) - 0.5) * 360.0 / sectors
        direction[rows] = np.interp(score[rows], edges, bounds)
    return direction % 360.0
