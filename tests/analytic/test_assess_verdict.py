"""The verdict on hand-made walls: which finding, which place, which margin."""

from __future__ import annotations

import numpy as np
import pytest
from assess_records import BOARD, CLADDING, GYPSUM, OSB, WALL, WOOL, L, record
from real_walls import steady_loads

import hygro
from hygro.assess import CRITERIA, find_sheathing, summary, verdict, with_changes

YEAR = 8760


def test_a_dry_wall_passes_with_its_margins():
    result = verdict(record())
    assert result.passed is True
    assert (result.sheathing, result.sheathing_reason) == ("osb", "first wood-based board")
    (finding,) = result.of("mc_30d")
    # 10 % of 20 %: half the limit is left
    assert finding.value == pytest.approx(0.10)
    assert finding.margin == pytest.approx(0.5)
    assert result.failed == ()


def test_a_wet_sheathing_fails_by_moisture_content_with_place_and_date():
    water = np.full(961, 60.0)
    water[300:] = 150.0
    result = verdict(record(water=water))
    assert result.passed is False
    (finding,) = [f for f in result.failed if f.criterion.key == "mc_30d"]
    # the last window holds 661 of 720 h at 25 %, the others at 10 %
    assert finding.value == pytest.approx((661 * 0.25 + 59 * 0.10) / 720)
    assert finding.when == "2030-11-10T00"
    assert finding.place == "osb"
    assert finding.margin < 0
    assert finding.reason == (
        "osb: 30-day mean moisture content by mass 23.8 % (at 2030-11-10T00), "
        "limit at most 20.0 %: beyond limit"
    )
    assert not any(f.criterion.key == "mc_24h" for f in result.failed)


def test_fibre_saturation_for_a_day_fails():
    water = np.full(961, 60.0)
    water[100:124] = 170.0
    assert [f.criterion.key for f in verdict(record(water=water)).failed] == ["mc_24h"]


def test_mould_fails_at_the_humid_surface_and_names_it():
    humid = np.full((5, 2), 0.5)
    humid[2, 0] = 0.97
    result = verdict(record(hours=24 * 80, face_rh=humid))
    assert [(f.criterion.key, f.place) for f in result.failed] == [
        ("mould_index", "osb, inner face")
    ]
    assert result.worst.place == "osb, inner face"
    # the superseded rule fails too, and decides nothing
    (old,) = [f for f in result.of("rh_30d") if f.passed is False]
    assert not old.hard


def test_mould_outside_the_sheathing_is_shown_and_decides_nothing():
    outside = L("foam", 0.05, 30.0, absorbent=0, mould="very sensitive")
    humid = np.full((6, 2), 0.5)
    humid[1, 1] = 0.97
    result = verdict(record((CLADDING, outside, *WALL[1:]), hours=24 * 80, face_rh=humid))
    (finding,) = [f for f in result.of("mould_index") if f.passed is False]
    assert finding.place == "foam, outer face"
    assert not finding.hard
    assert result.passed is True


def test_thick_wood_is_judged_by_its_skins():
    timber = L("timber", 0.10, 450.0, wood=1, mould="sensitive", cells=10)
    water = np.full(14, 45.0)
    water[4] = 0.25 * 450.0  # the outer 10 mm
    result = verdict(record((CLADDING, timber), water=water))
    values = {f.place: f.value for f in result.of("mc_30d")}
    assert values == pytest.approx({"timber, outer 10 mm": 0.25, "timber, inner 10 mm": 0.10})


def test_accumulation_needs_two_years_and_is_judged_on_the_last():
    assert verdict(record(hours=YEAR)).of("accumulation")[0].passed is None
    assert verdict(record(hours=YEAR)).passed is True
    hours = 2 * YEAR
    layer = L("osb", 0.012, 600.0, wood=1, mould="sensitive", cells=1)
    rising = 60.0 + 10.0 * np.arange(hours + 1) / YEAR  # 0.12 kg/m² per year
    result = verdict(record((CLADDING._replace(cells=1), layer), hours=hours, water=rising))
    (finding,) = result.of("accumulation")
    # both layers rise: (0.02 + 0.012) m * 10 kg/m³
    assert finding.value == pytest.approx(0.32)
    assert finding.passed is False
    assert result.passed is False


def test_a_heavy_wall_may_gain_one_percent_between_weather_years():
    hours = 2 * YEAR
    wall = (L("masonry", 0.4, 1800.0, mould="resistant", cells=1),)
    rising = 50.0 + 0.4 * np.arange(hours + 1) / YEAR  # 20 kg/m² and 0.16 kg/m² per year
    (finding,) = verdict(record(wall, hours=hours, water=rising)).of("accumulation")
    # means of the 720 hours up to each end lag by 719/2 hours
    assert finding.limit == pytest.approx(0.01 * 0.4 * (50.4 - 0.4 * 359.5 / YEAR))
    assert finding.value == pytest.approx(0.16)
    assert finding.passed is True


def test_a_shower_on_the_cladding_is_no_accumulation():
    hours = 2 * YEAR
    outer = L("cladding", 0.01, 1500.0, cells=1)
    board = L("sheathing", 0.011, 640.0, wood=True, cells=1)
    water = np.full((hours + 1, 2), 60.0)
    water[-700:, 0] = 300.0  # the last month wets the cladding by 2.4 kg/m²
    ds = record((outer, board), hours=hours, water=water)
    (open_,) = verdict(ds, sheathing="sheathing").of("accumulation")
    assert open_.passed is False
    names = ["outdoor surface", "cladding | gap | sheathing", "indoor surface"]
    gapped = ds.assign_coords(interface_name=("interface", names), gap_name=("gap", ["gap"]))
    (finding,) = verdict(gapped, sheathing="sheathing").of("accumulation")
    assert finding.value == pytest.approx(0.0, abs=1e-12)  # the sheathing never changes
    assert finding.passed is True


