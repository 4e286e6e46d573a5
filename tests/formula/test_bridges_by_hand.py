"""Joints, metal and shape factors, each number written out. Formulas of ISO 6946 from memory."""

from __future__ import annotations

import math

import numpy as np
import pytest
from real_walls import STILL, plain

from hygro.wall.attachments import interrupted_resistance, u_values
from hygro.wall.bridge import slot_resistance
from hygro.wall.elements import Layer
from hygro.wall.framing import Path, resistance_bounds
from hygro.wall.interruptions import Attachment, Joints
from hygro.wall.joints import around, joint_resistances, worst_path
from hygro.wall.shank import (
    Shank,
    disc_conductance,
    embedded_conductance,
    film_conductance,
    parallel_path_temperature,
    shank_temperature,
)
from hygro.wall.wall import Wall


def insulated(**more: object) -> Wall:
    """100 mm of 0.04 (2.5 m²·K/W), 12.5 mm of 0.25 (0.05), films 0.04 and 0.13: 2.72 in all."""
    layers = (
        Layer(plain(0.04), 0.10, name="insulation", **more),
        Layer(plain(0.25), 0.0125, name="board"),
    )
    return Wall("insulated", layers, outside=STILL)


def slot(depth: float, width: float) -> float:
    """Closed slot between faces of emissivity 0.9. [m²·K/W]"""
    convection = max(1.25, 0.025 / depth)
    x = depth / width
    radiation = 0.5 * 5.1 / (2.0 / 0.9 - 1.0) * (1.0 + math.sqrt(1.0 + x * x) - x)
    return 1.0 / (convection + radiation)


@pytest.mark.parametrize(
    ("depth", "width", "R"),
    # 50 by 4 mm: 1.25 + 2.0864·1.0399 = 3.4197; 10 by 10 mm: 2.5 + 2.0864·1.4142 = 5.4506
    [(0.05, 0.004, 1 / 3.4197), (0.01, 0.01, 1 / 5.4506)],
)
def test_closed_slots_of_a_hand_worked_case(depth: float, width: float, R: float) -> None:
    assert slot_resistance(depth=depth, width=width) == pytest.approx(R, rel=1e-4)
    assert slot(depth, width) == pytest.approx(R, rel=1e-4)


def test_joints_of_which_only_the_width_is_said_stand_122_cm_apart() -> None:
    found = u_values(insulated(joints=Joints(0.0122, fill="outdoor_air")))
    # 1 % of the area straight to outdoor air
    assert found.jointed == pytest.approx(0.99 / 2.72 + 0.01 / 0.22, rel=1e-9)
    assert found.effective == pytest.approx(found.jointed, rel=1e-9)
    assert found.clear == pytest.approx(1 / 2.72, rel=1e-9)


def test_joints_both_ways_and_aligned() -> None:
    both = insulated(joints=Joints(0.01, spacing=1.0, length=2.0, fill="outdoor_air"))
    share = 1.0 - 0.99 * 0.995
    assert u_values(both).jointed == pytest.approx((1 - share) / 2.72 + share / 0.22, rel=1e-9)
    aligned = insulated(
        joints=Joints(0.01, spacing=1.0, fill="outdoor_air", layers=2, staggered=False)
    )
    assert u_values(aligned).jointed == pytest.approx(0.99 / 2.72 + 0.01 / 0.22, rel=1e-9)


def test_slots_open_with_shrinkage_and_are_as_deep_as_their_board() -> None:
    joints = Joints(0.002, spacing=1.0, shrinkage=0.002, layers=2, staggered=False)
    wall = insulated(joints=joints)
    # 4 mm wide, two boards of 50 mm: two slots of 50 mm over each other
    R = 2 * slot(0.05, 0.004)
    assert joint_resistances(wall, "insulation").worst == pytest.approx(R, rel=1e-9)
    air = worst_path(wall).solids[0]
    assert air.thickness == 0.10
    assert 0.10 / float(air.material.thermal.conductivity(0.0)) == pytest.approx(R, rel=1e-9)
    expected = 1 / (0.996 / 2.72 + 0.004 / (R + 0.22)) - 0.22
    assert joint_resistances(wall, "insulation").effective == pytest.approx(expected, rel=1e-9)


