"""Decay of wood from hourly conditions: a fungus model and two dose-response models.

Owns the formulas with their constants and the compiled loop; knows no Dataset. That the choice of
decay model is the main uncertainty was found by Niklewski et al. 2021, Forests 12(6), 721.
All constants are from memory.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from hygro.assess.course import Course, Order
from hygro.constants import ZERO_CELSIUS
from hygro.errors import InputError
from hygro.solve.kernels.compiler import entry, inlined

Array = NDArray[np.float64]

HOURS_PER_MONTH = 720.0
RECOVERY_HOURS = 17520.0
"""Two years without favourable conditions undo a full activation (from memory). [h]"""
DRY = 95.0
"""Relative humidity up to which nothing grows. [%]"""
WARMEST = 30.0
"""Upper end of the fit; warmer wood is rated as at this temperature. [°C]"""
DOSE_OF_ONSET = 325.0
"""Dose at which decay begins, rating 1 (Isaksson et al. 2013, from memory). [d]"""
DOSE_WEIGHT = 3.2
Fit = Literal["brischke2010", "brischke2016"]
RATING = {"brischke2010": (1.7716, 0.0032), "brischke2016": (1.9612, 0.0037)}
"""b, c of rating = 4 exp(-exp(b - c dose)); which pair fits which data is uncertain."""


class BrownRot(NamedTuple):
    """Activation of the fungus [1] and loss of dry mass [kg/kg], dims as the input."""

    activation: np.ndarray
    mass_loss: np.ndarray


def brown_rot(temperature: np.ndarray, rh: np.ndarray) -> BrownRot:
    """Brown rot on pine sapwood, Viitanen et al. 2010, Eur. J. Wood Prod. 68, 303-313.

    Activation grows in hours above 95 % and 0 °C and falls over two years otherwise; mass is lost
    in favourable hours that begin with activation at 1, and in no others.
    Fitted to about 0-30 °C: warmer wood counts as 30 °C. Where the fit gives no growth (just above
    95 % in the cold) the hour changes nothing.

    Parameters
    ----------
    temperature : array, (time,) or (time, place)
        Hourly temperature of the wood. [K]
    rh : array of the same shape
        Relative humidity in the wood. [1]

    Raises
    ------
    InputError
        For arrays of different shape, NaN, or other units.
    """
    t, h = np.asarray(temperature, float), np.asarray(rh, float)
    if t.shape != h.shape or t.ndim not in (1, 2) or not t.size:
        raise InputError(f"decay: temperature {t.shape} and rh {h.shape} must be alike")
    if not (np.isfinite(t).all() and np.isfinite(h).all()):
        raise InputError("decay: temperature or rh holds NaN or infinity")
    if t.min() < 150.0 or h.max() > 2.0:
        raise InputError("decay: temperature must be in K and rh 0-1; are they in °C or percent?")
    if never_rots(h).all():
        return BrownRot(np.zeros(t.shape), np.zeros(t.shape))
    activation, loss = np.empty(t.shape), np.empty(t.shape)
    columns = (len(t), -1)
    given = (np.ascontiguousarray(values).reshape(columns) for values in (t, h))
    _rot(*given, activation.reshape(columns), loss.reshape(columns))
    return BrownRot(activation, 0.01 * loss)


def never_rots(highest: Array) -> NDArray[np.bool_]:
    """Say where nothing grows in wood up to a relative humidity. [1]"""
    return 100.0 * highest <= DRY


def critical_hours(temperature: float, rh: float) -> float:
    """Hours of constant conditions until decay begins; inf where the fit gives no growth. [h]

    Viitanen et al. 2010; temperature in K, rh 0-1, above 0 °C and 95 %.
    """
    rate = float(_activation_rate(temperature - ZERO_CELSIUS, 100.0 * rh))
    return 1.0 / rate if rate > 0.0 else float("inf")


def loss_rate(temperature: float, rh: float) -> float:
    """Loss of dry mass once decay has begun. [1/h] Viitanen et al. 2010."""
    return 0.01 * float(_loss_rate(temperature - ZERO_CELSIUS, 100.0 * rh))


@entry
def _activation_rate(t: float, h: float) -> float:
    """Rate of activation per hour; t in °C, h in %."""
    if t <= 0.0 or h <= DRY:
        return -1.0 / RECOVERY_HOURS
    t, h = min(t, WARMEST), min(h, 100.0)
    growth = -42.9 + 0.14 * t + 0.45 * h
    if growth <= 0.0:
        return 0.0
    return growth / (HOURS_PER_MONTH * (2.3 * t + 0.035 * h - 0.024 * t * h))


@entry
def _loss_rate(t: float, h: float) -> float:
    """Loss in % of dry mass per hour; t in °C, h in %."""
    if t <= 0.0 or h <= DRY:
        return 0.0
    return max(0.0, -5.96e-2 + 1.96e-4 * min(t, WARMEST) + 6.25e-4 * min(h, 100.0))


def rot_of(temperature: Array, rh: Array, course: Course, places: slice) -> tuple[BrownRot, Array]:
    """`brown_rot` of some places that are looked at together, dims (time, place); [K], [1].

    Returns the highest of them at each instant that is told, and by how much each rots: its loss of
    dry mass and highest activation. [1]
    """
    count = places.stop - places.start
    activation, loss = np.empty(course.told), np.empty(course.told)
    rates, state = np.empty((len(rh) - course.lowest, 2, count)), np.zeros((5, count))
    given = (np.ascontiguousarray(values) for values in (temperature, rh))
    _rot_together(*given, *course, places.start, rates, state, activation, loss)
    _, lost, most = state[:3]
    return BrownRot(activation, 0.01 * loss), 0.01 * lost + most


@entry
def _rot_together(
    temperature: Array,
    humidity: Array,
    order: Order,
    told: int,
    again: int,
    lowest: int,
    place: int,
    rates: Array,
    state: Array,
    activation: Array,
    loss: Array,
) -> None:
    """March places side by side, the first of them `place`.

    Their activation, loss and highest activation are left in `state`. What is met again and again
    is worked out once (room for it in `rates`), and places that all come back to their state after
    a round go the same way through the next ones.
    """
    places = state.shape[1]
    for k in range(len(rates)):
        for s in range(places):
            t = temperature[lowest + k, place + s] - ZERO_CELSIUS
            h = 100.0 * humidity[lowest + k, place + s]
            rates[k, 0, s], rates[k, 1, s] = _activation_rate(t, h), _loss_rate(t, h)
    alpha, lost, most = state[0], state[1], state[2]
    first, due, i = len(order) - told, again, 0
    while True:
        if i >= first:
            activation[i - first], loss[i - first] = 0.0, 0.0
            for s in range(places):
                activation[i - first] = max(activation[i - first], alpha[s])
                loss[i - first] = max(loss[i - first], lost[s])
        i += 1
        if i == len(order):
            break
        rate, losing = rates[order[i] - lowest, 0], rates[order[i] - lowest, 1]
        for s in range(places):
            alpha[s], lost[s] = _rot_step(alpha[s], lost[s], rate[s], losing[s])
            most[s] = max(most[s], alpha[s])
        if i == due and i < first:
            if _is_back(state):
                i += (first - i) // again * again
            due = i + again


@inlined
def _is_back(state: Array) -> bool:
    """Say whether all places are in the state that was kept, and keep the one they are in."""
    back = True
    for s in range(state.shape[1]):
        back = back and state[0, s] == state[3, s] and state[1, s] == state[4, s]
        state[3, s], state[4, s] = state[0, s], state[1, s]
    return back


@inlined
def _rot_step(alpha: float, lost: float, rate: float, loss: float) -> tuple[float, float]:
    """Activation [1] and loss [%] after an hour that has these rates."""
    lost = min(lost + (loss if alpha >= 1.0 else 0.0), 100.0)
    return min(1.0, max(0.0, alpha + rate)), lost


@entry
def _rot(temperature: Array, humidity: Array, activation: Array, loss: Array) -> None:
    """March the columns of temperature [K] and humidity [1], dims (time, place)."""
    steps, columns = temperature.shape
    for s in range(columns):
        alpha, lost = 0.0, 0.0
        activation[0, s], loss[0, s] = alpha, lost
        for i in range(1, steps):
            t, h = temperature[i, s] - ZERO_CELSIUS, 100.0 * humidity[i, s]
            alpha, lost = _rot_step(alpha, lost, _activation_rate(t, h), _loss_rate(t, h))
            activation[i, s], loss[i, s] = alpha, lost


def dose_of_temperature(temperature: np.ndarray) -> np.ndarray:
    """Daily dose from the daily mean temperature [K], 0-1, zero outside 0-40 °C. [d]

    Brischke & Rapp 2010.
    """
    t = np.asarray(temperature, float) - ZERO_CELSIUS
    value = ((-1.8e-6 * t + 9.57e-5) * t - 1.55e-3) * t * t + 4.17e-2 * t
    return np.where((t > 0.0) & (t < 40.0), np.clip(value, 0.0, 1.0), 0.0)


def dose_of_moisture(moisture_content: np.ndarray) -> np.ndarray:
    """Daily dose from the daily mean moisture content [kg/kg], 0-1, zero below 25 %. [d]

    Brischke & Rapp 2010; the polynomial describes wood up to about 140 %.
    """
    u = 100.0 * np.asarray(moisture_content, float)
    value = ((((6.75e-10 * u - 3.50e-7) * u + 7.18e-5) * u - 7.22e-3) * u + 0.34) * u - 4.98
    return np.where(u >= 25.0, np.clip(value, 0.0, 1.0), 0.0)


def daily_dose(
    temperature: np.ndarray,
    moisture_content: np.ndarray,
    *,
    model: Literal["brischke", "simplified"] = "brischke",
) -> np.ndarray:
    """Dose of each day from daily means. [d]

    Parameters
    ----------
    temperature, moisture_content : array
        Daily means. [K], [kg/kg]
    model : str
        "brischke" (Brischke & Rapp 2010) or "simplified" (Isaksson, Brischke & Thelandersson
        2013).
    """
    if model == "simplified":
        t = np.asarray(temperature, float) - ZERO_CELSIUS
        wet = np.clip(np.asarray(moisture_content, float) / 0.30, 0.0, 1.0) ** 2
        return wet * np.clip(t / 30.0, 0.0, 1.0)
    if model != "brischke":
        raise InputError(f"dose model '{model}': must be 'brischke' or 'simplified'")
    warm, wet = dose_of_temperature(temperature), dose_of_moisture(moisture_content)
    dose = (DOSE_WEIGHT * warm + wet) / (DOSE_WEIGHT + 1.0)
    return np.where((warm > 0.0) & (wet > 0.0), dose, 0.0)


def decay_rating(dose: np.ndarray, *, fit: Fit = "brischke2010") -> np.ndarray:
    """Decay rating 0-4 (EN 252) of a summed dose [d]. [1]

    Brischke & Rapp 2010, or Brischke & Meyer-Veltrup 2016, Mater. Struct. 49, 3281-3291.
    """
    if fit not in RATING:
        raise InputError(f"fit '{fit}': must be one of {sorted(RATING)}")
    b, c = RATING[fit]
    return 4.0 * np.exp(-np.exp(b - c * np.asarray(dose, float)))


def daily_means(hourly: np.ndarray) -> np.ndarray:
    """Means of whole days of an hourly series that starts with the initial state, axis 0."""
    days = (len(hourly) - 1) // 24
    return hourly[1 : 1 + 24 * days].reshape(days, 24, *hourly.shape[1:]).mean(axis=1)
