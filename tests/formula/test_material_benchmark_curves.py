"""Benchmark materials against values computed from the printed equations of the exercises.

The equations are EN 15026:2007 and Hagentoft et al. 2004 (J. Thermal Env. & Bldg. Sci. 27(4)),
both from memory; the tables below were computed from them apart from this code.
"""

from __future__ import annotations

import numpy as np
import pytest

from hygro.material.library import get

# Printed to 2 decimals; the tables use R/M_w = 461.47, this code 461.5: adds up to 0.005 kg/m³
W_TOLERANCE = 0.01
# K is printed with 4 digits
K_TOLERANCE = 5e-4

HUMIDITY = [0.2, 0.4, 0.5, 0.6, 0.8, 0.9, 0.95, 0.99]
CONCRETE_W = [26.19, 36.51, 42.94, 51.12, 79.26, 108.01, 129.04, 144.46]
CONCRETE_K = {
    43.0: 8.475e-19,
    60.0: 3.462e-18,
    73.0: 8.887e-18,
    90.0: 2.742e-17,
    110.0: 7.926e-17,
    140.0: 6.354e-16,
    146.0: 1.648e-15,
}


@pytest.mark.parametrize("key", ["en15026-concrete", "hamstad1-load-bearing"])
def test_benchmark_concrete_stores_the_computed_water_content(key):
    np.testing.assert_allclose(get(key).water_content(HUMIDITY), CONCRETE_W, atol=W_TOLERANCE)


@pytest.mark.parametrize("key", ["en15026-concrete", "hamstad1-load-bearing"])
def test_benchmark_concrete_conducts_liquid_as_computed(key):
    k = get(key).liquid.conductivity(list(CONCRETE_K))
    np.testing.assert_allclose(k, list(CONCRETE_K.values()), rtol=K_TOLERANCE)


def test_benchmark_concrete_conductivity_at_the_centre_is_the_first_coefficient():
    k = float(get("en15026-concrete").liquid.conductivity(73.0))
    np.testing.assert_allclose(k, np.exp(-39.2619), rtol=1e-12)  # rounding only


@pytest.mark.parametrize("w", [30.0, 73.0, 110.0, 145.0])
def test_benchmark_concrete_retention_returns_from_its_printed_inverse(w):
    p_suc = 0.125e8 * ((146.0 / w) ** (1 / 0.375) - 1) ** 0.625
    back = float(get("en15026-concrete").water_content_at_suction(p_suc))
    assert back == pytest.approx(w, rel=1e-12)  # both are closed forms: rounding only


def test_benchmark_concrete_permeability_follows_the_moisture_factor():
    delta = get("en15026-concrete").vapour.permeability([0.0, 0.5])
    dry = 0.018016 / (8.314 * 293.15) * 26.1e-6 / 200
    empty = 1 - 42.94 / 146
    np.testing.assert_allclose(delta[0], dry, rtol=1e-12)  # rounding only
    # w printed to 2 decimals: 0.005 of 103
    np.testing.assert_allclose(delta[1], dry * empty / (0.503 * empty**2 + 0.497), rtol=1e-4)


def test_benchmark_concrete_heat_data_are_as_printed():
    m = get("en15026-concrete")
    assert m.density * m.heat_capacity == pytest.approx(1.824e6)
    assert m.thermal.conductivity([0.0, 100.0]) == pytest.approx([1.5, 3.08])
    assert m.vapour.temperature_law == "inverse"


def test_exercise_1_insulation_saturates_at_900():
    m = get("hamstad1-insulation")
    assert m.w_free == pytest.approx(900.0)
    # one point by hand: a·p = 1 at 5000 Pa gives 900/√2
    assert float(m.water_content_at_suction(5000.0)) == pytest.approx(900 / np.sqrt(2))
    assert m.density * m.heat_capacity == pytest.approx(7.4e4)
    assert m.liquid is None


def test_exercise_2_stores_the_computed_water_content():
    m = get("hamstad2")
    # printed to 3 decimals
    assert m.water_content([0.95, 0.45, 0.65]) == pytest.approx([84.769, 19.536, 30.506], abs=6e-4)
    assert m.liquid.driving == "diffusivity"
    assert list(m.liquid.diffusivity([0.0, 50.0, 116.0])) == [6e-10] * 3
    assert list(m.vapour.permeability([0.1, 0.9])) == [1e-15] * 2
    assert m.density * m.heat_capacity == pytest.approx(4.2e5)


@pytest.mark.parametrize(
    ("key", "n"),
    [("hamstad4-load-bearing", (1.65, 6.0)), ("hamstad4-finishing", (1.27,))],
)
def test_exercise_4_outer_exponents_agree_with_their_n(key, n):
    modes = get(key).storage.modes
    assert tuple(mode[2] for mode in modes) == n
    for _, _, power, m in modes:
        assert m == pytest.approx(1 - 1 / power, abs=0.005)  # m printed to 2 decimals


def test_exercise_4_load_bearing_refuses_to_invent_its_missing_table():
    m = get("hamstad4-load-bearing")
    assert m.liquid is None
    assert "not available" in m.sources["liquid"]


EXERCISE_5 = {
    "hamstad5-brick": ([2.99, 4.52, 9.42], [1.430e-16, 1.393e-9, 8.573e-7], 373.5),
    "hamstad5-mortar": ([2.41, 4.06, 37.45], [2.777e-18, 2.248e-15, 6.010e-12], 700.0),
    "hamstad5-insulation": ([2.33, 7.78, 65.8], [8.242e-21, 5.335e-13, 2.226e-9], 871.0),
}


@pytest.mark.parametrize("key", EXERCISE_5)
def test_exercise_5_stores_the_computed_water_content(key):
    expected = EXERCISE_5[key][0]
    # printed to 2 decimals, the last of mortar as 37.4-37.5 and of insulation to 1 decimal
    tolerance = [0.011, 0.011, 0.06]
    error = np.abs(get(key).water_content([0.6, 0.8, 0.95]) - expected)
    assert np.all(error <= tolerance), error


@pytest.mark.parametrize("key", EXERCISE_5)
def test_exercise_5_conducts_liquid_as_computed(key):
    _, expected, w_s = EXERCISE_5[key]
    k = get(key).liquid.conductivity([0.0, 100.0, w_s])
    np.testing.assert_allclose(k, expected, rtol=K_TOLERANCE)


@pytest.mark.parametrize(
    ("key", "falls"),
    [
        ("hamstad5-brick", [(294, 334)]),
        ("hamstad5-mortar", [(470, 477)]),
        ("hamstad5-insulation", [(243, 339), (690, 794)]),
    ],
)
def test_exercise_5_polynomials_fall_only_where_the_print_falls(key, falls):
    m = get(key)
    w = np.arange(0.0, m.w_free + 1.0)
    falling = np.diff(m.liquid.conductivity(w)) < 0
    expected = np.zeros_like(falling)
    for first, last in falls:
        expected |= (w[:-1] >= first) & (w[1:] <= last)
    # the range limits are rounded to 1 kg/m³: the two cells at each end may differ
    assert np.count_nonzero(falling != expected) <= 2 * len(falls)
    assert m.liquid.allow_non_monotone