def test_what_stands_around_a_layer_has_its_films() -> None:
    assert around(insulated(), "insulation") == pytest.approx((0.04, 0.18), rel=1e-9)
    assert around(insulated(), "board") == pytest.approx((2.54, 0.13), rel=1e-9)


def test_metal_of_another_layer_is_not_counted() -> None:
    screws = Attachment("screws", 0.4, 0.005, row_spacing=0.6)
    # π/4·25 mm² on 0.24 m²: a share of 8.181e-5
    share = math.pi / 4 * 25e-6 / 0.24
    gain = share * (50.0 / 0.04 - 1.0)
    wall = insulated(attachments=(screws,))
    other = Layer(plain(0.25), 0.0125, name="board", attachments=(screws,))
    both = Wall("both", (wall.layers[0], other), outside=STILL)
    assert screws.share == pytest.approx(share, rel=1e-12)
    for item in (wall, both):
        found = interrupted_resistance(item, "insulation")
        assert found == pytest.approx(2.5 / (1 + gain), rel=1e-9)


def test_shape_factors_of_hand_worked_cases() -> None:
    # 2π·0.05·0.12/ln(4·0.05/0.005) = 0.037699/3.68888
    found = embedded_conductance(diameter=0.005, depth=0.05, conductivity=0.12)
    assert found == pytest.approx(0.0102197, rel=1e-5)
    assert disc_conductance(diameter=0.02, conductivity=0.12) == pytest.approx(0.0048, rel=1e-12)
    # π/4·0.02²·25
    assert film_conductance(diameter=0.02, coefficient=25.0) == pytest.approx(7.85398e-3, rel=1e-5)


def test_shank_held_at_its_outer_plane_and_free_inside() -> None:
    """A fin whose head is at its plane: excess −s·sinh(m·x)/(m·cosh(m·L)), closed form of a fin.

    With k·A·(s + θ') = 0 at the inner end and θ(0) = 0; the slope s of the undisturbed profile.
    """
    shank = Shank(0.006, 50.0, 0.10, 0.03, 0.10, outer=1e9, inner=0.0)
    m = math.sqrt(2 * math.pi * 0.03 / math.log(0.2 / 0.006) / (50.0 * math.pi / 4 * 36e-6))
    inner = 20.0 - 20.0 / 0.10 * math.tanh(m * 0.10) / m
    found = shank_temperature(shank, T_outer=273.15, T_inner=293.15)
    assert found.inner == pytest.approx(273.15 + inner, abs=1e-6)
    chi = 50.0 * math.pi / 4 * 36e-6 / 0.10 * inner / 20.0
    assert found.chi == pytest.approx(chi, rel=1e-6)


def test_cold_bound_divides_the_difference_by_resistances() -> None:
    found = parallel_path_temperature(R_outer=0.5, R_inner=1.5, T_o=263.15, T_i=295.15)
    assert found == pytest.approx(263.15 + 8.0, abs=1e-9)


def test_bounds_of_a_framed_wall_of_a_hand_worked_case() -> None:
    paths = [Path(0.8, (1.0, 3.0)), Path(0.2, (1.0, 1.0))]
    found = resistance_bounds(paths)
    # 1/(0.8/4 + 0.2/2) = 3.3333; 1 + 1/(0.8/3 + 0.2/1) = 3.142857
    np.testing.assert_allclose(found, [1 / 0.3, 1 + 1 / (0.8 / 3 + 0.2)], rtol=1e-12)
    assert found.mean == pytest.approx(0.5 * (1 / 0.3 + 1 + 15 / 7), rel=1e-12)
