"""Bridges and code tables against printed and computed numbers."""

from __future__ import annotations

import math

import pytest

from hygro.constants import PERM
from hygro.errors import InputError
from hygro.quantities import R_IP
from hygro.wall.bridge import (
    Boards,
    Bridge,
    effective_resistance,
    effective_u,
    fastener_density,
    fastener_gain_iso6946,
    jointed_layer,
    parallel_path_gain,
    slot_resistance,
    steel_stud_resistance,
    wood_framing_fraction,
)
from hygro.wall.codes import (
    code_outer_share,
    deemed_pairs,
    least_outer_resistance,
    least_roof_resistance,
    permitted,
    retarder_class,
    vented_cladding_suffices,
)
from hygro.wall.framing import effective_layer_resistance, framed_paths
from hygro.wall.shank import Shank, embedded_conductance, shank_temperature

INCH = 0.0254


# Conduction added in the insulation alone, parallel path, insulation 0.036–0.029 W/(m·K): computed
# ranges in per cent by core diameter [mm], conductivity and spacing [in].
@pytest.mark.parametrize(
    ("core", "k", "spacing", "low", "high", "half_digit"),
    [
        (4.5, 50.0, 16, 13, 17, 0.5),
        (4.5, 50.0, 24, 6, 7, 0.5),
        (4.5, 15.0, 16, 4, 5, 0.5),
        (4.5, 15.0, 24, 1.8, 2.2, 0.05),
        (6.35, 50.0, 16, 27, 33, 0.5),
        (6.35, 50.0, 24, 12, 15, 0.5),
    ],
)
def test_parallel_path_of_fasteners_matches_the_table(core, k, spacing, low, high, half_digit):
    area = math.pi / 4 * (core * 1e-3) ** 2
    density = fastener_density(spacing * INCH, spacing * INCH)
    for insulation, printed in ((0.036, low), (0.029, high)):
        gain = parallel_path_gain(
            conductivity=k, area=area, density=density, insulation_conductivity=insulation
        )
        # Half of the last printed digit.
        assert 100 * gain == pytest.approx(printed, abs=half_digit + 0.02)


def test_fin_estimate_lies_in_the_range_of_three_dimensional_models():
    # 3-D models of 3 in of insulation: −2 to −16 % (trade article). Screws of 4.5 mm core into
    # wood at 16 and 24 in, heads on 19 mm battens: all values of that class of walls.
    shank = Shank(
        diameter=4.5e-3,
        conductivity=50.0,
        length=3 * INCH,
        insulation=0.030,
        radius=3 * INCH,
        outer=embedded_conductance(diameter=4.5e-3, depth=0.019, conductivity=0.12),
        inner=embedded_conductance(diameter=4.5e-3, depth=0.050, conductivity=0.12),
    )
    chi = shank_temperature(shank, T_outer=263.15, T_inner=283.15).chi
    layer = shank.insulation / shank.length
    for spacing in (16, 24):
        density = fastener_density(spacing * INCH, spacing * INCH)
        loss = 1.0 - layer / effective_u(layer, [Bridge(chi, density)])
        # Whole per cent are printed: half a per cent either way.
        assert 0.015 <= loss <= 0.165


def test_wood_framing_brackets_the_effective_value_of_the_standard():
    # ASHRAE 90.1-2010 table A9.2B as quoted: R-19 in 2×6 at 16 in is worth; the table's own
    # wood share is not stated, so studs alone (1.5/16) and standard framing (25 %) must bracket it.
    shares = (1.5 / 16.0, wood_framing_fraction(16)[0])
    values = [
        effective_layer_resistance(
            framed_paths([1.4 * R_IP], 19 * R_IP, 6.875 * R_IP, [1.1 * R_IP], fraction=share),
            2.5 * R_IP,
        )
        / R_IP
        for share in shares
    ]
    assert values[1] < 15.8 < values[0]


def test_steel_stud_value_is_the_quoted_one():
    found = steel_stud_resistance(depth_in=6.0, spacing_in=16, cavity_R_ip=19)
    assert pytest.approx(7.1 * R_IP) == found.R
    # The same source prints −62 %; 7.1 of 19 is −62.6 %, so it cuts off instead of rounding.
    assert pytest.approx(62.0, abs=1.0) == 100 * (1.0 - found.R / (19 * R_IP))
    with pytest.raises(InputError, match="not in the table"):
        steel_stud_resistance(depth_in=6.0, spacing_in=16, cavity_R_ip=23)


def test_jointed_layers_of_a_hand_worked_case():
    # Board R 2, joint open to outdoor air 1 % of area, 0.5 m²·K/W besides:
    # one layer: 1/(0.99/2.5 + 0.01/0.5) − 0.5 = 1.9038.
    board = Boards(0.06, 0.03, joint_width=0.01, spacing=1.0, fill="outdoor_air")
    one = jointed_layer(board, outside=0.2, inside=0.3)
    assert one.effective == pytest.approx(1.0 / (0.99 / 2.5 + 0.01 / 0.5) - 0.5)
    assert one.worst == 0.0
    # Staggered: 1/(0.98/4.5 + 0.02/2.5) − 0.5; the worst path still has one board.
    two = jointed_layer(board, board, outside=0.2, inside=0.3)
    assert two.effective == pytest.approx(1.0 / (0.98 / 4.5 + 0.02 / 2.5) - 0.5)
    assert two.worst == pytest.approx(2.0)
    aligned = jointed_layer(board, board, staggered=False, outside=0.2, inside=0.3)
    assert aligned.effective == pytest.approx(1.0 / (0.99 / 4.5 + 0.01 / 0.5) - 0.5)
    assert aligned.effective < two.effective < two.sound


