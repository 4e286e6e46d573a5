"""Reference solutions checked by a route of their own: balances, limits, a second method."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.linalg import solve_banded
from scipy.special import erf, zeta

from hygro.proof.references import conduction, cup, series, stefan, transfer_matrix, uptake

SOLID = {"conductivity": 1.2, "capacity": 1.7e6, "coefficient": 9.0}


def second(function, x, step):
    """Second derivative, fourth-order central."""
    values = [function(x + k * step) for k in (-2, -1, 0, 1, 2)]
    weights = (-1.0, 16.0, -30.0, 16.0, -1.0)
    return sum(w * v for w, v in zip(weights, values, strict=True)) / (12.0 * step**2)


def first(function, x, step):
    """First derivative, fourth-order central."""
    values = [function(x + k * step) for k in (-2, -1, 1, 2)]
    weights = (1.0, -8.0, 8.0, -1.0)
    return sum(w * v for w, v in zip(weights, values, strict=True)) / (12.0 * step)


def share(x, t):
    return conduction.step_with_coefficient(np.asarray(x), t, **SOLID)


def test_step_solution_satisfies_the_heat_equation():
    for x, t in ((0.02, 1800.0), (0.08, 7200.0), (0.3, 86400.0)):
        rate = SOLID["capacity"] * first(lambda s, x=x: share(x, s), t, 0.01 * t)
        bend = SOLID["conductivity"] * second(lambda s, t=t: share(s, t), x, 0.02 * x)
        # fourth-order differences with steps of 1-2 %
        assert rate == pytest.approx(bend, rel=1e-4)


def test_step_solution_satisfies_the_surface_condition():
    time, step = 7200.0, 1e-4
    ends = share(np.arange(5) * step, time)
    slope = (-25 * ends[0] + 48 * ends[1] - 36 * ends[2] + 16 * ends[3] - 3 * ends[4]) / (12 * step)
    inflow = SOLID["coefficient"] * (1.0 - ends[0])
    assert -SOLID["conductivity"] * slope == pytest.approx(inflow, rel=1e-8)  # 4th order, 0.1 mm


def test_step_heat_taken_equals_the_heat_stored():
    time = 7200.0
    stored, _ = quad(lambda x: float(share(x, time)), 0.0, 2.0, points=[0.1], epsrel=1e-10)
    taken = conduction.step_heat_taken(time, **SOLID)
    assert taken == pytest.approx(SOLID["capacity"] * stored, rel=1e-8)  # quadrature tolerance


def test_step_with_a_huge_coefficient_is_the_imposed_surface():
    bare = conduction.step_with_coefficient(
        np.array([0.0, 0.05, 0.1]), 7200.0, conductivity=1.2, capacity=1.7e6, coefficient=1e9
    )
    imposed = uptake.constant_profile(np.array([0.0, 0.05, 0.1]), 7200.0, diffusivity=1.2 / 1.7e6)
    np.testing.assert_allclose(bare, imposed, atol=1e-7)  # λ/(h √(a t)) = 2e-8


def complex_wall(layers, cells, outside_film, inside_film, period):
    """Flux at the inner surface per unit outer temperature, direct complex finite volumes."""
    width = np.concatenate([np.full(cells, d / cells) for d, _, _ in layers])
    lam = np.concatenate([np.full(cells, k) for _, k, _ in layers])
    cap = np.concatenate([np.full(cells, c) for _, _, c in layers])
    half = 0.5 * width / lam
    between = 1.0 / (half[:-1] + half[1:])
    left, right = 1.0 / (inside_film + half[0]), 1.0 / (outside_film + half[-1])
    matrix = np.zeros((3, width.size), dtype=complex)
    matrix[1] = 1j * 2.0 * np.pi / period * cap * width
    matrix[1, :-1] += between
    matrix[1, 1:] += between
    matrix[1, 0] += left
    matrix[1, -1] += right
    matrix[0, 1:] = matrix[2, :-1] = -between
    load = np.zeros(width.size, dtype=complex)
    load[-1] = right
    return left * solve_banded((1, 1), matrix, load)[0]


@pytest.mark.parametrize("period", [86400.0, 7 * 86400.0])
def test_transfer_matrix_agrees_with_a_direct_complex_solution(period):
    layers = [(0.0125, 0.25, 9e5), (0.14, 0.040, 3e4), (0.24, 0.8, 1.5e6)]
    found = transfer_matrix.periodic_wall(
        [transfer_matrix.Layer(*layer) for layer in layers],
        inside_resistance=0.13,
        outside_resistance=0.04,
        period=period,
    )
    coarse, fine = (complex_wall(layers, n, 0.04, 0.13, period) for n in (100, 200))
    # second order: extrapolated, the remaining error is fourth order, about 1e-7
    best = fine + (fine - coarse) / 3.0
    # both count the flux from outside to inside; Y12 = -1/Z12 carries the sign of ISO 13786
    assert abs(found.transmittance) == pytest.approx(abs(best), rel=1e-6)
    turn = np.angle(found.transmittance / best)
    assert abs(turn) == pytest.approx(0.0, abs=1e-5)


def test_transfer_matrix_has_unit_determinant():
    matrix = transfer_matrix.layer_matrix(transfer_matrix.Layer(0.2, 1.8, 2.4e6))
    assert np.linalg.det(matrix) == pytest.approx(1.0, abs=1e-12)  # round-off


def test_slow_variation_makes_the_periodic_wall_steady():
    layers = [transfer_matrix.Layer(0.2, 1.8, 2.4e6)]
    year = transfer_matrix.periodic_wall(
        layers, inside_resistance=0.13, outside_resistance=0.04, period=1e9
    )
    assert year.decrement == pytest.approx(1.0, abs=1e-5)


WALL = conduction.RadiatingWall(
    (0.09, 2.8), 12.0, 7.7, 268.15, 293.15, 250.15, 267.15, 0.9, 0.5, 0.5, 120.0
)


def test_radiating_wall_closes_every_balance():
    outer, joint, inner = conduction.radiating_wall_temperatures(WALL)
    fluxes = [(outer - joint) / 0.09, (joint - inner) / 2.8, 7.7 * (inner - 293.15)]
    np.testing.assert_allclose(fluxes, fluxes[0], rtol=1e-10)  # same flux through all
    net = 0.9 * 5.670374e-8 * (0.5 * 250.15**4 + 0.5 * 267.15**4 - outer**4)
    assert 120.0 + 12.0 * (268.15 - outer) + net == pytest.approx(fluxes[0], abs=1e-8)


def test_radiating_wall_without_radiation_is_resistances_in_series():
    dark = WALL._replace(emissivity=0.0, absorbed=0.0)
    found = conduction.radiating_wall_temperatures(dark)
    series_values, _ = conduction.layer_temperatures(
        (1.0 / 12.0, 0.09, 2.8, 1.0 / 7.7), dark.outside, dark.inside
    )
    np.testing.assert_allclose(found, series_values[1:-1], atol=1e-9)  # root tolerance


def test_slab_series_meets_its_start_its_faces_and_its_end():
    slab = {"thickness": 0.2, "diffusivity": 6e-10, "initial": 80.0, "left": 20.0, "right": 30.0}
    x = np.array([0.0, 0.05, 0.1, 0.15, 0.2])
    start = series.slab_profile(x, 600.0, **slab)
    # after 10 min the front reaches 3 mm: the inner points still hold the start
    np.testing.assert_allclose(start, [20.0, 80.0, 80.0, 80.0, 30.0], atol=1e-9)
    late = series.slab_profile(x, 1e10, **slab)
    np.testing.assert_allclose(late, 20.0 + 10.0 * x / 0.2, atol=1e-9)


def test_slab_mean_falls_by_the_flux_through_both_faces():
    slab = {"thickness": 0.2, "diffusivity": 6e-10, "initial": 80.0, "left": 20.0, "right": 30.0}
    time, step = 1e6, 1e-5
    rate = first(lambda t: series.slab_mean(t, **slab), time, 1e3) * 0.2
    near = series.slab_profile(np.array([0.0, step, 2 * step]), time, **slab)
    far = series.slab_profile(np.array([0.2, 0.2 - step, 0.2 - 2 * step]), time, **slab)
    slopes = [(-3 * v[0] + 4 * v[1] - v[2]) / (2 * step) for v in (near, far)]
    assert rate == pytest.approx(-6e-10 * sum(slopes), rel=1e-5)  # second-order slopes


def test_short_time_slab_is_a_half_space():
    x = np.linspace(0.0, 0.02, 9)
    time, diffusivity = 36000.0, 6e-10
    slab = series.slab_profile(
        x, time, thickness=0.2, diffusivity=diffusivity, initial=0.0, left=1.0, right=0.0
    )
    half = uptake.constant_profile(x, time, diffusivity=diffusivity)
    np.testing.assert_allclose(slab, half, atol=1e-9)


def test_square_buffer_sum_has_its_closed_form():
    found = series.buffer_uptake_square(effusivity=1.0, saturation=1.0, period=1.0, share=1.0 / 3.0)
    closed = zeta(1.5) / 4.0 * (3.0 - 1.0 / np.sqrt(3.0)) * 2.0 / np.pi**1.5
    assert found == pytest.approx(closed, rel=1e-8)


@pytest.mark.parametrize("part", [1.0 / 3.0, 0.5, 0.2])
def test_square_buffer_agrees_with_superposed_steps(part):
    """Mass of one step is 2 √(t/π): the gain over the high phase, summed over past cycles."""
    k = np.arange(1, 400_001, dtype=float)
    past = np.sqrt(k + part) - 2.0 * np.sqrt(k) + np.sqrt(k - part)
    # the terms fall as -part²/(4 k^1.5): the tail is integrated
    tail = -(part**2) / (2.0 * np.sqrt(k[-1] + 0.5))
    gain = np.sqrt(part) + past.sum() + tail
    found = series.buffer_uptake_square(effusivity=1.0, saturation=1.0, period=1.0, share=part)
    assert found == pytest.approx(2.0 / np.sqrt(np.pi) * gain, rel=1e-7)


def test_ramped_buffer_agrees_with_superposed_ramps():
    """Mass of a ramp is the mean of √t responses; 20 000 past cycles, difference to the mean."""
    ramp, part = 1.0 / 24.0, 1.0 / 3.0

    def response(t):
        return (np.maximum(t, 0.0) ** 1.5 - np.maximum(t - ramp, 0.0) ** 1.5) * 2.0 / (3.0 * ramp)

    def mass(t):
        k = np.arange(20_000.0)
        drift = part * (np.sqrt(k + 1.0) - np.sqrt(k))  # the same at each t: removes nothing
        return np.sum(response(t + k) - response(t - part + k) - drift)

    masses = [mass(t) for t in np.linspace(0.0, 1.0, 1441)]
    gain = 2.0 / np.sqrt(np.pi) * (max(masses) - min(masses))
    found = series.buffer_uptake_ramped(
        effusivity=1.0, saturation=1.0, period=1.0, share=part, ramp=ramp
    )
    # cycles left out move the mass between two times by part·Δt/(2√k) = 1e-3
    assert found == pytest.approx(gain, abs=2.5e-3)
    square = series.buffer_uptake_square(effusivity=1.0, saturation=1.0, period=1.0, share=part)
    assert 0.955 < found / square < 0.965


def test_sine_buffer_is_the_flux_integrated_between_its_zeros():
    omega = 2.0 * np.pi / 86400.0
    flux = 1.7e-7 * 2809.0 * np.sqrt(omega)
    gain, _ = quad(lambda t: flux * np.sin(omega * t), 0.0, 43200.0)
    found = series.buffer_uptake_sine(effusivity=1.7e-7, saturation=2809.0, period=86400.0)
    assert found == pytest.approx(gain, rel=1e-10)


def test_constant_uptake_profile_holds_the_mass_taken_up():
    diffusivity = uptake.diffusivity_from_uptake(0.1, 200.0)
    held, _ = quad(
        lambda x: 200.0 * float(uptake.constant_profile(x, 3600.0, diffusivity=diffusivity)),
        0.0,
        0.5,
        points=[0.05],
        epsrel=1e-10,
    )
    assert held == pytest.approx(0.1 * np.sqrt(3600.0), rel=1e-8)


def test_exponential_uptake_with_ratio_one_is_constant_diffusivity():
    found = uptake.solve_exponential(1.0)
    assert found.constant == pytest.approx(np.pi / 4.0, rel=1e-8)  # collocation tolerance
    exact = uptake.constant_profile(found.depth[:8000], 1.0, diffusivity=1.0)
    np.testing.assert_allclose(found.content[:8000], exact, atol=1e-7)


def test_exponential_uptake_has_the_worked_constant():
    """3.736 for a ratio of 1000, from a separate similarity solution."""
    assert uptake.solve_exponential(1000.0).constant == pytest.approx(3.736, abs=6e-4)


def test_exponential_uptake_profile_holds_the_mass_taken_up():
    found = uptake.solve_exponential(1000.0)
    held = np.trapezoid(found.content, found.depth)
    assert held == pytest.approx(found.uptake, rel=1e-6)  # trapezoids, 20 000 points


def test_varying_cup_profile_carries_one_flux():
    def permeability(humidity):
        return 1e-12 * (1.0 + 9.0 * humidity**3)

    flux = cup.varying_flux(permeability, thickness=0.0125, saturation=2800.0, dry=0.5, humid=0.93)
    for part in (0.2, 0.5, 0.8):
        ends = [
            cup.varying_profile(permeability, part + sign * 1e-4, dry=0.5, humid=0.93)
            for sign in (-1, 1)
        ]
        middle = cup.varying_profile(permeability, part, dry=0.5, humid=0.93)
        local = permeability(middle) * 2800.0 * (ends[1] - ends[0]) / (2e-4 * 0.0125)
        assert local == pytest.approx(flux, rel=1e-6)  # central difference over 2e-4


FREEZING = stefan.FreezingCase(2.0, 1.5, 2.02e6, 2.436e6, 6.68e7, 263.15, 273.15, 283.15)


def test_one_phase_front_solves_stefans_equation():
    case = FREEZING._replace(initial=273.15)
    k = stefan.front_constant(case)
    number = 2.02e6 * 10.0 / 6.68e7
    assert np.sqrt(np.pi) * k * np.exp(k**2) * erf(k) == pytest.approx(number, rel=1e-10)


@pytest.mark.parametrize("initial", [273.15, 283.15])
def test_freezing_extracts_what_the_half_space_has_lost(initial):
    """Sensible heat on both sides of the front and the heat of fusion, at 1 d."""
    case, time = FREEZING._replace(initial=initial), 86400.0
    front = float(stefan.front_position(case, np.array(time)))

    def at(x):
        return float(stefan.temperature(case, np.array(x), time))

    frozen, _ = quad(lambda x: 273.15 - at(x), 0.0, front, epsrel=1e-10)
    warm, _ = quad(lambda x: initial - at(x), front, 4.0, points=[1.0], epsrel=1e-10)
    # water that froze gave its warmth down to 273.15 K first
    lost = 2.02e6 * frozen + 2.436e6 * ((initial - 273.15) * front + warm) + 6.68e7 * front
    assert stefan.heat_extracted(case, time) == pytest.approx(lost, rel=1e-8)


def test_freezing_front_is_at_the_freezing_point_and_jumps_in_flux():
    time = 86400.0
    front = float(stefan.front_position(FREEZING, np.array(time)))
    step = 1e-5
    near = stefan.temperature(FREEZING, front + step * np.array([-2, -1, 0, 1, 2]), time)
    assert near[2] == pytest.approx(273.15, abs=1e-9)
    inner = 2.0 * (3 * near[2] - 4 * near[1] + near[0]) / (2 * step)
    outer = 1.5 * (-3 * near[2] + 4 * near[3] - near[4]) / (2 * step)
    # latent heat times the speed of the front, X/(2t); second-order slopes over 10 µm
    assert inner - outer == pytest.approx(6.68e7 * front / (2.0 * time), rel=1e-5)