def test_gypsum_sheathing_is_judged_by_condensate_not_by_moisture_content():
    water = np.full((961, 16), 5.0)
    water[500:, 8] = 105.0  # outer wool cell, 35 mm
    wool = WOOL._replace(w_sorbed=92.5)
    result = verdict(record((CLADDING, GYPSUM, wool, BOARD), water=water))
    assert result.sheathing == "gypsum sheathing"
    assert result.of("mc_30d") == ()
    (finding,) = result.of("condensate")
    # of 105 kg/m³ 92.5 are sorbed; 10 mm hold 12.5 more
    assert finding.value == pytest.approx(0.010 * 12.5)
    assert finding.limit == 0.5  # the wool behind takes up no liquid
    assert finding.hard


def test_condensate_on_gypsum_without_suction_has_the_lower_limit():
    water = np.full((961, 16), 1.0)
    water[500:, 8] = 61.0
    plain = GYPSUM._replace(absorbent=0)
    (finding,) = verdict(record((CLADDING, plain, WOOL, BOARD), water=water)).of("condensate")
    assert finding.value == pytest.approx(0.010 * 60.0)
    assert (finding.limit, finding.passed) == (0.5, False)


def test_a_wall_whose_mould_cannot_be_judged_is_not_passed():
    layers = tuple(layer._replace(mould="none") for layer in WALL)
    result = verdict(record(layers))
    assert result.passed is None
    assert [f.criterion.key for f in result.unjudged if f.hard] == ["mould_index"]


def test_a_run_shorter_than_the_window_is_not_judged():
    result = verdict(record(hours=100))
    assert result.of("mc_30d")[0].passed is None
    assert result.passed is None


def test_skipped_days_are_left_out_and_said():
    water = np.full(2401, 60.0)
    water[:480] = 240.0  # construction moisture, 20 days
    ds = record(hours=2400, water=water)
    assert verdict(ds).passed is False
    later = verdict(ds, skip_days=20)
    assert later.passed is True
    assert later.start == "2030-10-21T00"
    assert all("first 20 days are left out" in f.reason for f in later.of("mc_30d"))


def test_a_changed_criterion_is_marked_as_the_users():
    criteria = with_changes("mc_30d", limit=0.08)
    (finding,) = verdict(record(), criteria=criteria).failed
    assert finding.criterion.source == "set by the user"
    softened = with_changes("mc_30d", hard=False, criteria=criteria)
    assert verdict(record(), criteria=softened).passed is True
    assert CRITERIA[1].limit == 0.20


@pytest.mark.parametrize(
    ("layers", "name"),
    [
        ((CLADDING, WOOL, GYPSUM, OSB), "gypsum sheathing"),
        ((CLADDING, WOOL, OSB, BOARD), "osb"),
        ((L("wood siding", 0.02, 500.0, wood=1), WOOL, BOARD), "board"),
        ((L("timber", 0.1, 450.0, wood=1), WOOL), "timber"),
    ],
)
def test_sheathing_is_found_by_name_then_by_kind(layers, name):
    assert find_sheathing(record(layers)).name == name


def test_a_wall_names_its_own_sheathing():
    """A bare wall: OSB outermost, which its wall calls the sheathing; the gypsum is not it."""
    wall = hygro.Wall(
        "bare",
        [
            hygro.Layer("osb", "11 mm", name="sheathing"),
            hygro.Layer("glass-wool-batt", "140 mm"),
            hygro.Layer("gypsum-board", "13 mm"),
        ],
        sheathing="sheathing",
    )
    made = hygro.simulate_loads(wall, steady_loads(48, (273.15, 500.0), (293.15, 1000.0)))
    judged = made.hygro.verdict()
    assert (judged.sheathing, judged.sheathing_reason) == ("sheathing", "named by the wall")
    assert find_sheathing(made, "gypsum-board").name == "gypsum-board"


def test_summary_gives_the_numbers_of_the_hand_made_wall():
    humid = np.full((5, 2), 0.5)
    humid[2, 0] = 1.0
    ds = record(hours=YEAR, water=150.0, face_rh=humid, flows={"leak_rain": 1e-8})
    numbers = summary(ds.assign_attrs(u_value=0.21))
    assert numbers["mc_30d_max"] == pytest.approx(0.25)
    assert numbers["hours_mc_above_20"] == YEAR
    assert numbers["hours_mc_above_28"] == 0
    assert (numbers["condensate_formed"], numbers["condensation_hours"]) == (0.0, 0)
    assert numbers["rh_30d_max"] == pytest.approx(1.0)
    assert numbers["mould_surface"] == "osb, inner face"
    # ceiling of the class: 0.3 + 6 - 1 (q = 1); after a year within 1e-3 of it
    assert numbers["mould_index_max"] == pytest.approx(5.3, abs=1e-3)
    assert numbers["water_change_per_year"] == pytest.approx(0.0, abs=1e-9)
    assert numbers["leak_rain"] == pytest.approx(1e-8 * 3600 * YEAR)
    assert numbers["u_value"] == 0.21