def test_joints_both_ways_count_the_crossing_once():
    board = Boards(0.05, 0.03, joint_width=0.01, spacing=0.5, length=1.0)
    assert board.joint_share == pytest.approx(1.0 - 0.98 * 0.99)


def test_narrow_deep_slot_tends_to_convection_alone():
    # Deep and narrow: (1 + √(1 + x²) − x) → 1, so R → 1/(1.25 + ½·E·h_r0), E = 1/(2/0.9 − 1).
    limit = 1.0 / (1.25 + 0.5 * 5.1 / (2.0 / 0.9 - 1.0))
    # 1e-3: x = 1000 leaves 1/(2x) of the term.
    assert slot_resistance(depth=1.0, width=1e-3) == pytest.approx(limit, rel=1e-3)
    # Shallow and wide: the air layer of ISO 6946, h_a = 0.025/d below 20 mm; 5 mm gives 0.11
    # (table 8 of ISO 6946, from memory; two digits).
    assert slot_resistance(depth=0.005, width=1.0) == pytest.approx(0.11, abs=0.005)


def test_bridges_add_to_u_and_lower_r():
    bridges = [Bridge(0.01, 5.0), Bridge(0.02, 1.5)]
    assert effective_u(0.2, bridges) == pytest.approx(0.28)
    assert effective_resistance(0.2, bridges, common=1.0) == pytest.approx(1.0 / 0.28 - 1.0)
    with pytest.raises(InputError, match="above 0"):
        effective_u(0.2, [Bridge(-0.1, 5.0)])


def test_iso6946_fastener_correction_of_a_hand_worked_case():
    # 0.8·50·2e-5·6/0.1·(3/4)² = 0.027; half recessed: 0.8·0.5 over half the length is the same.
    values = {"conductivity": 50.0, "area": 2e-5, "density": 6.0, "R_insulation": 3.0}
    full = fastener_gain_iso6946(depth=0.1, thickness=0.1, R_total=4.0, **values)
    assert full == pytest.approx(0.027)
    half = fastener_gain_iso6946(depth=0.05, thickness=0.1, R_total=4.0, **values)
    assert half == pytest.approx(0.027)


# IRC, class III inside: R and its share of cavity plus outer, computed.
@pytest.mark.parametrize(
    ("zone", "edition", "r4", "r6", "s4", "s6"),
    [
        ("4C", "2018", 2.5, 3.75, 16, 16),
        ("5", "2018", 5, 7.5, 28, 27),
        ("6", "2021", 7.5, 11.25, 37, 36),
        ("7", "2018", 10, 15, 43, 43),
        ("8", "2021", 12.5, 20, 49, 50),
    ],
)
def test_class_three_values_and_their_shares(zone, edition, r4, r6, s4, s6):
    for framing, r, share in (("2x4", r4, s4), ("2x6", r6, s6)):
        value = least_outer_resistance(zone, framing, edition=edition)
        assert value.R_ip == r
        assert pytest.approx(r * 0.1761, rel=1e-3) == value.R
        # Whole per cent are printed.
        assert 100 * code_outer_share(value, framing) == pytest.approx(share, abs=0.5)


def test_other_2021_values_are_marked_from_memory():
    assert least_outer_resistance("6A", "2x6", "II").R_ip == 5
    assert least_outer_resistance("8", "2x4", "none").R_ip == 14
    assert least_outer_resistance("7", "2x6", "II").mark == "from memory"
    assert least_outer_resistance("6", "2x6").mark == "extract"
    assert least_roof_resistance("4C").R_ip == 10
    assert least_roof_resistance("6A").R_ip == 25


def test_missing_code_values_are_not_invented():
    with pytest.raises(InputError, match="not available"):
        least_outer_resistance("2", "2x6")
    with pytest.raises(InputError, match="not available"):
        least_outer_resistance("4A", "2x6", edition="2018")
    with pytest.raises(InputError, match="edition"):
        least_outer_resistance("6", "2x6", "none", edition="2018")
    with pytest.raises(InputError, match="not available"):
        permitted("3", "II")


def test_retarder_classes_have_closed_upper_bounds():
    for perm, name in ((0.05, "I"), (0.1, "I"), (0.11, "II"), (1.0, "II"), (5, "III"), (10, "III")):
        assert retarder_class(perm * PERM) == name
    assert retarder_class(35 * PERM) == "open"
    with pytest.raises(InputError, match="not perm or ng"):
        retarder_class(0.5)


def test_hot_zones_forbid_tight_sheets_inside():
    assert permitted("1A", "I").answer == "no"
    assert permitted("6A", "II").answer == "yes"
    assert permitted("6A", "III").answer == "conditional"
    assert vented_cladding_suffices("5A", "structural panel")
    assert not vented_cladding_suffices("6A", "structural panel")


def test_deemed_pairs_come_from_the_guide_and_only_where_it_speaks():
    pairs = {
        (round(p.cavity / R_IP, 2), round(p.outer / R_IP, 2)) for p in deemed_pairs("4A", "2x6")
    }
    assert pairs == {(0.0, 12.0), (19.0, 3.8), (20.0, 4.0), (21.0, 4.2)}
    for zone in ("4C", "6A"):
        with pytest.raises(InputError, match="not available"):
            deemed_pairs(zone, "2x6")


def test_millimetres_are_named_as_the_likely_cause():
    with pytest.raises(InputError, match="is it in mm"):
        Boards(0.05, 0.03, joint_width=3.0)
    with pytest.raises(InputError, match="in mm"):
        Shank(4.5, 50.0, 0.075, 0.03, 0.075, 0.1, 0.1)
