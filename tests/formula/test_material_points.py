"""Single values of the library that walls hang on, with their source.

Sorption of boards: 0.93 of the Wood Handbook's wood at most, printed ranges of OSB; absorption
coefficients: ranges of handbooks and of measured boards (from memory).
"""

from __future__ import annotations

import pytest

from hygro.material.library import get


@pytest.mark.parametrize(
    ("rh", "measured"),
    # adsorption at 21 °C, per cent by mass: table of a panel association (from memory)
    [(0.5, 5.2), (0.6, 6.3), (0.7, 8.9), (0.8, 13.1), (0.9, 17.2)],
)
def test_osb_holds_what_was_measured(rh: float, measured: float) -> None:
    m = get("osb")
    assert 100 * float(m.water_content(rh)) / m.density == pytest.approx(measured, abs=0.1)


@pytest.mark.parametrize(
    ("key", "low", "high"),
    # kg/(m²·s½), from memory: wood-based boards through their faces 0.001-0.006, fibre cement
    # 0.01-0.03, gypsum board 0.02-0.06 core, absorbent clay brick 0.1-0.5
    [("osb", 0.001, 0.004), ("plywood", 0.002, 0.006), ("clay-brick-absorbent", 0.1, 0.5)],
)
def test_boards_take_up_water_as_fast_as_measured(key: str, low: float, high: float) -> None:
    assert low <= get(key).liquid.a <= high


@pytest.mark.parametrize(
    ("key", "low", "high"),
    # kg/m³, same compilation as the library names: 630-680, 500-560
    [("osb", 630.0, 680.0), ("plywood", 500.0, 560.0)],
)
def test_boards_weigh_what_the_compilation_says(key: str, low: float, high: float) -> None:
    assert low <= get(key).density <= high


@pytest.mark.parametrize(("key", "value"), [("osb", 0.13), ("plywood", 0.12)])
def test_boards_conduct_what_the_compilation_says_in_use(key: str, value: float) -> None:
    m = get(key)
    # in use: two digits, for boards as damp as at 50 to 70 % RH
    dry, damp = (float(m.thermal.conductivity(m.water_content(rh))) for rh in (0.5, 0.7))
    assert dry - 0.01 <= value <= damp + 0.01


def test_wood_based_boards_are_told_as_such_and_have_the_class_of_glued_boards() -> None:
    for key in ("osb", "plywood", "particleboard"):
        m = get(key)
        assert m.wood_based
        # Ojanen et al. 2010: glued wooden boards are "sensitive" (example from memory)
        assert m.mould_class == "sensitive"
    assert not get("gypsum-sheathing").wood_based


@pytest.mark.parametrize(("rh", "low", "high"), [(0.90, 2.3, 3.1), (1.0, 3.0, 4.0)])
def test_wet_osb_opens_to_about_three_perm(rh: float, low: float, high: float) -> None:
    perm = float(get("osb").vapour.permeability(rh)) / 0.011 / 57.2e-12
    assert low <= perm <= high
