"""Mould index against values computed from the printed equations (arithmetic, not test results).

Equations: Hukka & Viitanen 1999, Wood Sci. Technol. 33, 475-485; Ojanen et al. 2010; ANSI/ASHRAE
160-2016 addendum e (from memory). Tolerances are half the last digit given.
"""

from __future__ import annotations

import numpy as np
import pytest

from hygro.assess.mould import (
    CLASSES,
    KILN_SHIFT,
    SPRUCE_SHIFT,
    SPRUCE_SHIFT_VISIBLE,
    critical_rh,
    mould_index,
    weeks_to_start,
    weeks_to_visible,
)

WARM = 293.15


def constant(rh, weeks, **options):
    hours = 168 * weeks + 1
    return mould_index(np.full(hours, WARM), np.full(hours, rh), **options)


@pytest.mark.parametrize(
    ("rh", "pine", "pine_visible", "spruce", "spruce_visible", "kiln"),
    [
        (0.90, 4.20, 7.73, 4.83, 8.21, 3.02),
        (0.95, 1.98, 3.89, 2.28, 4.13, 1.42),
        (0.97, 1.48, 2.98, 1.71, 3.17, 1.07),
        (1.00, 0.97, 2.02, 1.12, 2.15, 0.70),
    ],
)
def test_weeks_of_growth_at_20_degrees_follow_the_equations(
    rh, pine, pine_visible, spruce, spruce_visible, kiln
):
    half = 0.005
    assert weeks_to_start(WARM, rh) == pytest.approx(pine, abs=half)
    assert weeks_to_visible(WARM, rh) == pytest.approx(pine_visible, abs=half)
    assert weeks_to_start(WARM, rh, shift=SPRUCE_SHIFT) == pytest.approx(spruce, abs=half)
    visible = weeks_to_visible(WARM, rh, shift=SPRUCE_SHIFT_VISIBLE)
    assert visible == pytest.approx(spruce_visible, abs=half)
    assert weeks_to_start(WARM, rh, shift=KILN_SHIFT) == pytest.approx(kiln, abs=half)


@pytest.mark.parametrize(
    ("rh", "ceiling"), [(0.90, 3.99), (0.95, 5.12), (0.97, 5.50), (1.00, 6.00)]
)
def test_wood_ends_at_its_ceiling(rh, ceiling):
    # two years: growth slows exponentially towards the ceiling
    assert constant(rh, 104, model="hukka1999")[-1] == pytest.approx(ceiling, abs=0.005)


def test_critical_humidity_at_20_degrees_is_80_04_percent():
    assert critical_rh(WARM) == pytest.approx(0.8004, abs=5e-5)
    assert critical_rh(WARM + 5.0) == 0.80
    # 5 °C: -0.00267*125 + 0.16*25 - 3.13*5 + 100 = 88.01625 %
    assert critical_rh(278.15) == pytest.approx(0.8801625, abs=1e-9)
    assert critical_rh(WARM, rh_min=0.85) == 0.85


@pytest.mark.parametrize(
    ("kind", "day_1", "day_3", "weekly"),
    [
        ("very sensitive", (10.42, 0.005), (20.83, 0.005), (4.357, 5.504, 5.504, 5.504, 5.504)),
        ("sensitive", (18.00, 0.005), (72.04, 0.005), (1.373, 2.412, 3.430, 4.675, 4.676)),
        ("medium resistant", (144.8, 0.05), None, (0.194, 0.388, 0.581, 1.343, 2.745)),
        ("resistant", (338.5, 0.05), None, (0.087, 0.174, 0.261, 0.558, 1.028)),
    ],
)
def test_each_class_grows_at_97_percent_as_its_constants_say(kind, day_1, day_3, weekly):
    index = constant(0.97, 52, sensitivity=kind)
    assert np.flatnonzero(index >= 1.0)[0] / 24 == pytest.approx(day_1[0], abs=day_1[1])
    if day_3 is None:
        assert index.max() < 3.0
    else:
        assert np.flatnonzero(index >= 3.0)[0] / 24 == pytest.approx(day_3[0], abs=day_3[1])
    marks = index[168 * np.array([4, 8, 12, 26, 52])]
    assert marks == pytest.approx(weekly, abs=0.0005)


@pytest.mark.parametrize(
    ("kind", "ceiling"),
    [
        ("very sensitive", 5.504),
        ("sensitive", 4.676),
        ("medium resistant", 3.040),
        ("resistant", 1.760),
    ],
)
def test_index_never_passes_the_ceiling_of_its_class(kind, ceiling):
    index = constant(0.97, 520, sensitivity=kind)
    assert index[-1] == pytest.approx(ceiling, abs=0.0005)


def test_decline_on_wood_follows_the_three_stages():
    dry = np.full(49, 0.5)
    index = mould_index(np.full(49, WARM), dry, model="hukka1999", start=2.0)
    # 0.032 per day for 6 h, nothing to 24 h, 0.016 per day after (Hukka & Viitanen 1999)
    assert index[[6, 24, 48]] == pytest.approx([1.992, 1.992, 1.976], abs=1e-12)


def test_unknown_materials_decline_at_a_tenth_of_wood():
    index = mould_index(np.full(49, WARM), np.full(49, 0.5), start=2.0, model="ashrae160e")
    # 0.00133 per hour for 6 h and 0.000667 per hour for 24 h, times 0.1 (from memory); the printed
    # rates are rounded to three digits, hence 1e-5
    assert 2.0 - index[48] == pytest.approx(0.1 * (6 * 0.00133 + 24 * 0.000667), abs=1e-5)


def test_named_decline_classes_have_their_factors():
    def loss(decline):
        index = mould_index(np.full(7, WARM), np.full(7, 0.5), start=2.0, decline=decline)
        return (2.0 - index[-1]) / 0.008

    names = ("strong", "significant", "relatively low", "almost none")
    # differences of numbers near 2 keep 13 digits
    assert [loss(n) for n in names] == pytest.approx([1.0, 0.5, 0.25, 0.1], abs=1e-10)


def test_addendum_e_grows_slower_than_the_finnish_model_by_the_spruce_factor():
    finnish = constant(0.97, 1, sensitivity="sensitive")
    addendum = constant(0.97, 1, sensitivity="sensitive", model="ashrae160e")
    # far below the ceiling both are linear: ratio exp(0.14); 1e-3 for the k2 damping
    assert finnish[-1] / addendum[-1] == pytest.approx(np.exp(0.14), rel=1e-3)
    same = constant(0.97, 1, sensitivity="very sensitive", model="ashrae160e")
    assert same == pytest.approx(constant(0.97, 1, sensitivity="very sensitive"), abs=0.0)


def test_frost_and_heat_let_nothing_grow():
    for kelvin in (273.15, 263.15, 323.15, 330.0):
        index = mould_index(np.full(500, kelvin), np.ones(500), sensitivity="very sensitive")
        assert index.max() == 0.0


def test_humidity_minimum_of_resistant_classes_is_85_percent():
    hours = 1000
    for kind, row in CLASSES.items():
        index = mould_index(np.full(hours, 298.15), np.full(hours, 0.84), sensitivity=kind)
        assert (index[-1] > 0.0) == (row.rh_min == 80.0 and row.a > 0.0), kind
