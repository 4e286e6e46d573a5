"""Second implementations, written from the equations in another shape, agree with the package."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from hygro.assess.decay import brown_rot
from hygro.assess.mould import mould_index
from hygro.assess.series import exceedance, running_mean

CONSTANTS = {
    "very sensitive": (1, 2, 1, 7, 2, 80),
    "sensitive": (0.578, 0.386, 0.3, 6, 1, 80),
    "medium resistant": (0.072, 0.097, 0, 5, 1.5, 85),
    "resistant": (0.033, 0.014, 0, 3, 1, 85),
}


def history(seed, hours=9000):
    """Slow swings with noise, so that growth and short and long dry spells all occur."""
    random = np.random.default_rng(seed)
    t = np.arange(hours + 1)
    celsius = 12 + 14 * np.sin(t / 700 + seed) + 4 * np.sin(t / 3.8) + random.normal(0, 1, t.size)
    rh = 0.88 + 0.14 * np.sin(t / 90) + 0.05 * np.sin(t / 5) + random.normal(0, 0.02, t.size)
    return celsius + 273.15, np.clip(rh, 0.2, 1.03)


def critical(celsius, least):
    if celsius > 20:
        return least
    return max(np.polyval([-0.00267, 0.160, -3.13, 100.0], celsius), least)


def slow_index(kelvin, rh, constants, *, w=0, sq=0, factor=1.0, spread=False):
    """Daily rates and the hour at which drying began, instead of a counter."""
    low, high, a, b, c, least = constants
    m, stopped, out = 0.0, None, [0.0]
    for hour in range(1, len(kelvin)):
        celsius, percent = kelvin[hour] - 273.15, min(100 * rh[hour], 100.0)
        favourable = 0 < celsius < 50 and percent >= critical(celsius, least)
        if favourable:
            stopped = None
            q = (percent - critical(celsius, least)) / (100 - critical(celsius, least))
            top = max(0.0, a + b * q - c * q**2)
            start = math.exp(66.02) * celsius**-0.68 * percent**-13.9
            start *= math.exp(0.14 * w - 0.33 * sq)
            visible = math.exp(61.50 + 0.06 * w) * celsius**-0.74 * percent**-12.72
            fast = 2 / (visible / start - 1) if spread else high
            per_day = (low if m < 1 else fast) * max(0.0, 1 - math.exp(2.3 * (m - top)))
            m += per_day / (7 * start) / 24
        else:
            stopped = hour - 1 if stopped is None else stopped
            spell = hour - stopped
            per_day = 0.032 if spell <= 6 else (0.0 if spell <= 24 else 0.016)
            m = max(0.0, m - factor * per_day / 24)
        out.append(m)
    return np.array(out)


@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize("kind", list(CONSTANTS))
def test_mould_index_agrees_with_a_plain_second_implementation(kind, seed):
    kelvin, rh = history(seed)
    ours = mould_index(kelvin, rh, sensitivity=kind, decline=0.25)
    twin = slow_index(kelvin, rh, CONSTANTS[kind], factor=0.25)
    assert twin.max() > 0.01  # the history does make mould grow
    assert (np.diff(twin) < 0).any()  # and lets it decline
    # same operations in another order, 9000 steps: rounding only
    assert ours == pytest.approx(twin, abs=1e-9)


def test_wood_form_agrees_with_a_plain_second_implementation():
    kelvin, rh = history(3)
    ours = mould_index(kelvin, rh, model="hukka1999", wood="spruce", surface="kiln-dried")
    twin = slow_index(kelvin, rh, (1, None, 1, 7, 2, 80), w=1, sq=1, spread=True)
    assert twin.max() > 1.5  # the faster stage is reached
    assert ours == pytest.approx(twin, abs=1e-9)


def test_addendum_e_agrees_with_a_plain_second_implementation():
    kelvin, rh = history(4)
    ours = mould_index(kelvin, rh, model="ashrae160e", sensitivity="sensitive")
    twin = slow_index(kelvin, rh, CONSTANTS["sensitive"], w=1, factor=0.1)
    assert ours == pytest.approx(twin, abs=1e-9)


def test_brown_rot_agrees_with_a_plain_second_implementation():
    kelvin, rh = history(5)
    rh = np.clip(rh + 0.06, 0.0, 1.0)
    alpha = lost = 0.0
    for hour in range(1, len(rh)):
        c, p = min(kelvin[hour] - 273.15, 30.0), 100 * rh[hour]
        wet = kelvin[hour] > 273.15 and p > 95
        if wet and alpha == 1.0:
            lost += max(0.0, -5.96e-2 + 1.96e-4 * c + 6.25e-4 * p)
        if wet:
            # months to start decay: the mass-loss line at 0, solved for the time
            growth, delay = -42.9 + 0.14 * c + 0.45 * p, 2.3 * c + 0.035 * p - 0.024 * c * p
            alpha += growth / delay / 720 if growth > 0 else 0.0
        else:
            alpha -= 1 / 17520
        alpha = min(max(alpha, 0.0), 1.0)
    state = brown_rot(kelvin, rh)
    assert lost > 1.0
    assert 100 * state.mass_loss[-1] == pytest.approx(lost, abs=1e-8)
    assert state.activation[-1] == pytest.approx(alpha, abs=1e-10)


@pytest.mark.parametrize("window", [1, 24, 168, 720])
def test_running_mean_agrees_with_the_plain_mean_of_each_window(window):
    kelvin, _ = history(6, hours=1000)
    ours = running_mean(kelvin, window)
    assert np.isnan(ours[: window - 1]).all()
    plain = [kelvin[i - window + 1 : i + 1].mean() for i in range(window - 1, kelvin.size)]
    # sums of 1000 differences of some 10 K: 12 digits
    assert ours[window - 1 :] == pytest.approx(plain, abs=1e-9)


def test_exceedance_agrees_with_counting_groups():
    _, rh = history(7, hours=2000)
    stamps = np.datetime64("2030-01-01", "ns") + np.arange(rh.size) * np.timedelta64(1, "h")
    ours = exceedance(rh, stamps, 0.9)
    groups = [len(list(g)) for above, g in itertools.groupby(rh[1:] > 0.9) if above]
    assert ours.hours == sum(groups)
    assert ours.longest == max(groups)
    first = int(np.flatnonzero(stamps == ours.began)[0])
    assert (rh[first : first + ours.longest] > 0.9).all()
