"""Resistances as a hand calculation has them: ISO 6946 air layers and films (from memory)."""

from __future__ import annotations

from dataclasses import replace

import pytest
from real_walls import plain

from hygro.material.storage import LinearStorage
from hygro.material.thermal import LinearConductivity
from hygro.wall.elements import Gap, Layer, Openings, Washing
from hygro.wall.resistance import (
    R_SI,
    conductivity,
    first_counted,
    is_ventilated,
    outer_film,
    resistance,
)
from hygro.wall.wall import Wall


@pytest.mark.parametrize(
    ("depth", "R"),
    # ISO 6946 table of unventilated air layers, horizontal flow (from memory); 20 mm is halfway
    [(0.005, 0.11), (0.007, 0.13), (0.010, 0.15), (0.015, 0.17), (0.020, 0.175), (0.025, 0.18),
     (0.050, 0.18)],
)  # fmt: skip
def test_air_layers_have_the_resistance_of_the_table(depth: float, R: float) -> None:
    assert resistance(Gap("gap", depth, 0.0)) == pytest.approx(R, abs=1e-12)


def test_a_plane_that_wind_washes_has_no_resistance() -> None:
    assert resistance(Gap("plane", 0.001, Washing(0.03, 1e-9))) == 0.0


@pytest.mark.parametrize(
    ("air_change", "ventilated"),
    # more than 10 an hour (common practice, no source); months by their mean
    [(10.0, False), (10.1, True), ((5.0,) * 11 + (50.0,), False), ((5.0,) * 11 + (100.0,), True),
     (Openings(0.01, 2.5), True)],
)  # fmt: skip
def test_a_gap_counts_as_ventilated_above_ten_changes_an_hour(
    air_change: object, ventilated: bool
) -> None:
    assert is_ventilated(Gap("gap", 0.02, air_change)) is ventilated


def test_only_what_stands_behind_the_last_ventilated_gap_counts() -> None:
    def board(name: str) -> Layer:
        return Layer(plain(0.1), 0.01, name=name)

    outer, inner = Gap("outer", 0.02, 100.0), Gap("inner", 0.02, 100.0)
    wall = Wall("two gaps", (board("a"), outer, board("b"), inner, board("c")))
    assert wall.layers[first_counted(wall)].name == "c"
    # films of ISO 6946: 0.13 towards still air of a gap, 0.04 in wind
    assert outer_film(wall) == 0.13
    plain_wall = Wall("none", (board("a"), Gap("still", 0.02, 0.0), board("b")))
    assert (first_counted(plain_wall), outer_film(plain_wall), R_SI) == (0, 0.04, 0.13)


def test_hand_numbers_take_half_humidity_and_ten_degrees() -> None:
    thermal = LinearConductivity(
        dry=0.03, per_water=0.001, temperature_factor=((263.15, 1.5), (283.15, 1.2), (303.15, 1.0))
    )
    material = replace(plain(0.1), storage=LinearStorage(slope=20.0), thermal=thermal)
    # 50 % RH holds 10 kg/m³: 0.03 + 0.01, times the factor at 10 °C
    assert conductivity(material) == pytest.approx(0.04 * 1.2, rel=1e-9)
    assert resistance(Layer(material, 0.096)) == pytest.approx(2.0, rel=1e-9)
